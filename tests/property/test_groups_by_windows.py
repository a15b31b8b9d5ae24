"""Groups chosen window by window are those that looking at every group there is would choose."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from suitability.decide import groups
from suitability.decide.groups import GroupRules, kinds_of, pick_groups
from suitability.decide.sites import mean_around
from suitability.grid import Window


def land(seed, rows, cols, levels, boxes):
    """Return a score with ties and gaps, and which boxes may stand where."""
    rng = np.random.default_rng(seed)
    score = (np.round(rng.random((rows, cols)) * levels) / levels).astype(np.float32)
    score[rng.random((rows, cols)) < 0.3] = np.nan
    measure = rng.random((rows, cols)).astype(np.float32)
    bounds = [("a_share", rng.random() / 2, 1 - rng.random() / 2) for _ in range(boxes)]
    return score, kinds_of({"a_share": measure}, bounds)


def one_by_one(score, kinds, count, rules):
    """Choose as the words say: make every group there is, take the best, strike out, again."""
    around = mean_around(score, rules.around_cells)
    cells = [tuple(map(int, cell)) for cell in np.argwhere(score >= rules.min_score)]
    roles = [[c for c in cells if kinds[c] & (1 << k)] for k in range(rules.boxes)]

    def in_order(cell):
        return -float(score[cell]), -around[cell], *cell

    def distance(a, b):
        return np.hypot(a[0] - b[0], a[1] - b[1])

    def is_group(places):
        return all(
            a != b and rules.apart_cells <= distance(a, b) <= rules.within_cells
            for a, b in itertools.combinations(places, 2)
        )

    every = [places for places in itertools.product(*roles) if is_group(places)]
    chosen = []
    while every and len(chosen) < count:
        # Each place for the first box has one group, its best.
        led = {}
        for places in every:
            total = sum(float(score[place]) for place in places)
            key = (-total, *(in_order(place) for place in places[1:]))
            if places[0] not in led or key < led[places[0]][0]:
                led[places[0]] = key, places
        best = min(
            (places for _, places in led.values()),
            key=lambda places: (
                -sum(float(score[place]) for place in places),
                -sum(around[place] for place in places),
                *places[0],
            ),
        )
        chosen.append([list(place) for place in best])
        every = [
            places
            for places in every
            if all(
                a != b and distance(a, b) >= rules.spacing_cells
                for a, b in itertools.product(places, best)
            )
        ]
    return chosen


@settings(max_examples=300, deadline=None)
@given(
    seed=st.integers(0, 10**6),
    rows=st.integers(1, 7),
    cols=st.integers(2, 7),
    levels=st.sampled_from((1, 3, 1000)),
    boxes=st.integers(2, 3),
    side=st.integers(1, 8),
    kept=st.sampled_from((1, 2, 3, 256)),
    together=st.sampled_from((1, 2, 4096)),
    count=st.integers(1, 8),
    within=st.sampled_from((1.0, 1.5, 2.9, 4.0)),
    apart=st.sampled_from((0.0, 1.0, 1.5)),
    spacing=st.sampled_from((0.0, 1.0, 2.5, 5.0)),
    around=st.integers(0, 2),
    min_score=st.sampled_from((0.0, 0.4)),
)
def test_any_windows_give_the_groups_of_a_full_search(
    seed, rows, cols, levels, boxes, side, kept, together, count, within, apart, spacing, around,
    min_score,
):  # fmt: skip
    score, kinds = land(seed, rows, cols, levels, boxes)
    rules = GroupRules(boxes, within, apart, spacing, around, min_score)
    windows = [
        Window(row, col, side, side).clipped(score.shape)
        for row in range(0, rows, side)
        for col in range(0, cols, side)
    ]
    read = []

    def reader(window):
        read.append(window)
        return score[window.slices].copy(), kinds[window.slices].copy()

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(groups, "_KEPT", kept)
        patch.setattr(groups, "_TOGETHER", together)
        found = pick_groups(reader, windows[::-1], score.shape, count=count, rules=rules)
    assert np.transpose(found, (1, 2, 0)).tolist() == one_by_one(score, kinds, count, rules)
    # No more is read at once than a window and what lies within reach of it.
    reach = int(within) + around
    assert max(window.rows for window in read) <= side + 2 * reach
    assert max(window.cols for window in read) <= side + 2 * reach
