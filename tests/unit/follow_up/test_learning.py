"""Learning from the use of boxes: known odds are found again, and too little data says so."""

from itertools import pairwise

import numpy as np
import pytest

from suitability.follow_up.learning import learn, ranks_by, score_classes, told_weights

PRESENT = np.array([0.4, 0.3, 0.2, 0.1])


def watched(boxes, weights, seed=1, slope=8.0):
    rng = np.random.default_rng(seed)
    values = rng.random((boxes, len(weights)))
    chance = 1 / (1 + np.exp(-slope * (values @ np.array(weights) - 0.5)))
    return values, rng.random(boxes) < chance


def test_many_boxes_move_the_weights_towards_the_true_ones():
    true = np.array([0.1, 0.1, 0.7, 0.1])
    errors = []
    for boxes in (60, 300, 1500):
        found = learn(*watched(boxes, true), PRESENT).proposal
        assert found.weights.sum() == pytest.approx(1)
        assert (found.low <= found.weights).all()
        assert (found.weights <= found.high).all()
        errors.append(np.abs(found.weights - true).max())
    assert errors[0] > errors[1] > errors[2]
    assert errors[2] < 0.08


def test_weights_that_are_right_stay():
    found = learn(*watched(600, PRESENT), PRESENT).proposal
    assert np.abs(found.weights - PRESENT).max() < 0.07
    assert ((found.low < PRESENT) & (found.high > PRESENT)).all()


def test_a_firmer_prior_holds_the_weights():
    values, used = watched(100, [0.1, 0.1, 0.7, 0.1])
    moved = [
        np.abs(learn(values, used, PRESENT, concentration=c).proposal.weights - PRESENT).max()
        for c in (5, 20, 2000)
    ]
    assert moved[0] > moved[1] > moved[2]
    assert moved[2] < 0.01


def test_odds_rise_as_they_were_made_to():
    odds, low, high = learn(*watched(3000, PRESENT), PRESENT).odds_per_tenth
    assert low < np.exp(0.8) < high
    assert odds == pytest.approx(np.exp(0.8), rel=0.1)


@pytest.mark.parametrize(
    ("used", "boxes", "has_odds"),
    [(0, 24, False), (2, 24, False), (5, 24, True), (9, 400, True), (24, 24, False)],
)
def test_too_few_boxes_propose_nothing(used, boxes, has_odds):
    values = np.random.default_rng(0).random((boxes, 4))
    found = learn(values, np.arange(boxes) < used, PRESENT)
    assert found.proposal is None
    assert found.why_not.startswith(f"too little to learn from: {used} of {boxes} watched boxes")
    assert (found.odds_per_tenth is not None) == has_odds


def test_use_that_does_not_go_with_the_score_proposes_nothing():
    values = np.random.default_rng(0).random((100, 4))
    found = learn(values, np.arange(100) % 2 == 0, PRESENT)
    assert found.proposal is None
    assert "does not surely rise" in found.why_not


def test_a_single_criterion_has_no_weights_to_move():
    values, used = watched(200, [1.0, 0.0])
    found = learn(values, used, np.array([1.0, 0.0]))
    assert found.proposal is None
    assert "single criterion" in found.why_not


def test_a_criterion_without_weight_stays_without():
    values, used = watched(200, [0.5, 0.3, 0.2])
    found = learn(values, used, np.array([0.6, 0.4, 0.0])).proposal
    assert found.weights[2] == found.low[2] == found.high[2] == 0


def test_the_same_boxes_teach_the_same():
    values, used = watched(80, PRESENT)
    first, again = (learn(values, used, PRESENT).proposal for _ in range(2))
    np.testing.assert_array_equal(first.low, again.low)
    np.testing.assert_array_equal(first.weights, again.weights)


def test_classes_hold_every_box_once_and_in_order():
    score = np.random.default_rng(0).random(23)
    found = score_classes(score, score > 0.5)
    assert [each.share.boxes for each in found] == [6, 6, 6, 5]
    assert sum(each.share.used for each in found) == (score > 0.5).sum()
    for lower, upper in pairwise(found):
        assert lower.low <= lower.mean <= lower.high <= upper.low


def test_ranks_follow_the_weights_and_equals_keep_their_order():
    values = np.array([[1, 0], [0.5, 0.5], [0.5, 0.5], [0, 1.0]])
    assert ranks_by(values, np.array([1.0, 0.0])).tolist() == [1, 2, 3, 4]
    assert ranks_by(values, np.array([0.0, 1.0])).tolist() == [4, 2, 3, 1]
    assert ranks_by(values, np.array([0.5, 0.5])).tolist() == [1, 2, 3, 4]


def test_weights_in_words():
    proposal = learn(*watched(400, PRESENT), PRESENT).proposal
    words = told_weights(["sun", "water", "edge", "slope"], PRESENT, proposal)
    assert words[0].startswith("sun: 40% now, ")
