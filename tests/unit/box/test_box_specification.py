"""The parts of a box and its drawing: they add up to its outside."""

import itertools

import pytest

from suitability.box import load_catalogue
from suitability.box.specification import specification
from suitability.build import views_of

DESIGNS = load_catalogue().designs


def parts_of(name, mount="pole"):
    items = specification(DESIGNS[name], "dark", mount, 4.572)
    return {item.part: item for item in items}


def test_sizes_stand_in_inches_and_millimetres():
    items = parts_of("four chambers")
    assert items["chambers"].size == "4 of 3/4 in (19 mm)"
    assert items["partitions"].size == "3/8 in (10 mm)"
    assert items["outside"].size == "18 in (457 mm) wide, 30 in (762 mm) tall"
    assert items["outside"].note.startswith("5 5/8 in (143 mm) deep")


def test_a_post_reaches_the_boxs_top_and_codes_say_what_is_below():
    item = parts_of("four chambers")["post"]
    assert item.size.startswith("5.3 m (17.5 ft)")  # 4.572 m + 0.762 m
    assert "local code" in item.note
    assert "post" not in parts_of("two chambers", "wall")


def test_one_chamber_has_no_partition():
    assert "partitions" not in parts_of("one chamber", "wall")
    assert "partitions" in parts_of("around a post")


@pytest.mark.parametrize("name", ["one chamber", "two chambers", "four chambers"])
def test_cut_from_the_side_leaves_the_chambers_open(name):
    box = DESIGNS[name]
    _, cut = views_of(box)
    upright = sorted((x, width) for x, _, width, tall in cut.boards if tall > width)
    gaps = [b[0] - (a[0] + a[1]) for a, b in itertools.pairwise(upright)]
    assert gaps == pytest.approx([box.chamber_m] * box.chambers)
    assert upright[-1][0] + upright[-1][1] == pytest.approx(box.depth_m)


def test_cut_from_above_leaves_the_rings_open():
    box = DESIGNS["around a post"]
    _, cut = views_of(box)
    middle = box.depth_m / 2
    # Along a line across the middle: outer wall, chamber, sleeve, chamber, sleeve, post.
    crossed = sorted(
        (x, width) for x, y, width, tall in cut.boards if y < middle < y + tall and x < middle
    )
    gaps = [b[0] - (a[0] + a[1]) for a, b in itertools.pairwise(crossed)]
    assert gaps == pytest.approx([box.chamber_m, box.chamber_m, 0], abs=1e-9)
