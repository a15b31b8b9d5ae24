"""What differs between two judgements, on land of a few cells."""

import math

import numpy as np
import pytest

from suitability.decide.compared import (
    Change,
    ScoreChange,
    block_counts,
    changes,
    in_words,
    match_sites,
)

NAN = np.nan
LEGENDS = ({0: "no data", 1: "too steep"}, {0: "too steep", 2: "wet"})


def added(*windows):
    land = ScoreChange()
    moved = [
        land.add(
            (np.array(a, np.float32), np.array(a_bits, np.uint16)),
            (np.array(b, np.float32), np.array(b_bits, np.uint16)),
            LEGENDS,
        )
        for a, a_bits, b, b_bits in windows
    ]
    return land, moved


def test_what_moved_is_counted_by_hand():
    land, (moved,) = added(
        ([[0.5, 0.5, 0.5, 0.5]], [[0] * 4], [[0.7, 0.4, 0.504, 0.5]], [[0] * 4]),
    )
    np.testing.assert_allclose(moved, [[0.2, -0.1, 0.004, 0.0]], atol=1e-7)
    assert (land.cells, land.both, land.up, land.down) == (4, 4, 1, 1)
    assert land.mean == pytest.approx(0.104 / 4, abs=1e-7)
    assert land.mean_either_way == pytest.approx(0.304 / 4, abs=1e-7)
    assert land.extremes == pytest.approx((-0.1, 0.2), abs=1e-7)
    assert math.isnan(land.correlation)  # the old scores are all the same


def test_half_a_hundredth_counts_as_moved():
    land, _ = added(([[0.25, 0.25]], [[0, 0]], [[0.2551, 0.2449]], [[0, 0]]))
    assert (land.up, land.down) == (1, 1)


def test_land_that_came_in_or_went_out_has_its_reasons_by_each_runs_own_legend():
    land, (moved,) = added(
        ([[NAN, NAN, 0.5, NAN]], [[2, 3, 0, 1]], [[0.9, 0.8, NAN, NAN]], [[0, 0, 5, 4]]),
    )
    assert np.isnan(moved).all()
    assert (land.both, land.came_in, land.went_out) == (0, 2, 1)
    assert land.in_by == {"no data": 1, "too steep": 2}
    assert land.out_by == {"too steep": 1, "wet": 1}
    assert math.isnan(land.mean)
    assert math.isnan(land.correlation)


def test_windows_add_up_to_the_whole_and_to_another_library():
    rng = np.random.default_rng(1)
    a, b = (rng.random((40, 30)).astype(np.float32) for _ in range(2))
    b = (0.7 * a + 0.3 * b).astype(np.float32)
    a[rng.random(a.shape) < 0.2] = NAN
    b[rng.random(b.shape) < 0.2] = NAN
    bits_a, bits_b = (np.isnan(x).astype(np.uint16) for x in (a, b))
    whole, _ = added((a, bits_a, b, bits_b))
    parts, _ = added(
        *((a[s], bits_a[s], b[s], bits_b[s]) for s in (slice(0, 7), slice(7, 29), slice(29, 40)))
    )
    both = np.isfinite(a) & np.isfinite(b)
    expected = np.corrcoef(a[both].astype(float), b[both].astype(float))[0, 1]  # NumPy
    for land in (whole, parts):
        assert land.correlation == pytest.approx(expected, abs=1e-12)
        assert land.mean == pytest.approx((b[both] - a[both]).mean(dtype=float), abs=1e-7)
        assert land.came_in == np.count_nonzero(np.isnan(a) & np.isfinite(b))
        assert land.in_by["no data"] == land.came_in
    assert (whole.up, whole.down) == (parts.up, parts.down)


def test_a_change_tells_key_old_and_new_and_entries_are_known_by_name():
    old = {"a": {"b": 1, "gone": 2}, "list": [1, 2], "c": [{"layer": "x_m", "w": 1.0}]}
    new = {
        "a": {"b": 3},
        "list": [1, 2],
        "c": [{"layer": "y_m", "w": 2.0}, {"layer": "x_m", "w": 1}],
    }
    assert changes(old, new) == [
        Change("a.b", 1, 3),
        Change("c[y_m].layer", None, "y_m"),
        Change("c[y_m].w", None, 2.0),
        Change("a.gone", 2, None),
    ]
    assert changes(old, old) == []


def test_entries_of_one_name_are_told_apart_by_their_order():
    old = {"c": [{"layer": "x", "w": 1}, {"layer": "x", "w": 2}]}
    new = {"c": [{"layer": "x", "w": 1}, {"layer": "x", "w": 5}]}
    assert changes(old, new) == [Change("c[x 2].w", 2, 5)]


def test_a_file_of_other_content_is_the_same_entry():
    old, new = ({"c": [{"path": f"a.tif (SHA-256 {sum_})"}]} for sum_ in ("12", "34"))
    assert changes(old, new) == [
        Change("c[a.tif].path", "a.tif (SHA-256 12)", "a.tif (SHA-256 34)")
    ]


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (None, "not given"),
        (True, "yes"),
        (45.72, "45.72"),
        (1 / 3, "0.333333"),
        ("pole", "pole"),
        ([["3 h", 0.0], ["7 h", 1.0]], "3 h → 0, 7 h → 1"),
        (["3 h", "7 h"], "3 h, 7 h"),
        ([], "none"),
    ],
)
def test_values_in_words(value, words):
    assert in_words(value) == words


def pairs(old, new, within):
    found = match_sites(
        np.array(old, float).reshape(-1, 2), np.array(new, float).reshape(-1, 2), within
    )
    return [(pair.old, pair.new, pair.apart_m) for pair in found if pair.old is not None], [
        pair.new for pair in found if pair.old is None
    ]


def test_the_nearest_sites_are_matched_first():
    found, came = pairs([(0, 0), (10, 0)], [(9, 0), (14, 0), (50, 0)], 20)
    assert found == [(1, 0, 1.0), (0, 1, 14.0)]
    assert came == [2]


def test_sites_too_far_apart_come_and_go():
    found, came = pairs([(0, 0)], [(0, 5.1)], 5)
    assert came == [0]
    assert [(old, new) for old, new, _ in found] == [(0, None)]
    assert pairs([(0, 0)], [(0, 5)], 5) == ([(0, 0, 5.0)], [])


def test_sites_of_a_run_that_found_none():
    assert pairs([], [(0, 0)], 5) == ([], [0])
    gone, came = pairs([(0, 0)], [], 5)
    assert (gone[0][:2], came) == ((0, None), [])


def test_cells_are_counted_by_squares_the_last_being_cut():
    mask = np.ones((3, 5), np.bool_)
    mask[0, 0] = False
    assert block_counts(mask, 2).tolist() == [[3, 4, 2], [2, 2, 1]]


def test_a_pole_does_not_stand_for_a_wall_beside_it():
    places = np.array([[0.0, 0.0]]), np.array([[1.0, 0.0], [3.0, 0.0]])
    found = match_sites(*places, 20, (["wall"], ["pole", "wall"]))
    assert [(pair.old, pair.new) for pair in found] == [(None, 0), (0, 1)]
    assert [(pair.old, pair.new) for pair in match_sites(*places, 20)] == [(0, 0), (None, 1)]
