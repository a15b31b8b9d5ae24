"""Weights that move, worked out by hand."""

import numpy as np
import pytest
from judging import judged

from suitability.config.criteria import TOP
from suitability.decide.robustness_land import thresholds, times_among_best
from suitability.decide.robustness_swings import moved, swing
from suitability.decide.robustness_tree import weighing_of
from suitability.decide.robustness_weights import Spread, draw_weights, weighted_means

SAME = {"rising": [0, 1]}
BOTH = (slice(0, 2),)


def leaf(layer, weight):
    return {"layer": layer, "weight": weight, "value": SAME}


def group(name, weight, *criteria, combine="weighted mean"):
    return {"group": name, "weight": weight, "combine": combine, "criteria": list(criteria)}


def test_the_best_of_two_changes_where_their_scores_cross():
    # 0.9 w + 0.1 (1 - w) against 0.5: equal at w = 0.5; the first is better above.
    values, weights = np.array([[0.9, 0.1], [0.5, 0.5]]), np.array([0.75, 0.25])
    found = swing(weighted_means, values, weights, BOTH[0], 0, listed=1)
    assert found.best_stays == (pytest.approx(0.5, abs=1e-6), 1.0)
    assert found.list_stays == found.best_stays
    assert (found.kept[found.shares < 0.499] == 0).all()
    assert (found.kept[found.shares > 0.501] == 1).all()
    assert found.kept_at(0.2) == 0
    other = swing(weighted_means, values, weights, BOTH[0], 1, listed=1)
    assert other.best_stays == (0.0, pytest.approx(0.5, abs=1e-6))


def test_of_a_list_a_part_is_kept():
    values = np.array([[1, 0], [0.9, 0.1], [0.1, 0.9], [0, 1]])
    found = swing(weighted_means, values, np.array([0.9, 0.1]), BOTH[0], 0, listed=3)
    # With all weight on the second criterion the last three are the list: two of three kept.
    assert found.kept_at(0) == pytest.approx(2 / 3)
    assert found.list_stays == (pytest.approx(0.5, abs=1e-6), 1.0)


def test_moving_a_weight_keeps_the_proportions_of_those_beside_it():
    weights = np.array([0.5, 0.3, 0.2, 0.6, 0.4])
    found = moved(weights, slice(0, 3), 0, np.array([0.5, 0.0, 1.0, 0.75]))
    np.testing.assert_allclose(
        found,
        [
            [0.5, 0.3, 0.2, 0.6, 0.4],
            [0, 0.6, 0.4, 0.6, 0.4],
            [1, 0, 0, 0.6, 0.4],
            [0.75, 0.15, 0.1, 0.6, 0.4],
        ],
    )


def test_the_best_tenth_and_what_equals_its_last():
    # Twenty cells: the best two are in. Three score 0.9 alike: the second of them is the limit.
    first = np.array([0.9, 0.9, 0.9, *np.linspace(0, 0.8, 17)])
    values = np.column_stack([first, first[::-1]])
    weights = np.array([[1.0, 0.0], [0.0, 1.0]])
    lowest = thresholds(weighted_means, values, weights)
    np.testing.assert_allclose(lowest, 0.9, atol=1e-6)
    times = times_among_best(weighted_means, values, weights, lowest)
    np.testing.assert_array_equal(np.flatnonzero(times), [0, 1, 2, 17, 18, 19])
    assert times.max() == 1


def test_without_equals_just_the_best_tenth_is_in():
    values = np.random.default_rng(3).permutation(np.linspace(0, 1, 30))[:, None] * [1.0, 1.0]
    weights = np.array([[0.5, 0.5]] * 300)
    lowest = thresholds(weighted_means, values, weights)
    times = times_among_best(weighted_means, values, weights, lowest)
    np.testing.assert_array_equal(np.flatnonzero(times), np.sort(np.argsort(values[:, 0])[-3:]))
    assert set(times.tolist()) == {0, 300}  # more draws than a byte holds


def test_the_same_seed_gives_the_same_draws_and_another_does_not():
    weights = np.array([0.5, 0.5])
    one, same, other = (
        draw_weights(weights, BOTH, Spread(9), draws=9, seed=seed) for seed in (4, 4, 5)
    )
    np.testing.assert_array_equal(one, same)
    assert (one != other).any()


def test_a_tree_has_a_row_of_weights_for_each_group():
    judgement = judged(
        leaf("direct_sun_h", 3),
        group("food", 1, leaf("water_distance_m", 1), leaf("clearance_m", 4)),
        leaf("slope_deg", 0),
    )
    found = weighing_of(judgement)
    assert found.layers == ("direct_sun_h", "water_distance_m", "clearance_m")
    assert found.names == (
        "direct_sun_h", "food", "food: water_distance_m", "food: clearance_m",
    )  # fmt: skip
    np.testing.assert_allclose(found.weights, [0.75, 0.25, 0.2, 0.8])
    assert found.groups == (slice(0, 2), slice(2, 4))


@pytest.mark.parametrize(
    ("combine", "expected"),
    [
        ("weighted mean", 0.6 * 0.5 + 0.4 * (0.3 * 0.2 + 0.7 * 0.8)),
        ("weighted geometric mean", 0.6 * 0.5 + 0.4 * (0.2**0.3 * 0.8**0.7)),
        ("limiting criterion", 0.6 * 0.5 + 0.4 * 0.2),
    ],
)
def test_scores_go_through_the_tree(combine, expected):
    judgement = judged(
        leaf("direct_sun_h", 0.6),
        group("food", 0.4, leaf("water_distance_m", 0.5), leaf("clearance_m", 0.5),
              combine=combine),
    )  # fmt: skip
    found = weighing_of(judgement)
    # Other weights than the judgement's own inside the group, and its own as a second draw.
    weights = np.array([[0.6, 0.4, 0.3, 0.7][: found.weights.size], found.weights])
    scores = found.score(np.array([[0.5, 0.2, 0.8], [0.5, 0.2, 0.8], [1, 1, 1]]), weights)
    assert scores.shape == (2, 3)
    np.testing.assert_allclose(scores[0], [expected, expected, 1], atol=2e-6)
    assert scores[0, 0] == scores[0, 1]
    own = judgement.combine({"direct_sun_h": 0.5, "water_distance_m": 0.2, "clearance_m": 0.8})
    assert scores[1, 0] == pytest.approx(float(own), abs=2e-6)


def test_the_lowest_value_has_no_weights_that_could_move():
    limiting = group(TOP, None, leaf("direct_sun_h", 1), leaf("slope_deg", 1),
                     combine="limiting criterion")  # fmt: skip
    found = weighing_of(judged(*limiting["criteria"], combine="limiting criterion"))
    assert found.weights.size == 0
    assert found.branches == ()


def test_groups_of_one_pass_their_weight_down():
    judgement = judged(
        leaf("direct_sun_h", 1), group("food", 3, group("water", 1, leaf("water_distance_m", 1)))
    )
    found = weighing_of(judgement)
    assert found.names == ("direct_sun_h", "food")
    scores = found.score(np.array([[1.0, 0.5]]), np.array([[0.25, 0.75], [1, 0]]))
    np.testing.assert_allclose(scores, [[0.625], [1]], atol=1e-6)
