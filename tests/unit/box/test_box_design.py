"""Boxes as far as heat goes."""

import pytest

from suitability.box import BoxDesign, Colour


def test_partitions_take_what_the_chambers_leave():
    box = BoxDesign("four", 0.35, 0.6, 0.152, 0.019, chambers=4, chamber_m=0.02)
    assert box.partition_m == pytest.approx((0.152 - 0.038 - 0.08) / 3)


def test_rings_around_a_post_are_counted_on_both_sides():
    box = BoxDesign("post", 0.2, 0.9, 0.2, 0.019, chambers=1, chamber_m=0.02, post_m=0.09)
    assert box.partition_m == pytest.approx((0.2 - 0.09) / 2 - 0.019 - 0.02)


@pytest.mark.parametrize("depth_m", [0.07, 0.0])
def test_chambers_must_fit(depth_m):
    with pytest.raises(ValueError, match=r"do not fit|above 0"):
        BoxDesign("tight", 0.35, 0.6, depth_m, 0.019, chambers=2, chamber_m=0.02)


def test_absorptances_rise():
    assert Colour("black", 0.9, 0.94, 0.97).absorptance == (0.9, 0.94, 0.97)
    with pytest.raises(ValueError, match="rising"):
        Colour("odd", 0.9, 0.5, 0.97)
