"""The ordered weighted mean against the example that introduces it.

Sources: Yager, R. R. (1988), On ordered weighted averaging aggregation operators in multicriteria
decisionmaking, IEEE Transactions on Systems, Man, and Cybernetics 18, 183-190; its example as
Fuller, R. (1996), OWA operators in decision making, has it (numbers from memory). Orness and
dispersion as in Yager 1988; the trade-off as the literature on spatial multi-criteria analysis has
it (formula from memory).
"""

import numpy as np
import pytest
from judging import of_values

from suitability.decide.combining import ordered_weighted_mean, orness, trade_off

WEIGHTS = (0.4, 0.3, 0.2, 0.1)
EQUAL = (0.25,) * 4


@pytest.mark.parametrize(("third", "expected"), [(0.2, 0.75), (0.3, 0.76)])
def test_the_example(third, expected):
    values = (0.7, 1.0, third, 0.6)
    assert ordered_weighted_mean(values, EQUAL, WEIGHTS) == pytest.approx(expected, abs=1e-12)


def test_the_example_as_a_run_has_it():
    values = [np.float32([value]) for value in (0.7, 1.0, 0.2, 0.6)]
    combine = {"by": "ordered weighted mean", "order_weights": WEIGHTS}
    assert of_values(values, (1, 1, 1, 1), combine=combine)[0] == pytest.approx(0.75, abs=6e-8)


@pytest.mark.parametrize(
    ("weights", "lean", "make_up"),
    [
        (WEIGHTS, 0.6667, 0.7418),
        ((1, 0, 0, 0), 1, 0),
        ((0, 0, 0, 1), 0, 0),
        ((1, 1, 1, 1), 0.5, 1),
        ((4, 3, 2, 1), 0.6667, 0.7418),  # in proportion
    ],
)
def test_orness_and_trade_off(weights, lean, make_up):
    assert orness(weights) == pytest.approx(lean, abs=1e-4)
    assert trade_off(weights) == pytest.approx(make_up, abs=1e-4)


@pytest.mark.parametrize("shares", [EQUAL, (0.4, 0.3, 0.2, 0.1)])
def test_the_ends_are_maximum_and_minimum_and_the_middle_the_mean(shares):
    values = np.random.default_rng(2).random((4, 50))
    first, last = (1, 0, 0, 0), (0, 0, 0, 1)
    np.testing.assert_allclose(ordered_weighted_mean(values, shares, first), values.max(axis=0))
    np.testing.assert_allclose(ordered_weighted_mean(values, shares, last), values.min(axis=0))
    mean = np.average(values, axis=0, weights=shares)
    np.testing.assert_allclose(ordered_weighted_mean(values, shares, EQUAL), mean)
