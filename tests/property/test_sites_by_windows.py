"""Sites chosen window by window are those chosen from the whole."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from suitability.decide import pick_sites, sites
from suitability.decide.sites import merge_sites
from suitability.grid import Window

# A score of few levels has many ties; land around and place must part them.
LEVELS = (1, 2, 5, 1000)


def land(seed, rows, cols, levels):
    rng = np.random.default_rng(seed)
    score = (np.round(rng.random((rows, cols)) * levels) / levels).astype(np.float32)
    score[rng.random((rows, cols)) < 0.3] = np.nan
    return score


def cut(rng, window, pieces):
    """Cut a window into so many, along rows or columns at any place."""
    found = [window]
    for _ in range(pieces - 1):
        one = found.pop(rng.integers(len(found)))
        row, col, rows, cols = one.row, one.col, one.rows, one.cols
        if rows > 1 and (cols == 1 or rng.random() < 0.5):
            at = int(rng.integers(1, rows))
            found += [Window(row, col, at, cols), Window(row + at, col, rows - at, cols)]
        elif cols > 1:
            at = int(rng.integers(1, cols))
            found += [Window(row, col, rows, at), Window(row, col + at, rows, cols - at)]
        else:
            found.append(one)
    rng.shuffle(found)
    return found


def one_by_one(score, *, count, spacing_cells, around_cells, min_score):
    """Choose as the words say: look at all that is left, take the first, strike out, again."""
    around = sites.mean_around(score, around_cells)
    left = {
        (-float(score[r, c]), -around[r, c], r, c)
        for r, c in np.argwhere(score >= min_score).tolist()
    }
    chosen = []
    while left and len(chosen) < count:
        best = min(left)
        chosen.append(best[2:])
        left = {
            one
            for one in left
            if one != best and np.hypot(one[2] - best[2], one[3] - best[3]) >= spacing_cells
        }
    return chosen


@settings(max_examples=150, deadline=None)
@given(
    seed=st.integers(0, 10**6),
    rows=st.integers(1, 24),
    cols=st.integers(1, 24),
    levels=st.sampled_from(LEVELS),
    pieces=st.integers(1, 12),
    together=st.sampled_from((1, 2, 5, 17, 100, 20_000)),
    count=st.integers(1, 30),
    spacing=st.sampled_from((0.0, 1.0, 1.5, 3.0, 7.3, 50.0)),
    around=st.integers(0, 4),
    min_score=st.sampled_from((0.0, 0.5, 1.0)),
)
def test_any_windows_and_chunks_give_the_sites_of_the_whole(
    seed, rows, cols, levels, pieces, together, count, spacing, around, min_score
):
    score = land(seed, rows, cols, levels)
    wanted = {"count": count, "spacing_cells": spacing, "around_cells": around,
              "min_score": min_score}  # fmt: skip
    whole = np.transpose(pick_sites(score, **wanted)).tolist()
    assert [tuple(one) for one in whole] == one_by_one(score, **wanted)
    windows = cut(np.random.default_rng(seed), Window(0, 0, rows, cols), pieces)
    read = []

    def reader(window):
        read.append(window)
        return score[window.slices].copy()

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sites, "_TOGETHER", together)
        merged = merge_sites(reader, windows, score.shape, **wanted)
    assert np.transpose(merged).tolist() == whole
    # No more is read at once than a window with what lies around its cells.
    allowed = {window.grown(around).clipped(score.shape) for window in windows}
    assert set(read) <= allowed
