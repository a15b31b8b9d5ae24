"""Value functions as a run file states them: shapes, where they are level, what is refused."""

from __future__ import annotations

import math
from typing import Any

import pytest

from suitability.config.curves import ValueFunction
from suitability.config.unfit import UnfitValueError


def curve(unit: str = "h", **shape: Any):
    return ValueFunction.model_validate(shape).curve(unit)


def refused(unit: str = "h", **shape: Any) -> UnfitValueError:
    with pytest.raises(UnfitValueError) as caught:
        curve(unit, **shape)
    return caught.value


def test_a_logistic_curve_knows_its_two_measures() -> None:
    found = curve(logistic=["5 h", "420 min"])
    assert (found.kind, found.knots) == ("logistic", ((5, 0.5), (7, 0.9)))


def test_a_logistic_curve_falls_if_its_second_measure_is_the_smaller() -> None:
    found = curve("m", logistic=[400, "100 m"])
    assert found.knots == ((400, 0.5), (100, 0.9))
    assert found.best_near(5000) == found.ends[0]


def test_a_logistic_curve_is_level_where_a_thousandth_is_left() -> None:
    # ln 999 / ln 9 = 3.1434 times the distance between its two measures.
    assert curve(logistic=[5, 7]).ends == pytest.approx((5 - 6.2868, 5 + 6.2868), abs=1e-4)
    assert curve(logistic=[7, 5]).ends == pytest.approx((7 - 6.2868, 7 + 6.2868), abs=1e-4)


def test_steps_hold_from_their_measure_on() -> None:
    found = curve(steps={"below": 0.2, "then": [["3 h", 1], ["300 min", 0.5]]})
    assert (found.kind, found.below, found.knots) == ("steps", 0.2, ((3, 1), (5, 0.5)))
    assert found.highest == 1
    assert curve(steps={"then": [[3, 1]]}).below == 0


def test_the_ends_of_steps_lie_just_beyond_them() -> None:
    # A distance that is cut off there must count as further, on either side of 0.
    low, high = curve("m", steps={"then": [[-800, 1], [900, 0]]}).ends
    assert -800.01 < low < -800
    assert 900 < high < 900.01


@pytest.mark.parametrize(
    ("measure", "best"), [(0, 3), (2.9, 3), (6, 5 - 5e-6), (99, 5 - 5e-6)]
)  # best from 3 h up to, but not at, 5 h
def test_the_best_of_steps(measure: float, best: float) -> None:
    found = curve(steps={"below": 0.2, "then": [[3, 1], [5, 0.5]]})
    assert found.best_near(measure) == pytest.approx(best, abs=1e-9)


def test_below_the_first_step_may_be_best() -> None:
    found = curve("deg", steps={"below": 1, "then": [[10, 0.5], [20, 0]]})
    assert found.highest == 1
    assert found.best_near(15) == pytest.approx(10, abs=1e-4)
    assert found.best_near(15) < 10


@pytest.mark.parametrize(
    ("shape", "ends"),
    [
        ({"rising": [3, 7]}, (3, 7)),
        ({"hump": [1, 2, 3, 4]}, (1, 4)),
        ({"points": [[-2, 0], [2, 1], [9, 0.5]]}, (-2, 9)),
    ],
)
def test_straight_curves_are_level_beyond_their_points(shape: Any, ends: Any) -> None:
    assert curve(**shape).ends == ends


RISING = [
    {"rising": [3, 7]},
    {"points": [[3, 0], [5, 0.5], [6, 0.5], [7, 1]]},
    {"logistic": [5, 7]},
    {"steps": {"below": 0, "then": [[3, 0.5], [7, 1]]}},
]
FALLING = [
    {"falling": [3, 7]},
    {"points": [[3, 1], [5, 0.5], [6, 0.5], [7, 0]]},
    {"logistic": [7, 5]},
    {"steps": {"below": 1, "then": [[3, 0.5], [7, 0]]}},
]


@pytest.mark.parametrize("at", range(4))
def test_a_curve_that_does_what_it_must_is_taken(at: int) -> None:
    curve(**RISING[at], must="rise")
    curve(**FALLING[at], must="fall")


@pytest.mark.parametrize("at", range(4))
def test_a_curve_that_does_the_contrary_is_refused(at: int) -> None:
    assert refused(**RISING[at], must="fall").within == ("must",)
    assert refused(**FALLING[at], must="rise").within == ("must",)


def test_where_a_curve_turns_is_told() -> None:
    points = [[3, 0], [7, 1], [10, 1], [14, 0.85]]
    told = refused(points=points, must="rise").what
    assert told == "the curve must rise, yet goes from 1 at 10 h to 0.85 at 14 h"
    told = refused(steps={"below": 0.5, "then": [[3, 0.1]]}, must="rise").what
    assert told == "the curve must rise, yet goes from 0.5 below the first step to 0.1 at 3 h"


def test_a_level_curve_neither_rises_nor_falls() -> None:
    for must in ("rise", "fall"):
        refused(points=[[3, 0.5], [7, 0.5]], must=must)


@pytest.mark.parametrize(
    ("shape", "told", "within"),
    [
        ({"logistic": [5, "300 min"]}, "both 0.5 and 0.9 at 5 h", ("logistic",)),
        ({"logistic": ["5 m", 7]}, "'5 m' is not a time", ("logistic", 0)),
        (
            {"steps": {"then": [[3, 0.5], [3, 1]]}},
            "3 h follows 3 h; measures must rise",
            ("steps", "then", 1, 0),
        ),
        ({"steps": {"then": [["3 m", 0.5]]}}, "'3 m' is not a time", ("steps", "then", 0, 0)),
    ],
)
def test_what_is_wrong_is_told_with_its_place(shape: Any, told: str, within: Any) -> None:
    error = refused(**shape)
    assert told in error.what
    assert error.within == within


@pytest.mark.parametrize(
    "shape",
    [
        {"steps": {}},
        {"steps": {"then": []}},
        {"steps": {"then": [[3, 1.5]]}},
        {"steps": {"below": -1, "then": [[3, 1]]}},
        {"steps": {"then": [[3, 1]], "above": 1}},
        {"logistic": [5]},
        {"logistic": [5, 7], "rising": [3, 7]},
        {"logistic": [math.inf, 7]},
        {"rising": [3, 7], "must": "climb"},
        {"table": 5},
        {"table": ""},
        {"table": "https://example.org/curve.csv"},
        {"must": "rise"},
    ],
)
def test_shapes_that_cannot_be(shape: Any) -> None:
    with pytest.raises(ValueError):  # noqa: PT011 - pydantic's, or one's own
        curve(**shape)
