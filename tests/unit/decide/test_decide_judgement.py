"""The tree of criteria: how values combine in it, worked by hand."""

import itertools
import pickle

import numpy as np
import pytest
from judging import judged, of_values

from suitability.config.criteria import TOP
from suitability.config.settings import RunSettings
from suitability.decide import judgement_of, value_of
from suitability.decide.combining import orness, trade_off
from suitability.decide.judgement import combination_in_words

GEOMETRIC, LIMITING = "weighted geometric mean", "limiting criterion"
FILES = {"elevation": "dem.tif", "land_cover": "cover.tif", "streams": "streams.gpkg"}


def entry(layer, weight=1.0, **shape):
    stated = {} if weight is None else {"weight": weight}
    return {"layer": layer, "value": shape or {"rising": [0, 1]}, **stated}


def group(name, *entries, weight=1.0, **more):
    stated = {} if weight is None else {"weight": weight}
    return {"group": name, "criteria": entries, **stated, **more}


def ordered(*weights):
    return {"by": "ordered weighted mean", "order_weights": weights}


NESTED = judged(
    entry("a_m", 3),
    group(
        "outer",
        entry("b_m", 1),
        group("inner", entry("c_m", 1), entry("d_m", 4), weight=3),
        weight=1,
    ),
)


def test_shares_multiply_down_the_path():
    assert NESTED.shares == pytest.approx((0.75, 0.0625, 0.25 * 0.75 * 0.2, 0.25 * 0.75 * 0.8))
    assert sum(NESTED.shares) == pytest.approx(1)
    assert [leaf.name for leaf in NESTED.leaves] == ["a_m", "b_m", "c_m", "d_m"]
    assert [leaf.groups for leaf in NESTED.leaves] == [
        (), ("outer",), ("outer", "inner"), ("outer", "inner"),
    ]  # fmt: skip
    assert [branch.name for branch in NESTED.branches] == [TOP, "outer", "inner"]
    assert [criterion.layer for criterion in NESTED.criteria] == ["a_m", "b_m", "c_m", "d_m"]


def test_groups_of_groups_by_hand():
    values = {"a_m": 0.4, "b_m": 0.8, "c_m": 0.5, "d_m": 1.0}
    # 0.75 * 0.4 + 0.25 * (0.25 * 0.8 + 0.75 * (0.2 * 0.5 + 0.8 * 1))
    assert NESTED.combine(values) == pytest.approx(0.3 + 0.25 * (0.2 + 0.675))


def test_each_group_combines_in_its_own_way():
    judgement = judged(
        group("lowest", entry("a_m"), entry("b_m", 9), weight=1, combine=LIMITING),
        group("product", entry("c_m"), entry("d_m"), weight=3, combine=GEOMETRIC),
    )
    values = {"a_m": 0.4, "b_m": 0.8, "c_m": 0.25, "d_m": 1.0}
    assert judgement.combine(values) == pytest.approx(0.25 * 0.4 + 0.75 * 0.5)


@pytest.mark.parametrize(
    ("combine", "expected"),
    [
        ("weighted mean", 0.5 * 0.9 + 0.3 * 0.6 + 0.2 * 0.1),
        (GEOMETRIC, 0.9**0.5 * 0.6**0.3 * 0.1**0.2),
        (LIMITING, 0.1),
        (ordered(1, 1, 1), 0.5 * 0.9 + 0.3 * 0.6 + 0.2 * 0.1),
        (ordered(1, 0, 0), 0.9),
        (ordered(0, 0, 7), 0.1),
        (ordered(1, 2, 3), (0.5 * 0.9 + 0.6 * 0.6 + 0.6 * 0.1) / 1.7),
    ],
)
def test_every_combination_in_any_order_of_criteria(combine, expected):
    for order in itertools.permutations([(0.9, 5), (0.6, 3), (0.1, 2)]):
        values, weights = zip(*order, strict=True)
        found = of_values([np.float32([value]) for value in values], weights, combine=combine)
        assert found[0] == pytest.approx(expected, abs=6e-8)


def test_equal_values_are_ordered_by_weight_whatever_the_order_of_criteria():
    found = {
        float(of_values([np.float32([v]) for v, _ in order], [w for _, w in order],
                        combine=ordered(3, 1, 2))[0])
        for order in itertools.permutations([(0.5, 1), (0.5, 4), (0.2, 2)])
    }  # fmt: skip
    # 4 * 3, 1 * 1 and 2 * 2 weigh 0.5, 0.5 and 0.2.
    assert found == {float(np.float32((6 + 0.5 + 0.8) / 17))}


EVERY = ["weighted mean", GEOMETRIC, LIMITING, ordered(1, 2, 3), ordered(0, 0, 1), ordered(1, 0, 0)]


@pytest.mark.parametrize("combine", EVERY)
def test_one_missing_measure_makes_the_score_missing_never_0(combine):
    values = np.float32([[1, 0, 0.5, 0, 0], [np.nan, np.nan, 0.5, 0, 0], [1, 0, 0.5, 0, np.nan]])
    found = of_values(values, (1, 2, 3), combine=combine)
    np.testing.assert_array_equal(np.isnan(found), [True, True, False, False, True])


@pytest.mark.parametrize("combine", [*EVERY[:3], ordered(1, 2), ordered(0, 1), ordered(1, 0)])
def test_what_weighs_nothing_does_not_count_not_even_when_missing(combine):
    values = np.float32([[0.5, 1.0], [0.0, np.nan], [0.9, 0.3]])
    with_it = of_values(values, (1, 0, 3), combine=combine)
    without = of_values(values[[0, 2]], (1, 3), combine=combine)
    np.testing.assert_array_equal(with_it, without)


def test_a_group_that_weighs_nothing_does_not_count():
    judgement = judged(entry("a_m"), group("none", entry("b_m"), weight=0))
    found = judgement.score({"a_m": np.float32([0.25]), "b_m": np.float32([np.nan])})
    assert found[0] == 0.25
    assert judgement.shares == (1, 0)


@pytest.mark.parametrize("combine", EVERY)
@pytest.mark.parametrize("weights", [(0.35, 0.25, 0.15), (0.82, 0.46, 0.05), (0.96, 0.25, 0.51)])
def test_the_best_everywhere_is_1_to_the_bit_and_the_worst_0(combine, weights):
    best = of_values(np.ones((3, 4, 5), np.float32), weights, combine=combine)
    assert best.dtype == np.float32
    np.testing.assert_array_equal(best, np.ones((4, 5)))
    worst = of_values(np.zeros((3, 4, 5), np.float32), weights, combine=combine)
    np.testing.assert_array_equal(worst, np.zeros((4, 5)))


def test_no_score_of_nested_groups_passes_1():
    thirds = [entry(f"a{at}_m", 1 / 3) for at in range(3)]
    deep = group("g0", *thirds, weight=0.7)
    for at in range(1, 6):
        deep = group(f"g{at}", deep, entry(f"b{at}_m", 0.3), weight=0.7)
    judgement = judged(deep, entry("c_m", 0.3))
    raw = {leaf.name: np.ones(3, np.float32) for leaf in judgement.leaves}
    np.testing.assert_array_equal(judgement.score(raw), np.ones(3, np.float32))


@pytest.mark.parametrize(
    ("entries", "combine", "adds_up"),
    [
        ([entry("a_m"), entry("b_m")], "weighted mean", True),
        ([entry("a_m"), entry("b_m")], GEOMETRIC, False),
        ([entry("a_m"), entry("b_m")], ordered(1, 1), False),
        # The only one that counts is the score, however it would combine.
        ([entry("a_m"), entry("b_m", 0)], LIMITING, True),
        ([entry("a_m"), group("g", entry("b_m"), entry("c_m"))], "weighted mean", True),
        (
            [entry("a_m"), group("g", entry("b_m"), entry("c_m"), combine=LIMITING)],
            "weighted mean",
            False,
        ),
        (
            [entry("a_m"), group("g", entry("b_m"), entry("c_m"), combine=LIMITING, weight=0)],
            "weighted mean",
            True,
        ),
    ],
)
def test_which_judgements_add_up(entries, combine, adds_up):
    judgement = judged(*entries, combine=combine)
    assert judgement.adds_up is adds_up
    values = {leaf.name: 0.3 + 0.2 * at for at, leaf in enumerate(judgement.leaves)}
    summed = sum(share * values[leaf.name] for leaf, share in
                 zip(judgement.leaves, judgement.shares, strict=True))  # fmt: skip
    if adds_up:
        assert judgement.combine(values) == pytest.approx(summed)


def test_other_shares_group_by_group_and_draw_by_draw():
    values = {"a_m": np.array([0.2, 1.0]), "b_m": np.array([0.6, 0.0]), "c_m": 0.5, "d_m": 0.1}
    first = np.array([[0.0], [0.5], [1.0]])
    found = NESTED.combine(values, {TOP: [first, 1 - first], "inner": [1.0, 0.0]})
    assert found.shape == (3, 2)
    for draw, place in np.ndindex(3, 2):
        top, b = float(first[draw, 0]), float(values["b_m"][place])
        outer = 0.25 * b + 0.75 * 0.5
        expected = top * float(values["a_m"][place]) + (1 - top) * outer
        assert found[draw, place] == pytest.approx(expected)


def test_other_shares_in_every_combination():
    weights = np.array([[0.5, 0.3, 0.2], [0.2, 0.2, 0.6]])
    values = np.float32([0.9, 0.6, 0.1])
    for combine in EVERY:
        judgement = judged(*(entry(f"layer{at}_m") for at in range(3)), combine=combine)
        found = judgement.combine(
            {f"layer{at}_m": values[at : at + 1] for at in range(3)},
            {TOP: [weights[:, at : at + 1] for at in range(3)]},
        )
        for draw in range(2):
            one = of_values(values[:, None], weights[draw].tolist(), combine=combine)
            assert found.ravel()[draw % found.size] == pytest.approx(float(one[0]), abs=1e-7)


def test_blocks_decide_nothing(monkeypatch):
    rng = np.random.default_rng(4)
    values = rng.random((3, 37, 41)).astype(np.float32)
    whole = of_values(values, (1, 2, 3), combine=ordered(1, 4, 2))
    monkeypatch.setattr("suitability.decide.combining._TOGETHER", 100)
    np.testing.assert_array_equal(of_values(values, (1, 2, 3), combine=ordered(1, 4, 2)), whole)


def test_values_by_layer_are_those_of_their_curves():
    judgement = judged(entry("a_h", 1, rising=[3, 7]), entry("b_m", 0, falling=[0, 10]))
    raw = {"a_h": np.float32([4, np.nan]), "b_m": np.float32([1, 2])}
    found = judgement.values(raw)
    np.testing.assert_array_equal(found["a_h"], np.float32([0.25, np.nan]))
    for leaf in judgement.leaves:
        np.testing.assert_array_equal(found[leaf.name], value_of(raw[leaf.name], leaf.curve))
    np.testing.assert_array_equal(judgement.score(raw), judgement.combine(found))


def test_a_run_without_criteria_is_judged_by_its_climate():
    settings = RunSettings.model_validate({"inputs": FILES, "climate": "hot", "combine": GEOMETRIC})
    judgement = judgement_of(settings)
    assert judgement.criteria[1].layer == "afternoon_sun_h"
    assert judgement.root.combination.by == GEOMETRIC


def test_a_judgement_travels_to_other_processes():
    assert pickle.loads(pickle.dumps(NESTED)) == NESTED


def test_a_judgement_in_words():
    titles = {"a_m": "sun", "b_m": "water", "c_m": "edge"}
    plain = judged(entry("a_m", 3), entry("b_m", 1))
    assert plain.in_words(titles.__getitem__) == "weighted mean of sun 75%, water 25%"
    mixed = judged(
        entry("a_m", 3),
        group("near", entry("b_m"), entry("c_m"), combine=LIMITING),
        combine=ordered(2, 1),
    )
    assert mixed.in_words() == (
        "ordered weighted mean (order weights 2, 1: orness 0.67, trade-off 0.67) of a_m 75%, "
        "near 25% (limiting criterion of b_m, c_m)"
    )


def test_order_weights_between_maximum_and_minimum():
    assert (orness((1, 0, 0)), trade_off((1, 0, 0))) == (1, 0)
    assert (orness((0, 0, 5)), trade_off((0, 0, 5))) == (0, 0)
    assert (orness((2, 2, 2)), trade_off((2, 2, 2))) == pytest.approx((0.5, 1))
    one = judged(entry("a_m"), combine=ordered(3)).root
    assert combination_in_words(one) == "ordered weighted mean"  # of one value: nothing to order
