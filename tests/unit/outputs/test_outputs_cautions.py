import re

import pytest

from suitability.outputs.cautions import load_cautions, short_caution

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
