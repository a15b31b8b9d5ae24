"""Advice: by sun where no weather is given, by heat where it is, and none where all is too hot."""

from dataclasses import replace

import numpy as np
import pytest
from small_land import RUN, write_config

from suitability.box import load_catalogue
from suitability.box.advice import Place, advise
from suitability.box.facing import FACINGS_DEG, FaceHours, choose_facing, compass_word, face_hours
from suitability.box.findings import BoxHeat
from suitability.box.heat_choice import choose_by_heat
from suitability.box.wanted import Wanted, suitable_designs, wanted_of
from suitability.config import load_run
from suitability.errors import ConfigError
from suitability.quantities import Quantities
from suitability.sun import sun_positions

CATALOGUE = load_catalogue()
FLAT = np.zeros(360)


def season(lat):
    start, end = ("04-01", "09-30") if lat > 0 else ("10-01", "03-31")
    return sun_positions(lat, 0.0, start=start, end=end, every_days=15, rule="altitude")


NORTH, SOUTH = season(40.0), season(-40.0)


def wanted(climate="moderate", bats="small", warmest_c=None, most_stress_h=24.0, units="metric"):
    tell = Quantities(units)
    return Wanted(CATALOGUE, CATALOGUE.species[bats], climate, warmest_c, most_stress_h, tell)


def place(horizon=FLAT, mount="pole", height_m=4.6, wall_deg=None):
    return Place(40.0, mount, height_m, face_hours(NORTH, horizon, 0.0), wall_deg)


def point(advice, topic):
    return next(each for each in advice.points if each.topic == topic)


def test_in_the_open_the_face_is_sunny_with_a_sunny_morning():
    found = choose_facing(face_hours(NORTH, FLAT, 0.0), "moderate", 40.0)
    assert compass_word(found.first_deg) in {"south-east", "south-south-east"}
    hours = face_hours(NORTH, FLAT, 0.0).all_day
    assert hours[round(found.first_deg / 22.5)] >= hours.max() - 0.5
    assert abs(found.second_deg - found.first_deg) >= 45


def test_hot_summers_turn_it_to_the_morning():
    found = choose_facing(face_hours(NORTH, FLAT, 0.0), "hot", 40.0)
    assert 67.5 <= found.first_deg <= 112.5
    assert found.ground.evidence == "common practice"


def test_a_wood_to_the_east_turns_it_to_the_west():
    east = FLAT.copy()
    east[20:161] = 60.0
    found = choose_facing(face_hours(NORTH, east, 0.0), "cool", 40.0)
    assert found.first_deg > 180


@pytest.mark.parametrize("climate", ["cool", "hot"])
def test_the_south_is_the_norths_mirror(climate):
    north = choose_facing(face_hours(NORTH, FLAT, 0.0), climate, 40.0)
    south = choose_facing(face_hours(SOUTH, FLAT, 0.0), climate, -40.0)
    turned = (180 - north.first_deg) % 360
    assert abs((south.first_deg - turned + 180) % 360 - 180) <= 22.5


def test_a_wall_looks_as_it_looks():
    found = choose_facing(face_hours(NORTH, FLAT, 0.0), "cool", 40.0, wall_deg=271.0)
    assert (found.first_deg, found.second_deg) == (271.0, None)


@pytest.mark.parametrize(
    ("climate", "warmest_c", "first", "second"),
    [
        ("cool", None, "black", "dark"),
        ("moderate", None, "dark", "medium"),
        ("hot", None, "medium", "light"),
        ("hot", 39.0, "light", "white"),
    ],
)
def test_colour_goes_by_the_summers(climate, warmest_c, first, second):
    said = point(advise(place(), wanted(climate, warmest_c=warmest_c)), "colour")
    assert (said.choice, said.second) == (first, second)
    assert said.ground.evidence == "common practice"
    assert said.ground.conflict


def test_without_weather_no_temperature_of_a_box_is_claimed():
    advice = advise(place(), wanted())
    # What is said of chambers quotes a study's measurements.
    ours = [p for p in advice.points if p.topic != "chambers"]
    assert "°C" not in " ".join(f"{p.choice} {p.why} {p.second}" for p in ours)


def test_chambers_go_by_the_bats():
    small, large = (advise(place(), wanted(bats=name)).design for name in ("small", "large"))
    assert small.chambers == large.chambers == 4
    assert small.chamber_m == pytest.approx(0.75 * 0.0254)
    assert large.chamber_m == pytest.approx(0.0254)
    assert large.depth_m > small.depth_m


def test_every_point_has_a_reason_and_says_how_firm_it_is():
    for each in advise(place(), wanted()).points:
        assert each.why
        assert each.ground.basis
        assert each.ground.evidence in {"peer-reviewed", "agency guidance", "common practice"}


def test_a_low_box_is_warned_of():
    advice = advise(place(height_m=2.0), wanted())
    assert "mount.height" in advice.warnings[0]
    assert advice.mount_height_m == pytest.approx(12 * 0.3048)
    assert not advise(place(), wanted()).warnings


def test_in_the_dark_it_says_so():
    dark = Place(40.0, "pole", 4.6, FaceHours(np.zeros(16), np.zeros(16)))
    assert "hardly any sun" in advise(dark, wanted()).warnings[0]


def test_unknown_bats_are_refused(tmp_path):
    run = load_run(write_config(tmp_path, RUN + "box: {bats: tiny}\n"))
    with pytest.raises(ConfigError, match="no group of bats 'tiny'") as refused:
        wanted_of(run)
    assert "line 8: box.bats" in refused.value.where


def heat(stress_h, wanted_h):
    """Return heat of 16 facings, 2 colours and the designs of a pole, all alike but where told."""
    designs = tuple(box.name for box in suitable_designs(wanted(), "pole"))
    shape = (16, 2, len(designs), 3)
    stress, tolerable = np.full(shape, float(stress_h)), np.full(shape, float(wanted_h))
    zeros = np.zeros(shape)
    return BoxHeat(
        FACINGS_DEG, ("black", "white"), designs, 4000.0, zeros, tolerable, stress, zeros, zeros,
        zeros, np.full(shape, ""), zeros, zeros, zeros,
    )  # fmt: skip


def test_by_heat_the_most_hours_in_the_wanted_range_win():
    found = heat(0, 1000)
    found.tolerable_h[6, 1, 1] += 400
    choice = choose_by_heat(found, found.designs, 24.0)
    assert (choice.first.facing_deg, choice.first.colour) == (135.0, "white")
    assert choice.first.design == found.designs[1]
    assert choice.second is not None


def test_by_heat_the_second_choice_is_another_box_and_not_the_same_turned():
    found = heat(0, 1000)
    found.tolerable_h[:, 1, 1] += 400
    found.tolerable_h[6, 1, 1] += 100
    found.tolerable_h[6, 0, 1] += 200
    choice = choose_by_heat(found, found.designs, 24.0)
    assert (choice.second.colour, choice.second.design) == ("black", found.designs[1])
    # Where every other box is too warm, one that looks elsewhere.
    found.over_40_h[:] = 100
    found.over_40_h[:, 1, 1] = 0
    choice = choose_by_heat(found, found.designs, 24.0)
    assert (choice.second.colour, choice.second.design) == ("white", found.designs[1])
    assert choice.second.facing_deg != choice.first.facing_deg


def test_by_heat_it_is_told_where_common_practice_paints_otherwise():
    found = heat(0, 1000)
    found.tolerable_h[:, 1] += 400
    told = point(advise(place(), wanted("cool"), found), "facing, colour, box").ground.conflict
    assert told.startswith("summers count as cool")
    assert "common practice would paint the box black" in told
    found.tolerable_h[:, 0] += 900
    same = point(advise(place(), wanted("cool"), found), "facing, colour, box").ground.conflict
    assert "paint" not in same


def test_by_heat_less_stress_settles_near_equals():
    found = heat(20, 1000)
    found.tolerable_h[4, 0, 0] += 30  # less than a hundredth of the season
    found.over_40_h[9, 1, 0] = 2
    choice = choose_by_heat(found, found.designs, 24.0)
    assert (choice.first.facing_deg, choice.first.colour) == (202.5, "white")


def test_by_heat_a_warm_box_above_the_limit_is_not_named():
    found = heat(10, 1000)
    found.tolerable_h[4, 0, 0] = 3000
    found.over_40_h[4, 0, 0] = 25
    assert choose_by_heat(found, found.designs, 24.0).first.facing_deg != 90.0
    assert choose_by_heat(found, found.designs, 25.0).first.facing_deg == 90.0


def test_where_every_box_overheats_a_warning_stands_instead():
    found = heat(200, 1000)
    found.over_40_h[3, 1, 0] = 100
    advice = advise(place(), wanted("hot"), found)
    assert (advice.facing_deg, advice.colour, advice.design) == (None, None, None)
    assert "more than 24 h" in advice.warnings[0]
    assert "white, facing east-north-east" in advice.warnings[0]
    assert point(advice, "box").choice == "none is recommended here"
    everything = " ".join([*advice.warnings, *(f"{p.choice} {p.why}" for p in advice.points)])
    assert "safe" not in everything
    assert "lethal" not in everything


def test_by_heat_a_wall_keeps_its_facing():
    found = heat(0, 1000)
    found.tolerable_h[0] += 2000
    assert choose_by_heat(found, found.designs, 24.0, facing_deg=178.0).first.facing_deg == 180.0


def test_a_pole_gets_no_box_for_walls():
    names = [box.name for box in suitable_designs(wanted(), "pole")]
    assert names[0] == "four chambers"
    assert "one chamber" not in names
    only = replace(wanted(), catalogue=replace(CATALOGUE, designs={
        "one chamber": CATALOGUE.designs["one chamber"]}))  # fmt: skip
    assert [box.name for box in suitable_designs(only, "wall")] == ["one chamber"]


def test_sizes_and_temperatures_are_told_in_the_readers_units():
    metric = advise(place(height_m=4.572), wanted(warmest_c=30.0))
    us = advise(place(height_m=4.572), wanted(warmest_c=30.0, units="us"))
    assert point(metric, "height").choice == "4.6 m"
    assert point(us, "height").choice == "15 ft"
    assert "12 to 20 ft" in point(us, "height").why
    assert point(us, "height").ground.conflict.startswith("Agency guidance says 13 ft and more.")
    assert point(us, "vents and shade").why.endswith("86 °F")
    assert point(us, "chambers").choice.endswith("each 3/4 in wide")
    assert point(metric, "chambers").choice.endswith("each 19 mm wide")
    assert (us.mount_height_m, us.design) == (metric.mount_height_m, metric.design)
