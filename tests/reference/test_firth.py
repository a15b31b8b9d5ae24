"""Firth's regression against exact cases and, where its penalty fades, a reference library."""

import math

import numpy as np
import pytest
import statsmodels.api as sm

from suitability.follow_up.firth import Prior, fit_logistic, slope_interval


def two_by_two(used, empty, used_other, empty_other):
    x = [1.0] * (used + empty) + [0.0] * (used_other + empty_other)
    y = [True] * used + [False] * empty + [True] * used_other + [False] * empty_other
    return np.array(x)[:, None], np.array(y)


def test_no_use_among_eight():
    """Firth (1993): half a use and half a failure more, 0.5 / 9."""
    fit = fit_logistic(np.empty((8, 0)), [False] * 8)
    assert fit.intercept == pytest.approx(math.log((0.5 / 9) / (1 - 0.5 / 9)), abs=1e-7)


# For a saturated two by two table the penalty is half a box more in each cell (Heinze and Schemper
# 2002), also where plain likelihood has no maximum.
@pytest.mark.parametrize("cells", [(5, 0, 2, 7), (3, 7, 0, 10), (4, 4, 4, 4), (0, 6, 6, 0)])
def test_separated_table(cells):
    a, b, c, d = (cell + 0.5 for cell in cells)
    fit = fit_logistic(*two_by_two(*cells))
    assert fit.slopes[0] == pytest.approx(math.log(a * d / (b * c)), abs=1e-6)


def test_interval_of_a_separated_slope_is_open_to_no_side_and_holds_its_likelihood():
    """Heinze and Schemper (2002): the profile falls by half the quantile of chi-squared."""
    x, y = two_by_two(5, 0, 2, 7)
    low, high = slope_interval(x, y, 0)
    assert 0 < low < 3.4965 < high < 20
    # Counted by hand on a grid of intercepts: the best likelihood with the slope held.
    grid = np.linspace(-8, 8, 160_001)

    def profile(slope):
        first, second = 1 / (1 + np.exp(-(grid + slope))), 1 / (1 + np.exp(-grid))
        told = 5 * np.log(first) + 2 * np.log(second) + 7 * np.log(1 - second)
        w1, w2 = 5 * first * (1 - first), 9 * second * (1 - second)
        return (told + 0.5 * np.log(w1 * w2)).max()

    top = max(profile(slope) for slope in np.linspace(3.3, 3.7, 81))
    for end in (low, high):
        assert top - profile(end) == pytest.approx(3.841458820694124 / 2, abs=1e-3)


def test_many_boxes_are_plain_likelihood():
    """statsmodels, `Logit`; the penalty weighs as half a box or so against thousands."""
    rng = np.random.default_rng(3)
    x = rng.random((20_000, 3))
    y = rng.random(20_000) < 1 / (1 + np.exp(-(x @ [3, 1, -1] - 1)))
    wanted = sm.Logit(y.astype(float), sm.add_constant(x)).fit(disp=0).params
    fit = fit_logistic(x, y)
    np.testing.assert_allclose([fit.intercept, *fit.slopes], wanted, atol=2e-3)


def test_predictors_that_follow_from_others_need_a_prior():
    x, y = two_by_two(3, 3, 2, 4)
    twice = np.column_stack([x, x])
    with pytest.raises(ValueError, match="follows from the others"):
        fit_logistic(twice, y)
    fit = fit_logistic(twice, y, Prior(np.array([1.0, 1.0]), np.array([4.0, 4.0])))
    assert fit.slopes[0] == pytest.approx(fit.slopes[1])


def test_a_prior_without_end_is_believed():
    x, y = two_by_two(3, 3, 2, 4)
    fit = fit_logistic(x, y, Prior(np.array([2.5]), np.array([1e9])))
    assert fit.slopes[0] == pytest.approx(2.5, abs=1e-6)


def test_a_predictor_that_is_the_same_for_all_keeps_its_prior_and_leaves_the_others_alone():
    # It only shifts the intercept, so the likelihood without it has the same maximum.
    x, y = np.array([[0.1], [0.3], [0.4], [0.6], [0.7], [0.9]]), np.array([0, 0, 1, 0, 1, 1], bool)
    alone = fit_logistic(x, y, Prior(np.array([2.0]), np.array([0.5])))
    with_same = np.column_stack([x, np.ones(6)])
    fit = fit_logistic(with_same, y, Prior(np.array([2.0, 3.0]), np.array([0.5, 0.2])))
    np.testing.assert_allclose(fit.slopes, [alone.slopes[0], 3.0], atol=1e-6)
    assert fit.intercept == pytest.approx(alone.intercept - 3.0, abs=1e-6)
    # Its row and column add nothing to the determinant but what the prior knows of it.
    assert fit.likelihood == pytest.approx(alone.likelihood + math.log(0.2) / 2, abs=1e-9)
