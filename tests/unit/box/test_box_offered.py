"""A box held against what is wanted: common practice, and no more than that."""

import pytest
from pydantic import ValidationError

from suitability.box import load_catalogue
from suitability.box.offered import OfferedBox, held_against, read_offered
from suitability.errors import ConfigError
from suitability.quantities import inches, workshop

SMALL, LARGE = (load_catalogue().species[name] for name in ("small", "large"))
GOOD = {
    "width": "18 in", "height": "30 in", "chambers": 3, "chamber": "0.75 in", "landing": "4 in",
    "rough_inside": True, "treated_wood_inside": False, "open_below": True, "joints_closed": True,
}  # fmt: skip


def verdicts(bats=SMALL, **changes):
    box = OfferedBox.model_validate({**GOOD, **changes})
    return {line.part: line.verdict for line in held_against(box, bats)}


def test_a_good_box_meets_all_of_it():
    assert set(verdicts().values()) == {"meets"}


@pytest.mark.parametrize(
    ("change", "part"),
    [
        ({"width": "12 in"}, "width"),
        ({"height": "20 in"}, "height"),
        ({"chambers": 1}, "chambers"),
        ({"chamber": "1.5 in"}, "width of a chamber"),
        ({"chamber": "0.25 in"}, "width of a chamber"),
        ({"landing": 0}, "landing"),
        ({"rough_inside": False}, "rough inside"),
        ({"treated_wood_inside": True}, "treated wood inside"),
        ({"open_below": False}, "open below"),
        ({"joints_closed": False}, "joints closed"),
    ],
)
def test_one_fault_makes_one_line_fall_short(change, part):
    found = verdicts(**change)
    assert [name for name, verdict in found.items() if verdict == "falls short"] == [part]


def test_what_is_left_out_is_not_stated():
    assert verdicts(chamber=None)["width of a chamber"] == "not stated"


def test_bounds_of_common_practice_are_met():
    assert set(verdicts(width="14 in", height="24 in", landing="3 in").values()) == {"meets"}
    assert set(verdicts(width=0.356, height=0.61, landing=0.152).values()) == {"meets"}  # rounded


def test_wide_chambers_are_for_large_bats():
    assert verdicts(chamber="1 in")["width of a chamber"] == "falls short"
    assert verdicts(LARGE, chamber="1 in")["width of a chamber"] == "meets"


def test_around_a_post_a_front_may_be_narrow():
    assert "width" not in verdicts(width="9.5 in", around_post=True)


@pytest.mark.parametrize(
    ("metres", "text"),
    [(0.01905, "3/4 in"), (0.142875, "5 5/8 in"), (0.4572, "18 in"), (0.0, "0 in"),
     (0.0253, "1 in")],
)  # fmt: skip
def test_lengths_for_a_workshop(metres, text):
    assert inches(metres) == text
    assert workshop(0.01905) == "3/4 in (19 mm)"


def test_ten_inches_without_their_unit_are_no_ten_metres():
    # 10 would be a box as wide as a house, which "meets 14 in or more".
    with pytest.raises(ValidationError, match="10 m is out of range"):
        OfferedBox.model_validate({"width": 10})


def test_a_file_of_designs_is_held_box_by_box(tmp_path):
    path = tmp_path / "boxes.yaml"
    path.write_text(
        "designs:\n"
        "  - {name: slim, width: 12 in, height: 30 in, depth: 4 in, chambers: 2, "
        "chamber: 0.75 in, landing: 4 in}\n"
        "  - {name: round, width: 9.5 in, height: 36 in, depth: 9.5 in, post: 3.5 in, "
        "chambers: 2, chamber: 0.75 in, landing: 4 in}\n"
    )
    found = read_offered(path)
    assert list(found) == ["slim", "round"]
    slim, rounded = (
        {line.part: line.verdict for line in held_against(box, SMALL)} for box in found.values()
    )
    assert slim["width"] == "falls short"
    assert slim["height"] == slim["chambers"] == slim["width of a chamber"] == "meets"
    assert slim["open below"] == "not stated"
    assert "width" not in rounded, "the width of a box around a post says nothing of its chambers"


@pytest.mark.parametrize("bats", load_catalogue().species.values(), ids=lambda bats: bats.name)
def test_every_line_has_its_basis(bats):
    for line in held_against(OfferedBox(), bats):
        assert line.verdict == "not stated"
        assert line.wanted
        assert line.ground.basis
        assert line.ground.evidence


@pytest.mark.parametrize(
    ("text", "where", "fix"),
    [
        ("hello\n", "box.yaml, line 1", "write width: 18 in into it"),
        ("- a\n- b\n", "box.yaml, line 1", "write width: 18 in into it"),
        ("", "box.yaml", "write width: 18 in into it"),
        ("width: 10\n", "line 1: width", "a bare number is in m"),
        ("chambers: 2\nrough_inside: maybe\n", "line 2: rough_inside", "write true or false"),
        ("width: 18 in\nheight: 30 kg\n", "line 2: height", "write a length"),
        ("designs:\n  - name: mine\n    width: 18 in\n", "line 2: designs[0]", "add depth: 4 in"),
    ],
)
def test_nonsense_is_told_with_line_key_and_fix(tmp_path, text, where, fix):
    path = tmp_path / "box.yaml"
    path.write_text(text)
    with pytest.raises(ConfigError) as raised:
        read_offered(path)
    assert where in str(raised.value)
    assert fix in str(raised.value)
