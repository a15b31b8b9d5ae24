"""Rank acceptability and central weights against closed forms.

Sources: the definitions of Lahdelma and Salminen, SMAA-2: Stochastic Multicriteria Acceptability
Analysis for Group Decision Making, Operations Research 49 (2001), 444–454: a rank's acceptability
is the share of the weights that give an alternative that rank, its central weights are the centre
of gravity of the weights that make it the best. No printed example was at hand, so the numbers
are worked out from these definitions for uniform weights: for two criteria on the line between
(0, 1) and (1, 0), for three on the triangle. The centre of gravity of a third of the triangle is
the mean of its corners; its first entry is the first rank-order centroid of three criteria
(Barron and Barrett, Decision Quality Using Ranked Attribute Weights, Management Science 42 (1996),
1515–1523: 0.6111, 0.2778, 0.1111).
"""

import numpy as np
import pytest

from suitability.decide.robustness import confidence_factors, rank_acceptability
from suitability.decide.robustness_weights import Spread, draw_weights, weighted_means

DRAWS = 10_000
# Four standard errors of a share of one half in so many draws are 0.02.
WITHIN = 0.02


def accepted(values, seed=1, draws=DRAWS):
    values = np.array(values, float)
    count = values.shape[1]
    weights = draw_weights(
        np.full(count, 1 / count), (slice(0, count),), Spread(), draws=draws, seed=seed
    )
    return rank_acceptability(weighted_means, values, weights)


# With w the weight of the first criterion the scores are w, 1 - w, 0.6 and 0.8 - 0.5 w. The last
# three cross at w = 0.4, the others at 0.5 (A, B), 8/15 (A, D) and 0.6 (A, C).
FOUR = [(1, 0), (0, 1), (0.6, 0.6), (0.3, 0.8)]
FOUR_RANKS = [
    (0.4, 1 / 15, 1 / 30, 0.5),
    (0.4, 0, 0.1, 0.5),
    (0.2, 0.4, 0.4, 0),
    (0, 8 / 15, 7 / 15, 0),
]


@pytest.mark.parametrize("seed", range(4))
def test_four_alternatives_on_two_criteria(seed):
    found = accepted(FOUR, seed)
    np.testing.assert_allclose(found.ranks, FOUR_RANKS, rtol=0, atol=WITHIN)
    first = found.central_weights[:, 0]
    np.testing.assert_allclose(first[:3], [0.8, 0.2, 0.5], rtol=0, atol=WITHIN)
    # Never the best, although nothing is better than it in both criteria.
    assert np.isnan(found.central_weights[3]).all()
    assert found.none_better[3] == 0


@pytest.mark.parametrize("seed", range(4))
def test_three_alternatives_each_best_in_one_of_three_criteria(seed):
    found = accepted(np.eye(3), seed)
    np.testing.assert_allclose(found.none_better, 1 / 3, rtol=0, atol=WITHIN)
    expected = np.full((3, 3), 7 / 36) + np.eye(3) * (11 / 18 - 7 / 36)
    np.testing.assert_allclose(found.central_weights, expected, rtol=0, atol=0.015)
    np.testing.assert_allclose(np.diag(expected), 0.6111, rtol=0, atol=1e-4)


def test_exact_values_leave_no_doubt_at_the_central_weights():
    values = np.array(FOUR, float)
    central = accepted(FOUR).central_weights
    found = confidence_factors(weighted_means, values, central, value_error=0, draws=50, seed=1)
    np.testing.assert_array_equal(found, [1, 1, 1, np.nan])


def test_confidence_of_two_alternatives_whose_values_may_be_off():
    # One criterion tells them apart by 0.1; the difference of two errors, each uniform within
    # 0.1 either way, has the triangular density on -0.2..0.2. It takes the lead away with the
    # probability of falling below -0.1: 1/2 · (1/2)² = 1/8 (worked out by hand).
    values, central = np.array([[0.5, 0.5], [0.4, 0.5]]), np.array([[1, 0], [np.nan, np.nan]])
    found = confidence_factors(
        weighted_means, values, central, value_error=0.1, draws=DRAWS, seed=3
    )
    assert found[0] == pytest.approx(7 / 8, abs=0.014)
    assert np.isnan(found[1])
