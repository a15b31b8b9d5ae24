"""What is advised where summers are cool and where they are hot, against what sources say.

Sources: Brittingham and Williams 2000, Wildlife Society Bulletin 28:197-207 (Pennsylvania: warm,
sunny boxes to the south-east or south-west are used); Dillingham et al. 2003, Northwestern
Naturalist 84:20-23 (Oregon: south and east more than north); Martin Bideguren et al. 2019,
Biodiversity and Conservation 28:21-35 (Catalonia: black boxes to the south are the hottest, above
40 °C; none such where it is warm); Crawford and O'Keefe 2021, Conservation Science and Practice
3:e412 (above 40 °C is overheating); Fontaine et al. 2021, Scientific Reports (22 to 40 °C is
wanted); Crawford et al. 2022, Conservation Physiology (overheating grows with sun, falls with
reflectance); California Agriculture 60(2), 2006 (Central Valley: colonies in shade or morning
sun); bands of colour by the warmest month: common practice.
Weather: Sand Point, Alaska, and Greensboro, North Carolina (TMY3, with pvlib); Athens (EPW, 2023).
"""

from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from boxes import GREENSBORO, OPEN, SAND_POINT, station

from suitability.box.advice import Advice, Place, advise
from suitability.box.catalogue import load_catalogue
from suitability.box.facing import face_hours
from suitability.box.findings import BoxHeat
from suitability.box.heat import heat_model
from suitability.box.wanted import Wanted, suitable_designs
from suitability.climate import climate_of
from suitability.inputs.weather import Weather, read_weather
from suitability.quantities import Quantities
from suitability.sun import sun_positions

SOUTH, MID = 8, 1
BLACK, WHITE = 0, 4
AZIMUTH_DEG = np.arange(360)
# Woods or walls that hide the sky up to 60 degrees on one side of a box.
MORNING = np.where(AZIMUTH_DEG >= 180, 60.0, 0.0)
AFTERNOON = np.where(AZIMUTH_DEG < 180, 60.0, 0.0)


@pytest.fixture(scope="module")
def athens(registry_package):
    folder = registry_package("umep", "0.0.1b47") / "demos" / "data" / "athens"
    return read_weather(Path(folder) / "athens_2023.epw")[0]


def wanted_at(weather: Weather, most_stress_h: float) -> Wanted:
    shipped, warmest_c = load_catalogue(), weather.midsummer_mean_daily_max_c
    climate = climate_of(warmest_c)
    return Wanted(
        shipped, shipped.species["any"], climate, warmest_c, most_stress_h, Quantities("metric")
    )


def modelled(weather: Weather, horizon=OPEN) -> BoxHeat:
    wanted = wanted_at(weather, 24)
    colours = tuple(wanted.catalogue.colours.values())
    model = heat_model(weather, designs=suitable_designs(wanted, "pole"), colours=colours)
    return model.at(horizon)


@lru_cache
def in_the_open(name: str) -> BoxHeat:
    return modelled(station(name))


def advised(weather: Weather, heat: BoxHeat, most_stress_h: float = 24.0) -> Advice:
    hours = face_hours(sun_positions(weather.lat, weather.lon, every_days=15), OPEN, 0.0)
    place = Place(weather.lat, "pole", 4.0, hours)
    return advise(place, wanted_at(weather, most_stress_h), heat)


def absorptance(colour: str | None) -> float:
    assert colour is not None
    return load_catalogue().colours[colour].absorptance_mid


def test_where_summers_are_cool_a_black_box_looks_into_the_sun():
    weather, heat = station(SAND_POINT), in_the_open(SAND_POINT)
    assert climate_of(weather.midsummer_mean_daily_max_c) == "cool"
    advice = advised(weather, heat)
    assert advice.colour == "black"  # common practice as well, below 85 °F
    assert advice.facing_deg is not None
    assert 90 <= advice.facing_deg <= 225  # south and east, south-east or south-west
    assert advice.warnings == ()
    # The warmer the colour, the more hours at 22 to 40 °C, and hardly any above.
    assert (np.diff(heat.tolerable_h[SOUTH, :, :, MID], axis=0) < 0).all()
    assert heat.over_40_h[SOUTH, :, :, MID].max() < 24


def test_where_summers_are_warm_black_to_the_south_overheats_and_is_not_advised():
    weather, heat = station(GREENSBORO), in_the_open(GREENSBORO)
    assert heat.over_40_h[SOUTH, BLACK, :, MID].min() > 200
    for most_stress_h in (24.0, 100.0, 300.0):
        advice = advised(weather, heat, most_stress_h)
        assert absorptance(advice.colour) < absorptance("dark")
    # Paler the less stress is borne.
    colours = [absorptance(advised(weather, heat, most).colour) for most in (24.0, 100.0, 300.0)]
    assert colours == sorted(colours)
    assert colours[0] < colours[-1]


@pytest.mark.download
def test_where_summers_are_hot_no_box_in_full_sun_is_advised_and_the_afternoon_is_warned_of(athens):
    assert climate_of(athens.midsummer_mean_daily_max_c) == "hot"
    heat = modelled(athens)
    advice = advised(athens, heat)
    assert (advice.facing_deg, advice.colour, advice.design) == (None, None, None)
    assert "afternoon shade" in advice.warnings[0]
    assert absorptance(advised(athens, heat, 100.0).colour) <= absorptance("light")
    assert (np.diff(heat.over_40_h[..., MID], axis=1) <= 0).all()  # less with more reflectance
    assert heat.over_40_h[SOUTH, WHITE, :, MID].max() < 0.1 * heat.season_h


@pytest.mark.download
def test_where_summers_are_hot_a_place_with_morning_sun_alone_bears_a_box(athens):
    full, morning, afternoon = (modelled(athens, each) for each in (OPEN, MORNING, AFTERNOON))
    stress = [each.over_40_h[..., MID].min() for each in (morning, afternoon, full)]
    assert stress == sorted(stress)
    # Any colour, any box: the morning is the cooler half, whichever way the box looks best.
    least = [each.over_40_h[..., MID].min(axis=0) for each in (morning, afternoon)]
    assert (least[0] <= least[1]).all()
    assert (least[0] < least[1]).any()


@pytest.mark.download
def test_the_hotter_the_station_the_paler_the_box(athens):
    """One measure of stress borne for all three."""
    found = [
        absorptance(advised(weather, heat, 100.0).colour)
        for weather, heat in (
            (station(SAND_POINT), in_the_open(SAND_POINT)),
            (station(GREENSBORO), in_the_open(GREENSBORO)),
            (athens, modelled(athens)),
        )
    ]
    assert found[0] > found[1] > found[2]
