"""Drawn weights against the moments of the Dirichlet distribution.

Source: Johnson, Kotz and Balakrishnan, Continuous Multivariate Distributions, volume 1 (2nd ed.,
2000), chapter 49, from memory: with parameters a_i that add up to A, the mean is a_i / A, the
variance a_i (A - a_i) / (A² (A + 1)), the covariance -a_i a_j / (A² (A + 1)); and
`scipy.stats.dirichlet`, which gives the same.
"""

import numpy as np
import pytest
from scipy.stats import dirichlet

from suitability.decide.robustness_weights import Spread, draw_weights

WEIGHTS = np.array([0.4, 0.3, 0.2, 0.1])
ALL = (slice(0, 4),)
DRAWS = 40_000


@pytest.mark.parametrize("concentration", [4, 20, 200])
def test_weights_around_what_was_given(concentration):
    spread = Spread(concentration)
    drawn = draw_weights(WEIGHTS, ALL, spread, draws=DRAWS, seed=5)
    alpha = concentration * WEIGHTS
    total = alpha.sum()
    covariance = (np.diag(alpha) * total - np.outer(alpha, alpha)) / (total**2 * (total + 1))
    error = np.sqrt(np.diag(covariance) / DRAWS)
    assert (np.abs(drawn.mean(axis=0) - WEIGHTS) < 4.5 * error).all()
    np.testing.assert_allclose(np.cov(drawn.T), covariance, rtol=0, atol=0.04 * covariance.max())
    np.testing.assert_allclose(np.cov(drawn.T), dirichlet(alpha).cov(), rtol=0,
                               atol=0.04 * covariance.max())  # fmt: skip
    np.testing.assert_allclose(spread.deviations(WEIGHTS, ALL), np.sqrt(np.diag(covariance)))


def test_any_weights_alike():
    spread = Spread()
    drawn = draw_weights(WEIGHTS, ALL, spread, draws=DRAWS, seed=5)
    np.testing.assert_allclose(drawn.mean(axis=0), 0.25, rtol=0, atol=0.005)
    # Of the uniform distribution on the simplex of n weights: (n - 1) / (n² (n + 1)).
    np.testing.assert_allclose(drawn.var(axis=0), 3 / 80, rtol=0.03)
    np.testing.assert_allclose(spread.deviations(WEIGHTS, ALL) ** 2, 3 / 80)


def test_groups_are_drawn_on_their_own():
    groups = (slice(0, 2), slice(2, 5))
    weights = np.array([0.7, 0.3, 0.5, 0.25, 0.25])
    drawn = draw_weights(weights, groups, Spread(30), draws=DRAWS, seed=2)
    for group in groups:
        np.testing.assert_allclose(drawn[:, group].sum(axis=1), 1, rtol=0, atol=1e-8)
    np.testing.assert_allclose(drawn.mean(axis=0), weights, rtol=0, atol=0.005)
    between = np.corrcoef(drawn.T)[:2, 2:]
    assert np.abs(between).max() < 0.025
