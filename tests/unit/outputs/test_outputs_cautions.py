import re

import pytest

from suitability.outputs.cautions import load_cautions, short_caution, site_cautions
from suitability.outputs.site_signs import SIGNS, SiteFacts
from suitability.quantities import Quantities

EVERY_TEXT = [short_caution(), *(str(c) for kind in ("pole", "wall") for c in load_cautions(kind))]


def test_each_mount_has_its_own():
    pole = {caution.id for caution in load_cautions("pole")}
    wall = {caution.id for caution in load_cautions("wall")}
    assert {"digging", "pole"} == pole - wall
    assert {"walls"} == wall - pole


@pytest.mark.parametrize("text", EVERY_TEXT)
def test_no_text_calls_a_site_or_an_outcome_certain(text):
    assert not re.search(r"\b(safe|safely|guaranteed?|optimal|certain)\b", text, re.IGNORECASE)


def test_what_is_of_the_mount_itself_comes_first():
    pole = [caution.id for caution in load_cautions("pole")]
    assert pole[:5] == ["never_handle_bats", "overhead_lines", "digging", "ladder", "pole"]
    assert [caution.id for caution in load_cautions("wall")][3] == "walls"


def test_every_caution_defers_to_somebody():
    for caution in load_cautions("pole") + load_cautions("wall"):
        assert caution.defer_to
        assert caution.defer_to in str(caution)


@pytest.mark.parametrize(
    ("caution_id", "facts"),
    [
        ("never_handle_bats", ["rabies", "physician", "vaccinated"]),
        # NIOSH publication 2005-109, Histoplasmosis: protecting workers at risk
        ("guano", ["histoplasmosis", "NIOSH", "N95"]),
        # OSHA 29 CFR 1926.1408 and utilities' texts: 10 ft up to 50 kV
        ("overhead_lines", ["10 ft", "3 m", "50 kV"]),
        ("digging", ["811"]),
        ("disturbance", ["young", "August"]),
        ("white_nose", ["decontamination"]),
    ],
)
def test_the_facts_are_said(caution_id, facts):
    found = {caution.id: caution for caution in load_cautions("pole")}[caution_id]
    for fact in facts:
        assert fact in found.text


def test_the_line_for_the_map_names_what_kills_first():
    for word in ("811", "overhead lines", "never handle bats", "owner", "state wildlife agency"):
        assert word in short_caution()
    assert short_caution().isascii()  # else the CSV would need a byte-order mark


def facts(kind="pole", **known):
    return SiteFacts(kind=kind, mount_height_m=4.6, **known)


def here(site, units="metric"):
    """Return what applies to a site in particular: reasons by caution, in order."""
    found = site_cautions(site, Quantities(units))
    applying = [caution for caution in found if caution.applies_here]
    assert list(found[: len(applying)]) == applying, "what applies here comes first"
    return {caution.id: caution.why for caution in applying}


def test_of_a_site_of_which_nothing_is_known_all_holds_and_nothing_in_particular():
    assert here(facts()) == {}
    for kind in ("pole", "wall"):
        told = [caution.id for caution in site_cautions(facts(kind))]
        assert told == [caution.id for caution in load_cautions(kind)]


def test_what_applies_to_a_site_comes_first_with_the_reason():
    site = facts(wire_m=12.0, slope_deg=8.4, water_m=20.0)
    assert here(site) == {
        "overhead_lines": (
            "an overhead line lies 12 m from this site; lines on maps may be metres off",
        ),
        "ladder": ("the ground slopes by 8° here",),
        "pole": ("the ground slopes by 8° here",),
        "water": ("water is 20 m away",),
    }
    assert site_cautions(site)[4].id == "never_handle_bats"
    assert str(site_cautions(site)[0]).startswith("An overhead line lies 12 m from this site; ")
    assert "39.4 ft" in here(site, "us")["overhead_lines"][0]


@pytest.mark.parametrize(
    ("known", "at", "applies"),
    [
        ("wire_m", 30.0, {"overhead_lines"}),
        ("building_m", 30.0, {"digging"}),
        ("existing_box_m", 100.0, {"guano", "disturbance", "white_nose"}),
        ("keep_clear_m", 15.0, {"siting"}),
        ("boundary_m", 5.0, {"consent"}),
        ("water_m", 30.0, {"water"}),
    ],
)
def test_near_ends_where_the_data_says(known, at, applies):
    assert set(here(facts(**{known: at - 0.01}))) == applies
    assert here(facts(**{known: at})) == {}


def test_ground_counts_as_sloping_from_five_degrees():
    assert here(facts(slope_deg=4.9)) == {}
    assert set(here(facts(slope_deg=5.0))) == {"ladder", "pole"}


def test_a_pole_may_fall_on_a_building_and_a_wall_site_has_no_pole():
    # 4.6 m to the box and a metre above it
    assert "the pole could fall on it" in here(facts(building_m=5.5))["pole"][0]
    assert "pole" not in here(facts(building_m=5.7))
    wall = here(facts("wall", building_m=5.5, wire_m=5.0, material="brick"))
    assert set(wall) == {"overhead_lines", "walls"}
    assert "ladder" in wall["overhead_lines"][0]
    assert wall["walls"] == ("the wall here is of brick",)
    told = " ".join(str(each) for each in site_cautions(facts("wall", wire_m=5.0)))
    assert "post hole" not in told


def test_hot_summers_forbid_to_open_boxes():
    assert set(here(facts(climate="hot"))) == {"heat"}
    assert here(facts(climate="cool")) == {}


def test_dates_of_the_place_stand_with_the_caution_but_do_not_rank_it():
    site = facts(occupied="10-01 to 04-30")
    told = {caution.id: caution.text for caution in site_cautions(site)}
    assert told["disturbance"].endswith("Bats may be in a box here from 10-01 to 04-30.")
    assert here(site) == {}


def test_texts_are_told_in_the_readers_units():
    told = {c.id: c for c in site_cautions(facts(), Quantities("us"))}
    assert "10 ft from overhead power lines" in told["overhead_lines"].text
    assert "3 m" not in told["overhead_lines"].text
    assert told["overhead_lines"].title == "Keep 10 ft from overhead lines"


def test_every_caution_says_where_it_comes_from():
    for caution in load_cautions("both"):
        assert caution.basis
        assert caution.title
        assert set(caution.applies) <= set(SIGNS)
