"""The reasons for a score."""

import math
from typing import Any

import numpy as np
import pytest
from judging import judged

from suitability.config.criteria import Criterion
from suitability.decide import explain_place, limiting


def criterion(layer: str, weight: float, **shape: Any) -> Criterion:
    return Criterion.model_validate(
        {"layer": layer, "weight": weight, "value": shape, "basis": f"why {layer}"}
    )


CRITERIA = (
    criterion("direct_sun_h", 4, rising=["3 h", "7 h"]),
    criterion("water_distance_m", 3, falling=[400, 1600]),
    criterion("canopy_edge_m", 2, hump=[6, 10, 30, 100]),
    criterion("slope_deg", 1, falling=[10, 25]),
)
RAW = {"direct_sun_h": 6.0, "water_distance_m": 1000.0, "canopy_edge_m": 20.0, "slope_deg": 2.0}


def parts(**changed: float):
    return explain_place(judged(*CRITERIA), RAW | changed)


def test_parts_by_hand():
    sun, water, edge, slope = parts()
    assert (sun.layer, sun.unit, sun.raw, sun.value) == ("direct_sun_h", "h", 6.0, 0.75)
    assert (sun.share, sun.contribution, sun.better_at) == pytest.approx((0.4, 0.3, 7.0))
    assert (water.value, water.share, water.contribution) == pytest.approx((0.5, 0.3, 0.15))
    assert (edge.value, edge.contribution, edge.better_at) == (1.0, pytest.approx(0.2), None)
    assert (slope.value, slope.better_at, slope.basis) == (1.0, None, "why slope_deg")
    assert slope.evidence == "own"
    assert sun.lift == pytest.approx(0.1)
    assert edge.lift == 0


def test_contributions_add_up_to_the_score():
    layers = {name: np.array([[value]], dtype=np.float32) for name, value in RAW.items()}
    score = float(judged(*CRITERIA).score(layers)[0, 0])
    assert sum(part.contribution for part in parts()) == pytest.approx(score, abs=1e-7)
    assert score == pytest.approx(0.75)


@pytest.mark.parametrize(("measure", "at"), [(2, 10), (8, 10), (31, 30), (500, 30), (-4, 10)])
def test_what_would_be_better_is_the_nearest_best(measure, at):
    assert parts(canopy_edge_m=measure)[2].better_at == at


@pytest.mark.parametrize("top", [0.6, 0.7])  # in single precision above and below themselves
def test_what_would_be_better_is_the_highest_of_a_curve_that_never_reaches_1(top):
    low = (criterion("a_m", 1, points=[[0, 0.2], [5, top], [9, 0.4]]),)
    poor, best = (explain_place(judged(*low), {"a_m": at})[0] for at in (0.0, 5.0))
    assert (poor.better_at, poor.lift) == (5, pytest.approx(top - 0.2))  # not 0.8
    assert (best.better_at, best.lift) == (None, 0)


def test_the_lowest_value_limits():
    found = limiting(parts())
    assert found is not None
    assert found.layer == "water_distance_m"
    assert limiting(parts(slope_deg=24)).layer == "slope_deg"  # however little it weighs


def test_of_equals_the_heaviest_limits_then_the_first():
    assert limiting(parts(direct_sun_h=5, water_distance_m=1000)).layer == "direct_sun_h"
    same = (criterion("a_m", 1, rising=[0, 10]), criterion("b_m", 1, rising=[0, 10]))
    assert limiting(explain_place(judged(*same), {"a_m": 5, "b_m": 5})).layer == "a_m"


def test_nothing_limits_where_all_is_at_its_best():
    assert limiting(parts(direct_sun_h=9, water_distance_m=0)) is None


def test_a_missing_measure_limits_before_a_value_of_0():
    found = parts(water_distance_m=math.nan, slope_deg=90)
    assert limiting(found).layer == "water_distance_m"
    assert math.isnan(found[1].contribution)
    assert math.isnan(found[1].lift)
    assert found[1].better_at is None


def test_a_criterion_without_weight_is_shown_but_never_limits_or_spoils_the_sum():
    two = (criterion("a_m", 0, rising=[0, 1]), criterion("b_m", 2, rising=[0, 1]))
    for missing in (0.0, math.nan):
        found = explain_place(judged(*two), {"a_m": missing, "b_m": 0.5})
        assert limiting(found).layer == "b_m"
        assert sum(part.contribution for part in found) == 0.5
    assert limiting(explain_place(judged(*two), {"a_m": 0, "b_m": 1})) is None


def test_a_layer_that_was_not_measured_is_a_bug():
    with pytest.raises(KeyError):
        explain_place(judged(*CRITERIA), {"direct_sun_h": 3})


# --- where contributions do not add up --------------------------------------------------------


def of(combine, *more, **raw):
    """Explain two criteria of 0.8 and 0.4 that weigh 3 and 1."""
    two = (criterion("a_m", 3, rising=[0, 1]), criterion("b_m", 1, rising=[0, 1]))
    return explain_place(judged(*two, *more, combine=combine), {"a_m": 0.8, "b_m": 0.4} | raw)


def test_loss_and_lift_of_a_geometric_mean_by_hand():
    a, b = of("weighted geometric mean")
    score = 0.8**0.75 * 0.4**0.25
    assert (a.contribution, b.contribution) == (None, None)
    assert a.loss == b.loss == pytest.approx(score, abs=1e-7)  # either alone brings it to 0
    assert a.lift == pytest.approx(0.4**0.25 - score, abs=1e-7)
    assert b.lift == pytest.approx(0.8**0.75 - score, abs=1e-7)


def test_loss_and_lift_of_the_lowest_value_by_hand():
    a, b = of("limiting criterion")
    assert (a.loss, a.lift) == pytest.approx((0.4, 0), abs=1e-7)  # better sun helps nothing here
    assert (b.loss, b.lift) == pytest.approx((0.4, 0.4), abs=1e-7)
    assert limiting((a, b)) is b


def test_loss_and_lift_of_an_ordered_mean_by_hand():
    combine = {"by": "ordered weighted mean", "order_weights": [1, 3]}
    a, b = of(combine)
    score = (3 * 0.8 + 3 * 0.4) / 6
    assert a.loss == pytest.approx(score - (0.4 * 1 + 0) / (1 + 9), abs=1e-7)  # now the lower
    assert b.loss == pytest.approx(score - 3 * 0.8 / 6, abs=1e-7)
    assert b.lift == pytest.approx((1 + 9 * 0.8) / 10 - score, abs=1e-7)  # now the higher


def test_loss_and_lift_go_through_groups():
    group = {
        "group": "near",
        "weight": 1,
        "combine": "limiting criterion",
        "criteria": [criterion("b_m", 1, rising=[0, 1]), criterion("c_m", 5, rising=[0, 1])],
    }
    judgement = judged(criterion("a_m", 1, rising=[0, 1]), group)
    a, b, c = explain_place(judgement, {"a_m": 0.5, "b_m": 0.25, "c_m": 0.75})
    assert [part.groups for part in (a, b, c)] == [(), ("near",), ("near",)]
    assert [part.contribution for part in (a, b, c)] == [None] * 3
    assert (a.loss, a.lift) == pytest.approx((0.25, 0.25))
    assert (b.loss, b.lift) == pytest.approx((0.125, 0.25))  # up to the other's value
    assert (c.loss, c.lift) == pytest.approx((0.125, 0))


def test_in_a_sum_the_loss_is_the_contribution():
    for part in parts():
        assert part.loss == pytest.approx(part.contribution, abs=1e-7)


def test_a_missing_measure_leaves_no_loss_to_tell_in_any_combination():
    for combine in ("weighted geometric mean", "limiting criterion"):
        a, b = of(combine, b_m=math.nan)
        assert math.isnan(a.loss)
        assert math.isnan(b.lift)
        assert limiting((a, b)) is b
        # What weighs nothing may be missing.
        a, _, none = of(combine, criterion("c_m", 0, rising=[0, 1]), c_m=math.nan)
        assert not math.isnan(a.loss)
        assert (none.loss, none.lift) == (0, 0)


def test_a_logistic_curve_near_its_top_limits_nothing():
    judgement = judged(criterion("a_m", 1, logistic=[5, 7]), criterion("b_m", 1, rising=[0, 1]))
    high, low = (explain_place(judgement, {"a_m": at, "b_m": 1}) for at in (14, 9))
    assert high[0].better_at is None
    assert limiting(high) is None
    assert low[0].better_at == pytest.approx(5 + 2 * math.log(999) / math.log(9))
    assert limiting(low) is low[0]


def test_the_best_of_steps_is_told():
    judgement = judged(criterion("a_m", 1, steps={"below": 0, "then": [[3, 1], [5, 0.5]]}))
    (part,) = explain_place(judgement, {"a_m": 7.0})
    assert part.better_at == pytest.approx(5, abs=1e-4)
    assert part.lift == 0.5
