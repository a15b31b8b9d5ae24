"""The heat model against temperatures that were measured in bat boxes and nest boxes.

Sources: Lourenço and Palmeirim 2004, Biological Conservation 119:237-243 (black 37, grey 34, white
28 °C mean daily maximum, facing south: black less white 9 K, 4 to 14 accepted); Ellis 2016,
Australian Zoologist, doi 10.7882/AZ.2016.007 (19 mm plywood in full sun: 5 K above air by the
middle of the afternoon, 3 to 8 accepted, and as warm as air at night); Brittingham and Williams
2000, Wildlife Society Bulletin 28:197-207 (boxes in use 8 to 10 K above air); Fontaine et al. 2021,
Scientific Reports (boxes to the east warm up earlier); Rueegger 2019, Environments 6(2):13
(chambers behind the front are cooler). Weather: TMY3 years that ship with pvlib, Greensboro with
hot summers, Sand Point with cool. The measurements were made elsewhere: they bound the model, they
do not validate it.
"""

import numpy as np
import pytest
from boxes import GREENSBORO, OPEN, SAND_POINT, summer, summer_air_c

BLACK, PLAIN, WHITE = 0, 1, 2
ONE, FOUR, ROUND = 0, 1, 2
MID = 1
EAST, SOUTH, WEST = 4, 8, 12
STATIONS = pytest.mark.parametrize("name", [GREENSBORO, SAND_POINT])


def excess_by_hour(name: str, **box: int) -> np.ndarray:
    """Return how far the chambers are above air, by hour of the day, (24, chambers)."""
    chambers = summer(name).temperatures_c(OPEN, **box)
    above = chambers - summer_air_c(name)[:, None]
    return above.reshape(-1, 24, chambers.shape[1]).mean(axis=0)


@STATIONS
@pytest.mark.parametrize("design", [ONE, FOUR])
@pytest.mark.parametrize("case", [0, 1, 2])
def test_black_less_white(name, design, case):
    found = summer(name).at(OPEN).mean_daily_max_c[SOUTH, :, design, case]
    assert 4 < found[BLACK] - found[WHITE] < 14


@STATIONS
def test_plain_plywood_in_the_afternoon_and_at_night(name):
    above = excess_by_hour(name, facing=SOUTH, colour=PLAIN, case=MID)[:, 0]
    assert 3 < above[15] < 8
    assert (np.abs(above[[0, 1, 2, 3]]) < 1.5).all()


@STATIONS
@pytest.mark.parametrize("design", [ONE, FOUR, ROUND])
def test_every_box_is_near_the_air_at_night(name, design):
    above = excess_by_hour(name, facing=SOUTH, colour=BLACK, design=design, case=MID)
    assert (np.abs(above[:4].mean(axis=0)) < 1.5).all()


def test_a_dark_box_in_the_sun_is_as_warm_as_boxes_in_use():
    found = summer().at(OPEN).mean_daily_max_c[SOUTH, BLACK, ONE]
    air = summer_air_c().reshape(-1, 24).max(axis=1).mean()
    low, _, high = found - air
    assert low < 10
    assert high > 8


@STATIONS
def test_east_is_warmest_before_noon_and_west_after(name):
    """The front chamber; noon by the sun is near 12:30 in Greensboro, 13:45 in Sand Point."""
    noon = 12.5 if name == GREENSBORO else 13.75
    hours = np.arange(24) + 0.5
    east = excess_by_hour(name, facing=EAST, colour=BLACK, design=FOUR)[:, 0]
    west = excess_by_hour(name, facing=WEST, colour=BLACK, design=FOUR)[:, 0]
    assert hours[east.argmax()] < noon < hours[west.argmax()]
    morning = hours < noon
    assert east[morning].sum() > west[morning].sum()


@STATIONS
def test_chambers_behind_the_front_are_cooler_by_day(name):
    above = excess_by_hour(name, facing=SOUTH, colour=BLACK, design=FOUR)
    assert (np.diff(above[11:15].mean(axis=0)[:3]) < -0.3).all()
    found = summer(name).at(OPEN)
    assert (found.no_refuge_h[SOUTH, BLACK, FOUR] <= found.over_40_h[SOUTH, BLACK, FOUR]).all()


def test_hot_summers_stress_and_cool_ones_do_not():
    hot, cool = (summer(name).at(OPEN).over_40_h[SOUTH, BLACK, ONE, MID]
                 for name in (GREENSBORO, SAND_POINT))  # fmt: skip
    assert hot > 100
    assert cool < 10
