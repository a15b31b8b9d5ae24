"""A table of heat from places: what it must be whatever the places, on suns made by hand."""

import numpy as np
import pytest

from suitability.box.exposure import fit_table
from suitability.layers.heat import HeatTable, solar_hour, whole_counts
from suitability.sun import sun_positions

LON = -86.0
SUN = sun_positions(40.0, LON, start="05-01", end="08-31", step_min=30, every_days=10)
HOUR = solar_hour(SUN, LON)


def lit_at(places, random):
    """Return which positions reach places: none in a stretch of the day; then shade, open land."""
    first = random.integers(4, 20, places)
    long = random.integers(0, 10, places)
    lit = ~((first[:, None] <= HOUR) & ((first + long)[:, None] > HOUR))
    lit[-2], lit[-1] = False, True
    return lit


def told(table, lit):
    return table.hours_at((lit @ table.counts(SUN)).astype(np.float32))


def test_hours_that_come_from_some_hours_of_the_day_are_found_again():
    random = np.random.default_rng(1)
    lit, new = lit_at(300, random), lit_at(200, random)
    truth = np.where((HOUR >= 12) & (HOUR < 16), 40.0, 0.0) * SUN.season_hours
    table = fit_table(SUN, lit, lit @ truth + 7, LON)
    weight = np.asarray(table.weight)
    assert weight[5, 12:16].min() > 10 * weight[5, 6:11].max()
    assert np.ptp(new @ truth) > 100
    np.testing.assert_allclose(told(table, new), new @ truth + 7, atol=6)
    assert told(table, np.zeros((1, len(SUN)), bool))[0] == pytest.approx(7, abs=1)


def test_more_sun_is_never_cooler():
    random = np.random.default_rng(2)
    lit = lit_at(100, random)
    noisy = lit @ SUN.season_hours * 20 + random.normal(0, 30, 100)
    table = fit_table(SUN, lit, noisy.clip(0), LON)
    assert (np.diff(table.sun) > 0).all()
    assert (np.diff(table.hours) >= 0).all()
    assert min(min(month) for month in table.weight) >= 0


def test_where_no_box_overheats_none_does():
    lit = lit_at(50, np.random.default_rng(3))
    table = fit_table(SUN, lit, np.zeros(50), LON)
    assert (told(table, lit) == 0).all()


def test_shade_and_open_land_are_enough_for_a_table():
    lit = np.array([np.zeros(len(SUN), bool), np.ones(len(SUN), bool)])
    table = fit_table(SUN, lit, np.array([3.0, 90.0]), LON)
    np.testing.assert_allclose(told(table, lit), [3, 90], atol=0.01)


def test_counts_are_whole_and_sum_exactly_in_single_precision():
    counts = whole_counts(np.random.default_rng(4).random(200_000))
    assert (counts == np.floor(counts)).all()
    assert counts.sum(dtype=np.float64) <= 2**23
    mixed = np.random.default_rng(5).permutation(counts)
    assert np.cumsum(mixed, dtype=np.float32)[-1] == counts.sum(dtype=np.float64)
    table = HeatTable(LON, ((1.0,) * 24,) * 12, (0.0, 1.0), (0.0, 1.0))
    assert HeatTable.of({**vars(table), "weight": [[1.0] * 24] * 12}) == table


def test_hours_of_the_day_are_those_of_the_place():
    noon = np.abs(SUN.azimuth_deg - 180) < 10
    assert set(HOUR[noon]) <= {11, 12}
