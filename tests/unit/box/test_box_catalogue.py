"""Boxes, colours and bats from files: what is shipped holds together; a user's own is checked."""

import pytest

from suitability.box.catalogue import load_catalogue
from suitability.errors import ConfigError

INCH = 0.0254

OWN_DESIGN = """\
designs:
  - name: barn box
    width: 24 in
    height: 36 in
    depth: 4.5 in
    chambers: 3
    chamber: 0.75 in
    landing: 6 in
"""


def own(tmp_path, text):
    path = tmp_path / "own.yaml"
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_shipped_boxes_keep_to_the_sizes_of_common_practice():
    # Common practice: at least 24 in tall and 14 in wide, landing 3 to 6 in, chambers 1/2 to 1 in.
    for box in load_catalogue().designs.values():
        assert box.height_m >= 24 * INCH - 1e-9
        if not box.is_around_post:
            assert box.width_m >= 14 * INCH
        assert 3 * INCH <= box.landing_m <= 6 * INCH
        assert 0.5 * INCH <= box.chamber_m <= 1 * INCH
        assert box.ground.basis


def test_each_summer_has_one_first_colour():
    colours = load_catalogue().colours.values()
    named = {t: [c.name for c in colours if c.fits(t)] for t in (20, 29.39, 29.4, 35, 37.8, 45)}
    assert named == {
        20: ["black"],
        29.39: ["black"],
        29.4: ["dark"],
        35: ["medium"],
        37.8: ["light", "white"],
        45: ["light", "white"],
    }


def test_colours_take_up_less_and_less_sunlight():
    mids = [c.absorptance_mid for c in load_catalogue().colours.values()]
    assert mids == sorted(mids, reverse=True)


@pytest.mark.parametrize(("name", "sides"), [("four chambers", 1), ("around a post", 2)])
def test_wider_chambers_make_a_deeper_box(name, sides):
    box = load_catalogue().designs[name]
    wider = box.with_chamber(1 * INCH)
    assert wider.depth_m - box.depth_m == pytest.approx(box.chambers * sides * 0.25 * INCH)
    assert (wider.width_m > box.width_m) == (sides == 2)


def test_own_design_is_added_and_may_replace(tmp_path):
    added = load_catalogue(own(tmp_path, OWN_DESIGN)).designs
    assert list(added)[-1] == "barn box"
    assert added["barn box"].width_m == pytest.approx(24 * INCH)
    assert added["barn box"].ground.evidence == "own"
    replaced = load_catalogue(own(tmp_path, OWN_DESIGN.replace("barn box", "two chambers")))
    assert replaced.designs["two chambers"].chambers == 3


@pytest.mark.parametrize(
    ("old", "new", "what", "where"),
    [
        ("width:", "widht:", "'widht' is not a key of designs[0]", "line 3"),
        ("4.5 in", "2 in", "3 chambers of", "line 2"),
        ("24 in", "24 h", "not a length", "line 3"),
        ("chambers: 3", "chambers: 0", "too small", "line 6"),
        ("    landing: 6 in\n", "", "landing is missing", "line 2"),
    ],
)
def test_faults_of_an_own_design_are_told_with_their_line(tmp_path, old, new, what, where):
    with pytest.raises(ConfigError) as refused:
        load_catalogue(own(tmp_path, OWN_DESIGN.replace(old, new)))
    assert what in refused.value.what
    assert where in (refused.value.where or "")
    assert refused.value.fix


def test_an_empty_or_missing_file_is_refused(tmp_path):
    with pytest.raises(ConfigError, match="says nothing") as refused:
        load_catalogue(own(tmp_path, "\n"))
    assert "designs:" in refused.value.fix
    with pytest.raises(ConfigError, match="there is no such file of colours"):
        load_catalogue(None, str(tmp_path / "none.yaml"))


def test_absorptance_that_does_not_rise_is_refused(tmp_path):
    text = "colours:\n  - name: odd\n    absorptance: [0.9, 0.5, 0.7]\n"
    with pytest.raises(ConfigError, match="do not rise"):
        load_catalogue(None, own(tmp_path, text))
