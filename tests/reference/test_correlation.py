"""Correlation of criteria against `scipy.stats.spearmanr` and `numpy.corrcoef`."""

import numpy as np
import pytest
from scipy.stats import spearmanr

from suitability.decide.robustness_land import correlations


@pytest.mark.parametrize("levels", [3, 10, 1_000_000])
def test_the_libraries_give_the_same(levels):
    rng = np.random.default_rng(levels)
    base = rng.random((3000, 1))
    values = np.round((base * [1, -0.5, 0.2, 0] + rng.random((3000, 4))) * levels) / levels
    spearman, pearson = correlations(values)
    np.testing.assert_allclose(spearman, spearmanr(values).statistic, rtol=0, atol=1e-12)
    np.testing.assert_allclose(pearson, np.corrcoef(values.T), rtol=0, atol=1e-12)


def test_a_worked_example_with_ranks_by_hand():
    # Ranks 1 2 3 4 5 and 2 1 4 3 5: the squares of their differences add up to 4, and Spearman's
    # formula 1 - 6 · 4 / (5 · 24) gives 0.8.
    spearman, _ = correlations(np.array([[0.1, 0.3], [0.2, 0.1], [0.5, 0.8], [0.7, 0.7], [0.9, 1]]))
    assert spearman[0, 1] == pytest.approx(0.8)


def test_what_is_the_same_everywhere_goes_with_nothing():
    spearman, pearson = correlations(np.array([[0.1, 0.5], [0.2, 0.5], [0.9, 0.5]]))
    for found in (spearman, pearson):
        assert found[0, 0] == 1
        assert np.isnan([found[0, 1], found[1, 0], found[1, 1]]).all()
