"""Ways to combine, and the choice of sites, against other ways to the same answer.

Sources: the weighted linear combination as the literature on spatial multi-criteria decision
analysis has it (Malczewski and Rinner, Multicriteria Decision Analysis in Geographic Information
Science, 2015, chapter 4; the contrast below is computed from that definition); `numpy.average`
and `numpy.interp` as reference; and a choice of sites so plain that it can be read at a glance.
"""

import numpy as np
import pytest
from judging import judged, of_values

from suitability.decide import default_criteria, pick_sites


@pytest.mark.parametrize(
    ("combine", "last", "expected"),
    [
        ("weighted mean", 0.1, 0.74),
        ("weighted mean", 0.0, 0.72),
        ("weighted geometric mean", 0.1, 0.57995),
        ("weighted geometric mean", 0.0, 0),
        ("limiting criterion", 0.1, 0.1),
        ("limiting criterion", 0.0, 0),
    ],
)
def test_how_far_good_values_make_up_for_a_poor_one(combine, last, expected):
    values = np.float32([[0.9], [0.9], [last]])
    found = of_values(values, (0.4, 0.4, 0.2), combine=combine)
    assert found[0] == pytest.approx(expected, abs=5e-6)


@pytest.mark.parametrize("count", [1, 2, 3, 8])
def test_numpy_gives_the_same_average(count):
    rng = np.random.default_rng(count)
    values = rng.random((count, 60, 70)).astype(np.float32)
    values[0, 3, 4:9] = np.nan
    weights = rng.integers(1, 50, count) / 7
    expected = np.average(values.astype(np.float64), axis=0, weights=weights)
    np.testing.assert_allclose(of_values(values, weights), expected, rtol=0, atol=6e-8)


def test_numpy_gives_the_same_score_of_measures():
    rng = np.random.default_rng(5)
    shape = (50, 50)
    layers = {
        "direct_sun_h": rng.uniform(0, 15, shape),
        "water_distance_m": rng.uniform(0, 2500, shape),
        "canopy_edge_m": rng.uniform(-40, 400, shape),
        "foraging_share": rng.uniform(0, 1, shape),
        "slope_deg": rng.uniform(0, 45, shape),
    }
    layers = {name: values.astype(np.float32) for name, values in layers.items()}
    # Written out from the table of defaults, in metres, hours, degrees and shares.
    values = [
        np.interp(layers["direct_sun_h"], [3, 5, 7, 10, 14], [0, 0.5, 1, 1, 0.85]),
        np.interp(layers["water_distance_m"], [402.336, 1609.344], [1, 0]),
        np.interp(layers["canopy_edge_m"], [6, 10, 30, 100, 300], [0, 1, 1, 0.4, 0.1]),
        np.interp(layers["foraging_share"], [0, 0.4], [0, 1]),
        np.interp(layers["slope_deg"], [10, 25], [1, 0]),
    ]
    expected = np.average(values, axis=0, weights=[35, 25, 15, 15, 10])
    found = judged(*default_criteria("moderate")).score(layers)
    np.testing.assert_allclose(found, expected, rtol=0, atol=2e-7)


def plainly_picked(score, count, spacing, around, least):
    """Take the best cell that is left, again and again, looking at all cells each time."""
    rows, cols = score.shape
    mean = {}
    for r in range(rows):
        for c in range(cols):
            total = 0.0
            for y in range(max(0, r - around), min(rows, r + around + 1)):
                for x in range(max(0, c - around), min(cols, c + around + 1)):
                    total += 0.0 if np.isnan(score[y, x]) else float(score[y, x])
            mean[r, c] = round(total / (2 * around + 1) ** 2, 6)
    left = [place for place in mean if score[place] >= least]
    picked = []
    while left and len(picked) < count:
        best = min(left, key=lambda place: (-score[place], -mean[place], place))
        picked.append(best)
        left = [
            (r, c)
            for r, c in left
            if (r, c) != best and (r - best[0]) ** 2 + (c - best[1]) ** 2 >= spacing**2
        ]
    return picked


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(
    ("levels", "spacing", "around", "least"),
    [(8, 3.0, 2, 0.0), (8, 5.7, 0, 0.5), (64, 4.0, 1, 0.0), (1, 6.3, 3, 0.0)],
)
def test_a_plain_choice_picks_the_same_sites(seed, levels, spacing, around, least):
    rng = np.random.default_rng(seed)
    # Eighths and the like add up exactly, so that equals are equals in either way of summing.
    score = (rng.integers(0, levels + 1, (40, 40)) / levels).astype(np.float32)
    score[rng.random((40, 40)) < 0.25] = np.nan
    rows, cols = pick_sites(
        score, count=30, spacing_cells=spacing, around_cells=around, min_score=least
    )  # fmt: skip
    expected = plainly_picked(score, 30, spacing, around, least)
    assert list(zip(rows.tolist(), cols.tolist(), strict=True)) == expected
    assert len(expected) > 10
