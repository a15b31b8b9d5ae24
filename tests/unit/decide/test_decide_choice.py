"""The exact choice on small land, against every choice there is."""

import itertools

import numpy as np
import pytest

from suitability.decide import choice, pick_sites
from suitability.decide.choice import Candidates, choose_exactly, gather_candidates, held_side
from suitability.grid import Window

NAN = np.nan


def choose(score, *, count, spacing, around=0, min_score=0.0, windows=None, seconds=60.0):
    score = np.asarray(score, np.float32)

    def gathered(parts, side):
        return gather_candidates(
            lambda window: score[window.slices], parts, score.shape, side=side,
            around_cells=around, min_score=min_score,
        )  # fmt: skip

    greedy = pick_sites(
        score, count=count, spacing_cells=spacing, around_cells=around, min_score=min_score
    )
    side = held_side(score.shape)
    return choose_exactly(
        gathered(windows or [Window(0, 0, *score.shape)], side),
        side,
        gathered([Window(int(r), int(c), 1, 1) for r, c in zip(*greedy, strict=True)], 1),
        count=count,
        spacing_cells=spacing,
        time_limit_s=seconds,
    )


def best_total(score, count, spacing, min_score=0.0):
    """Try every choice there is."""
    cells = [tuple(cell) for cell in np.argwhere(score >= min_score).tolist()]
    best = 0.0

    def extend(start, taken, total):
        nonlocal best
        best = max(best, total)
        if len(taken) == count:
            return
        for at in range(start, len(cells)):
            row, col = cells[at]
            if all(np.hypot(row - r, col - c) >= spacing for r, c in taken):
                extend(at + 1, [*taken, cells[at]], total + float(score[row, col]))

    extend(0, [], 0.0)
    return best


@pytest.mark.parametrize("seed", range(12))
def test_no_choice_there_is_has_a_greater_total(seed):
    rng = np.random.default_rng(seed)
    levels = int(rng.choice([2, 5, 1000]))
    score = (np.ceil(rng.random((5, 6)) * levels) / levels).astype(np.float32)
    score[rng.random(score.shape) < 0.2] = NAN
    count, spacing = int(rng.integers(2, 8)), float(rng.choice([1.5, 2.0, 3.0]))
    found = choose(score, count=count, spacing=spacing, min_score=0.2)
    assert found.total == pytest.approx(best_total(score, count, spacing, 0.2), abs=1e-6)
    assert found.total == pytest.approx(score[found.rows, found.cols].sum(dtype=float))
    assert found.total >= found.greedy_total
    assert found.most_possible == pytest.approx(found.total, abs=1e-5)
    assert found.most_on_land >= found.total - 1e-9
    assert found.square_cells == 1
    assert found.is_proven
    places = np.column_stack([found.rows, found.cols])
    assert len(places) <= count
    for a, b in itertools.combinations(places, 2):
        assert np.hypot(*(a - b)) >= spacing


def test_two_neighbours_are_worth_more_than_the_middle_between_them():
    found = choose([[0.8, 0.9, 0.8]], count=3, spacing=2)
    assert found.cols.tolist() == [0, 2]
    assert (found.total, found.greedy_total) == (pytest.approx(1.6), pytest.approx(0.9))
    assert choose([[0.8, 0.9, 0.8]], count=1, spacing=2).cols.tolist() == [1]


def test_sites_come_best_first_and_equals_by_the_land_around_them():
    row = [[0.5, 0.1, 0.6, NAN, NAN, 0.7, 0.8, 0.7, NAN, 0.6, 0.6]]
    found = choose(row, count=9, spacing=2, around=1)
    # Of the two sites of 0.6 the one beside another good cell comes first.
    assert found.cols.tolist() == [5, 7, 9, 2, 0]
    assert found.greedy_total < found.total


def test_among_equal_totals_greedy_is_kept():
    score = np.full((6, 6), 0.7)
    score[0, 0] = score[5, 5] = 0.9
    found = choose(score, count=4, spacing=3)
    rows, cols = pick_sites(np.asarray(score, np.float32), count=4, spacing_cells=3, around_cells=0)
    assert (found.rows.tolist(), found.cols.tolist()) == (rows.tolist(), cols.tolist())
    assert found.total == found.greedy_total


def test_the_same_choice_each_time_and_for_any_windows():
    rng = np.random.default_rng(4)
    score = (np.round(rng.random((20, 20)) * 4) / 4).astype(np.float32)
    whole = choose(score, count=30, spacing=3.5, around=1)
    quarters = [Window(r, c, 10, 10) for r in (10, 0) for c in (0, 10)]
    for again in (choose(score, count=30, spacing=3.5, around=1),
                  choose(score, count=30, spacing=3.5, around=1, windows=quarters)):  # fmt: skip
        assert again.rows.tolist() == whole.rows.tolist()
        assert again.cols.tolist() == whole.cols.tolist()
        assert again.total == whole.total
    assert whole.total > whole.greedy_total


@pytest.mark.parametrize("most", [20, 60, 150])
def test_fewer_candidates_are_the_best_of_wider_squares(monkeypatch, most):
    rng = np.random.default_rng(6)
    score = rng.random((20, 20)).astype(np.float32)
    whole = choose(score, count=40, spacing=4.0)
    monkeypatch.setattr(choice, "SEARCHES", ((10, 0.5), (most, 0.5)))
    thinned = choose(score, count=40, spacing=4.0)
    assert whole.square_cells == 1 < thinned.square_cells
    side = thinned.square_cells
    squares = -(-20 // side)
    assert squares**2 <= most < (-(-20 // (side - 1))) ** 2
    assert thinned.candidates <= most + 40
    assert thinned.greedy_total == whole.greedy_total <= thinned.total <= whole.total
    # What bounds the land's total does not come from the candidates.
    assert thinned.most_on_land == whole.most_on_land >= whole.total


def test_land_too_large_to_hold_every_cell_is_held_by_squares(monkeypatch):
    rng = np.random.default_rng(8)
    score = rng.random((30, 30)).astype(np.float32)
    whole = choose(score, count=20, spacing=5.0)
    monkeypatch.setattr(choice, "_MOST_HELD", 100)
    held = choose(score, count=20, spacing=5.0)
    assert held.square_cells == 3
    assert held.greedy_total <= held.total <= whole.total <= held.most_on_land
    crowded = choose(score, count=20, spacing=1.0)  # several sites may stand in a square
    assert crowded.total <= crowded.most_on_land


def test_the_best_of_a_square_is_that_of_the_choice_order():
    cells = Candidates(
        np.array([0.5, 0.9, 0.9, 0.9, 0.2]),
        np.array([0.9, 0.1, 0.3, 0.3, 0.0]),
        np.array([0, 0, 1, 1, 7]),
        np.array([0, 1, 1, 0, 7]),
    )
    best = cells.best_of_squares(2)
    assert sorted(zip(best.row.tolist(), best.col.tolist(), strict=True)) == [(1, 0), (7, 7)]


def test_land_without_a_candidate_has_an_empty_choice():
    found = choose([[NAN, NAN]], count=3, spacing=2)
    assert found.rows.size == 0
    assert (found.total, found.most_possible, found.gap_share) == (0, 0, 0)


def test_a_search_that_was_cut_short_gives_greedy_or_better_and_its_gap():
    rng = np.random.default_rng(2)
    score = rng.random((50, 50)).astype(np.float32)
    found = choose(score, count=200, spacing=4.0, seconds=1e-3)
    assert not found.is_proven
    assert found.total >= found.greedy_total
    assert found.gap_share == pytest.approx(found.most_possible / found.total - 1)
    assert found.gap_share > 0
