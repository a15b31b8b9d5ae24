"""The choice of sites, on rasters that fit on a line."""

import numpy as np
import pytest
from scipy import ndimage

from suitability.decide import pick_sites, sites
from suitability.decide.sites import Spots, merge_sites, merge_with_spots
from suitability.grid import Window

NAN = np.nan


def pick(values, *, count=99, spacing=1.0, around=0, **more):
    score = np.array(values, dtype=np.float32)
    rows, cols = pick_sites(
        score, count=count, spacing_cells=spacing, around_cells=around, **more
    )  # fmt: skip
    return list(zip(rows.tolist(), cols.tolist(), strict=True))


def test_the_best_come_first():
    assert pick([[0.2, 0.9, 0.4], [0.8, NAN, 0.1]]) == [
        (0, 1), (1, 0), (0, 2), (0, 0), (1, 2),
    ]  # fmt: skip


def test_only_as_many_as_wanted():
    assert pick([[0.2, 0.9, 0.4, 0.8]], count=2) == [(0, 1), (0, 3)]


def test_fewer_where_the_land_has_no_more():
    assert pick([[0.2, 0.9, NAN, 0.4]], count=50, spacing=2) == [(0, 1), (0, 3)]


def test_land_without_a_candidate_has_no_site():
    assert pick([[NAN, NAN], [NAN, NAN]]) == []
    assert pick([[0.2, 0.3]], min_score=0.5) == []


def test_spacing_is_a_least_distance_between_centres():
    row = [[0.9, 0.8, 0.7, 0.6, 0.5, 0.4]]
    assert pick(row, spacing=2) == [(0, 0), (0, 2), (0, 4)]  # at the distance itself: far enough
    assert pick(row, spacing=2.001) == [(0, 0), (0, 3)]
    assert pick(row, spacing=0) == [(0, at) for at in range(6)]


def test_spacing_is_measured_straight_not_along_the_cells():
    # Three columns and four rows away is five cells away.
    score = np.full((5, 4), NAN)
    score[0, 0], score[4, 3], score[0, 3] = 0.9, 0.8, 0.7
    assert pick(score, spacing=5) == [(0, 0), (4, 3)]
    assert pick(score, spacing=5.001) == [(0, 0)]
    assert pick(score, spacing=3) == [(0, 0), (4, 3), (0, 3)]


def test_the_best_left_and_not_the_best_set():
    # A middle cell taken first costs both its neighbours, which together were worth more.
    assert pick([[0.8, 0.9, 0.8]], spacing=2) == [(0, 1)]


def test_the_least_score_is_itself_enough():
    assert pick([[0.7, 0.69, 0.71]], min_score=0.7) == [(0, 2), (0, 0)]
    assert pick([[0.7, 1.0]], min_score=1.0) == [(0, 1)]


def test_a_score_of_0_is_a_candidate():
    assert pick([[0.0, NAN]]) == [(0, 0)]


def test_equals_are_taken_in_the_order_of_the_land_around_them():
    # Three cells of 0.9: at the edge of land, amid poor land, amid good land.
    row = [[0.9, NAN, 0.1, 0.9, 0.1, 0.6, 0.9, 0.6]]
    assert pick(row, around=1, spacing=2, count=3) == [(0, 6), (0, 3), (0, 0)]


def test_equals_in_equal_land_are_taken_by_row_then_column():
    score = np.full((3, 3), NAN)
    score[0, 2] = score[1, 0] = score[1, 2] = score[2, 1] = 0.5
    assert pick(score) == [(0, 2), (1, 0), (1, 2), (2, 1)]


def test_the_land_around_counts_what_is_excluded_or_beyond_the_edge_as_0():
    score = np.array([[0.9, NAN, 0.3], [0.6, 0.3, 0.3]], dtype=np.float32)
    found = sites.mean_around(score, 1)
    by_hand = np.array([[1.8, 2.4, 0.9], [1.8, 2.4, 0.9]]) / 9
    np.testing.assert_allclose(found, by_hand, atol=1.1e-6)
    np.testing.assert_allclose(sites.mean_around(score, 0), np.nan_to_num(score), atol=5e-7)


@pytest.mark.parametrize("cells", [0, 10, 31, 32, 40])
def test_the_land_around_is_right_where_running_sums_pass_32_bits(cells):
    # 5,000 cells of 1 in a row and in a column, in steps of 2 ** -20: more than 2 ** 32 of them.
    for shape in ((5_000, 3), (3, 5_000)):
        score = np.random.default_rng(4).uniform(0.9, 1.0, shape).astype(np.float32)
        side = 2 * cells + 1
        expected = ndimage.uniform_filter(score.astype(np.float64), side, mode="constant")
        np.testing.assert_allclose(sites.mean_around(score, cells), expected, atol=1e-6)


@pytest.mark.parametrize("together", [1, 2, 7, 50, 399, 400, 10_000])
@pytest.mark.parametrize("levels", [3, 12, 10_000])
def test_the_size_of_chunks_decides_nothing(monkeypatch, together, levels):
    rng = np.random.default_rng(11)
    score = np.round(rng.random((20, 20)) * levels) / levels
    score[rng.random((20, 20)) < 0.2] = NAN
    whole = pick(score, spacing=2.3, around=2)
    monkeypatch.setattr(sites, "_TOGETHER", together)
    assert pick(score, spacing=2.3, around=2) == whole
    assert pick(score, spacing=2.3, around=2, count=9, min_score=0.3) == whole[:9]


def test_rows_and_columns_are_whole_numbers_even_where_there_is_none():
    nothing = np.full((2, 2), NAN, np.float32)
    rows, cols = pick_sites(nothing, count=3, spacing_cells=1, around_cells=1)
    assert rows.dtype == cols.dtype == np.int64
    assert rows.size == cols.size == 0


def test_sites_of_two_windows_keep_their_distance_and_their_order():
    score = np.array([[0.5, 0.9, 0.8, 0.7]], np.float32)
    halves = [Window(0, 2, 1, 2), Window(0, 0, 1, 2)]  # in any order
    found = merge_sites(
        lambda window: score[window.slices],
        halves,
        score.shape,
        count=9,
        spacing_cells=2.0,
        around_cells=0,
    )
    # The best of the right half lies too near the best of the left one.
    assert np.transpose(found).tolist() == [[0, 1], [0, 3]]


def test_the_land_around_is_seen_across_the_edge_of_a_window():
    # Equals at columns 1 and 4; good land around the second lies in the next window.
    score = np.array([[0.1, 0.9, 0.1, NAN, 0.9, 0.8]], np.float32)
    windows = [Window(0, 0, 1, 5), Window(0, 5, 1, 1)]
    found = merge_sites(
        lambda window: score[window.slices],
        windows,
        score.shape,
        count=2,
        spacing_cells=2.0,
        around_cells=1,
    )
    assert np.transpose(found).tolist() == [[0, 4], [0, 1]]


def test_spots_and_cells_share_one_list_and_one_spacing():
    score = np.array([[0.9, 0.5, 0.5, 0.8, NAN]], np.float32)
    spots = Spots(
        score=np.array([0.85, 0.95, 0.8, NAN, 0.3]),
        row=np.array([0.0, 0.0, 0.4, 0.0, 0.0]),
        col=np.array([2.3, 0.6, 4.2, 1.5, 30.0]),
    )

    def merged(count, windows, **more):
        rows, cols, spot = merge_with_spots(
            lambda window: score[window.slices],
            windows,
            score.shape,
            spots,
            count=count,
            around_cells=0,
            **more,
        )
        return list(zip(rows.tolist(), cols.tolist(), spot.tolist(), strict=True))

    whole = [Window(0, 0, 1, 5)]
    best = [(0, 0.6, 1), (0, 2.3, 0), (0.4, 4.2, 2), (0, 30, 4)]
    assert merged(9, whole, spacing_cells=1.5) == best
    assert merged(9, [Window(0, 0, 1, 2), Window(0, 2, 1, 3)], spacing_cells=1.5) == best
    assert merged(2, whole, spacing_cells=1.5) == best[:2]
    assert merged(9, whole, spacing_cells=1.5, min_score=0.5) == best[:3]
    # Nearer to each other, cells come in by their scores; the wall at 4.2 ties with the cell at 3.
    close = merged(9, whole, spacing_cells=0.5)
    assert close[:4] == [(0, 0.6, 1), (0, 0, -1), (0, 2.3, 0), (0, 3, -1)]
    assert close[4] == (0.4, 4.2, 2)
    assert merged(9, [], spacing_cells=1.5) == best  # spots alone


def test_of_two_spots_in_one_place_the_better_is_taken():
    spots = Spots(np.array([0.2, 0.7]), np.array([1.5, 1.5]), np.array([2.5, 2.5]))
    rows, _, spot = merge_with_spots(
        np.empty, [], (9, 9), spots,
        count=9, spacing_cells=0.0, around_cells=0,
    )  # fmt: skip
    assert rows.tolist() == [1.5]
    assert spot.tolist() == [1]


def test_a_spot_at_just_the_spacing_from_a_site_is_far_enough():
    spots = Spots(np.array([0.9, 0.8, 0.7]), np.array([0.5, 0.5, 0.5]), np.array([0.5, 2.5, 4.0]))

    def taken(spacing):
        _, cols, _ = merge_with_spots(
            np.empty, [], (9, 9), spots, count=9, spacing_cells=spacing, around_cells=0
        )
        return cols.tolist()

    assert taken(2.0) == [0.5, 2.5]
    assert taken(1.5) == [0.5, 2.5, 4.0]
    assert taken(2.001) == [0.5, 4.0]
