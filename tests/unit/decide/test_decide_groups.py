"""Groups of boxes, on rasters that fit on a line; A and B are the kinds of places."""

import itertools

import numpy as np
import pytest

from suitability.decide import groups
from suitability.decide.groups import GroupRules, kinds_of, pick_groups
from suitability.grid import Window

NAN = np.nan


def row(length, **places):
    """Return one row of cells: `a5=0.9` is a place for box A at column 5."""
    score = np.full((1, length), NAN, np.float32)
    kinds = np.zeros((1, length), np.uint8)
    for name, value in places.items():
        column = int(name[1:])
        score[0, column] = value
        kinds[0, column] |= 1 << "abc".index(name[0])
    return score, kinds


def pick(land, *, boxes=2, within=3.0, apart=0.0, spacing=1.0, count=9, around=0, cut=(), **more):
    """Return the columns of each group's boxes."""
    score, kinds = land
    edges = [0, *cut, score.shape[1]]
    windows = [Window(0, a, 1, b - a) for a, b in itertools.pairwise(edges)]
    rows, cols = pick_groups(
        lambda window: (score[window.slices], kinds[window.slices]),
        windows,
        score.shape,
        count=count,
        rules=GroupRules(boxes, within, apart, spacing, around, **more),
    )
    assert rows.shape == cols.shape
    assert not rows.any()
    return cols.tolist()


def test_the_best_mean_wins_not_the_best_box():
    land = row(20, a0=1.0, b1=0.2, a10=0.7, b11=0.6)
    assert pick(land) == [[10, 11], [0, 1]]
    assert pick(land, count=1) == [[10, 11]]


def test_boxes_keep_within_the_distance_and_apart():
    land = row(12, a0=0.9, b1=0.9, b2=0.8, b4=1.0)
    assert pick(land, within=3) == [[0, 1]]
    assert pick(land, within=4) == [[0, 4]]  # at the distance itself: near enough
    assert pick(land, within=3, apart=2) == [[0, 2]]  # at the distance itself: far enough
    assert pick(land, within=3, apart=2.5) == []


def test_distances_are_straight_not_along_the_cells():
    score = np.full((4, 5), NAN, np.float32)
    kinds = np.zeros((4, 5), np.uint8)
    score[0, 0], score[3, 4] = 0.5, 0.5
    kinds[0, 0], kinds[3, 4] = 1, 2
    whole = [Window(0, 0, 4, 5)]

    def found(within):
        rules = GroupRules(2, within, 0.0, 0.0, 0)
        read = lambda window: (score[window.slices], kinds[window.slices])  # noqa: E731
        return np.transpose(pick_groups(read, whole, (4, 5), count=1, rules=rules), (1, 2, 0))

    assert found(5.0).tolist() == [[[0, 0], [3, 4]]]
    assert found(4.999).size == 0


def test_a_place_holds_one_box_even_if_it_suits_both():
    land = row(6, a2=0.9)
    land[1][0, 2] = 3
    assert pick(land) == []
    land[0][0, 3], land[1][0, 3] = 0.4, 3
    assert pick(land) == [[2, 3]]


def test_every_box_of_a_group_keeps_the_spacing_from_every_box_of_another():
    land = row(20, a0=1.0, b2=1.0, b4=0.5, a6=0.9, b7=0.9, a12=0.3, b13=0.3)
    assert pick(land, spacing=4) == [[0, 2], [6, 7], [12, 13]]  # 4 cells from 2 to 6
    assert pick(land, spacing=4.5) == [[0, 2], [12, 13]]


def test_another_partner_is_found_when_the_best_is_taken():
    land = row(9, a0=1.0, b1=0.9, a2=0.8, b3=0.4)
    assert pick(land) == [[0, 1], [2, 3]]


def test_a_group_that_lost_its_partner_takes_its_turn_again(monkeypatch):
    # One group is kept a window: the second's next best is not known when it loses its partner.
    monkeypatch.setattr(groups, "_KEPT", 1)
    land = row(14, a0=0.9, b1=0.9, a2=0.8, b3=0.1, a10=0.6, b11=0.6)
    assert pick(land, cut=(2,)) == [[0, 1], [10, 11], [2, 3]]


def test_a_branch_that_promises_too_little_ends_no_other():
    # A at 5. B at 9 is best, then 8, then 4; but only from 4 is the good C at 1 within reach.
    land = row(12, a5=0.5, b9=0.9, b8=0.8, b4=0.7, c7=0.1, c1=0.9)
    assert pick(land, boxes=3, within=4, count=1) == [[5, 4, 1]]


def test_cells_below_the_least_score_hold_no_box():
    land = row(9, a0=1.0, b1=0.4, a5=0.6, b6=0.6)
    assert pick(land, min_score=0.5) == [[5, 6]]


def test_equals_are_taken_in_the_order_of_the_land_around_their_boxes():
    land = row(20, a1=0.5, b3=0.5, a11=0.5, b13=0.5)
    land[0][0, 14] = 0.5  # good land that suits no box
    assert pick(land, around=1) == [[11, 13], [1, 3]]
    assert pick(land, around=0) == [[1, 3], [11, 13]]


def test_land_without_a_group_has_none():
    assert pick(row(5, a0=1.0)) == []
    assert pick(row(5, b0=1.0)) == []
    assert pick(row(9, a0=1.0, b8=1.0)) == []


def test_kinds_are_bits_of_the_boxes_whose_range_holds_the_measure():
    sun = np.array([[3.9, 4.0, 6.0, 6.5, 7.0, NAN]], np.float32)
    slope = np.array([[0.0, 20.0, 0.0, 0.0, 20.0, 0.0]], np.float32)
    bounds = [("direct_sun_h", 7.0, np.inf), ("direct_sun_h", 4.0, 6.0), ("slope_deg", -np.inf, 10)]
    found = kinds_of({"direct_sun_h": sun, "slope_deg": slope}, bounds)
    assert found.dtype == np.uint8
    assert found.tolist() == [[4, 2, 6, 4, 1, 4]]


@pytest.mark.parametrize("boxes", [2, 4, 6])
def test_as_many_boxes_as_asked_for_stand_in_a_group(boxes):
    rng = np.random.default_rng(3)
    score = rng.random((12, 12)).astype(np.float32)
    kinds = (np.uint8(1) << rng.integers(0, boxes, (12, 12)).astype(np.uint8)).astype(np.uint8)
    rows, cols = pick_groups(
        lambda window: (score[window.slices], kinds[window.slices]),
        [Window(0, 0, 12, 12)],
        (12, 12),
        count=3,
        rules=GroupRules(boxes, 5.0, 1.0, 2.0, 1),
    )
    assert rows.shape == (3, boxes)
    assert (kinds[rows, cols] == 1 << np.arange(boxes)).all()
