"""What holds of any way to combine, whatever the values and the weights."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from judging import judged, of_values

GEOMETRIC, LIMITING = "weighted geometric mean", "limiting criterion"
# Scores are in single precision.
NEAR = 2e-7

VALUE = st.floats(0, 1, width=32)
WEIGHT = st.integers(1, 50)
PAIRS = st.lists(st.tuples(VALUE, WEIGHT), min_size=1, max_size=6)


@st.composite
def ordered_pairs(draw):
    """Draw values with their weights, and order weights for them."""
    pairs = draw(PAIRS)
    weights = st.lists(st.integers(0, 9), min_size=len(pairs), max_size=len(pairs)).filter(any)
    return pairs, draw(weights)


def score(pairs, combine):
    values, weights = zip(*pairs, strict=True)
    return float(of_values([np.float32([v]) for v in values], weights, combine=combine)[0])


def ordered(weights):
    return {"by": "ordered weighted mean", "order_weights": weights}


@given(PAIRS)
def test_the_mean_is_no_less_than_the_geometric_mean_and_that_no_less_than_the_lowest(pairs):
    mean, product, lowest = (score(pairs, by) for by in ("weighted mean", GEOMETRIC, LIMITING))
    assert lowest <= product + NEAR
    assert product <= mean + NEAR
    assert lowest == min(value for value, _ in pairs)
    assert 0 <= lowest <= mean <= 1


@given(ordered_pairs())
def test_an_ordered_mean_lies_between_the_lowest_and_the_highest(drawn):
    pairs, weights = drawn
    values = [value for value, _ in pairs]
    assert min(values) <= score(pairs, ordered(weights)) <= max(values)


@given(ordered_pairs(), st.randoms())
def test_the_order_of_criteria_decides_nothing(drawn, random):
    pairs, weights = drawn
    other = list(pairs)
    random.shuffle(other)
    for combine in ("weighted mean", GEOMETRIC, LIMITING, ordered(weights)):
        assert abs(score(pairs, combine) - score(other, combine)) <= NEAR


@given(PAIRS, st.integers(1, 9))
def test_equal_order_weights_give_the_mean(pairs, weight):
    equal = ordered([weight] * len(pairs))
    assert abs(score(pairs, equal) - score(pairs, "weighted mean")) <= NEAR


@given(PAIRS, st.integers(0, 5), st.floats(0, 1, width=32))
def test_no_better_value_gives_a_lower_score(pairs, at, raised):
    at %= len(pairs)
    better = list(pairs)
    better[at] = (max(pairs[at][0], raised), pairs[at][1])
    for combine in ("weighted mean", GEOMETRIC, LIMITING):
        assert score(better, combine) >= score(pairs, combine) - NEAR


@st.composite
def trees(draw, depth=3):
    """Draw entries of nested groups; leaves are numbered where they are collected."""
    entries = []
    for _ in range(draw(st.integers(1, 3))):
        weight = draw(WEIGHT)
        deeper = depth > 0 and draw(st.booleans())
        entries.append((weight, draw(trees(depth=depth - 1)) if deeper else draw(VALUE)))
    return entries


def built(entries, combine, values, name="g"):
    """Return entries as a run file has them, and fill in the values by layer."""
    made = []
    for at, (weight, inner) in enumerate(entries):
        if isinstance(inner, list):
            group = f"{name}{at}"
            deeper = built(inner, combine, values, f"{group}.")
            made.append({"group": group, "weight": weight, "criteria": deeper, "combine": combine})
        else:
            layer = f"layer{len(values)}_m"
            values[layer] = np.float32([inner])
            made.append({"layer": layer, "weight": weight, "value": {"rising": [0, 1]}})
    return made


@given(trees())
def test_groups_of_means_are_the_mean_of_their_criteria(entries):
    values = {}
    judgement = judged(*built(entries, "weighted mean", values))
    shares = judgement.shares
    assert abs(sum(shares) - 1) < 1e-12
    flat = sum(
        float(value[0]) * share for value, share in zip(values.values(), shares, strict=True)
    )
    assert abs(float(judgement.score(values)[0]) - flat) <= NEAR
    assert judgement.adds_up


@given(trees())
def test_groups_of_geometric_means_are_the_geometric_mean_of_their_criteria(entries):
    values = {}
    judgement = judged(*built(entries, GEOMETRIC, values), combine=GEOMETRIC)
    flat = np.prod([float(value[0]) ** share for value, share in
                    zip(values.values(), judgement.shares, strict=True)])  # fmt: skip
    assert abs(float(judgement.score(values)[0]) - flat) <= NEAR


@given(trees())
def test_groups_of_lowest_values_have_the_lowest_of_all(entries):
    values = {}
    judgement = judged(*built(entries, LIMITING, values), combine=LIMITING)
    assert judgement.score(values)[0] == min(value[0] for value in values.values())
