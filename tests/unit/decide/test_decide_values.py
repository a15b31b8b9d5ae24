"""From a measure to a value to a score: every number here was worked out by hand."""

from typing import Any

import numpy as np
import pytest
from judging import judged

from suitability.config.criteria import Criterion
from suitability.decide import value_of

SUN = {"points": [["3 h", 0], ["5 h", 0.5], ["7 h", 1], ["10 h", 1], ["14 h", 0.85]]}


def criterion(layer: str, weight: float = 1.0, **shape: Any) -> Criterion:
    return Criterion.model_validate(
        {"layer": layer, "weight": weight, "value": shape or {"rising": [0, 1]}}
    )


def raster(*values: float) -> np.ndarray:
    return np.array([values], dtype=np.float32)


@pytest.mark.parametrize(
    ("measure", "value"),
    [(-1, 0), (0, 0), (3, 0), (4, 0.25), (5, 0.5), (6.5, 0.875), (7, 1), (8.2, 1), (10, 1),
     (12, 0.925), (14, 0.85), (15.5, 0.85), (np.inf, 0.85)],
)  # fmt: skip
def test_points_are_joined_by_straight_lines_and_level_beyond_the_ends(measure, value):
    found = value_of(measure, criterion("direct_sun_h", **SUN).curve)
    assert found == pytest.approx(value, abs=1e-7)


@pytest.mark.parametrize(
    ("shape", "measures", "values"),
    [
        ({"rising": ["3 h", "7 h"]}, [2, 3, 4, 5, 7, 9], [0, 0, 0.25, 0.5, 1, 1]),
        ({"rising": ["180 min", "7 h"]}, [4], [0.25]),
        ({"falling": [3, 7]}, [2, 3, 4, 5, 7, 9], [1, 1, 0.75, 0.5, 0, 0]),
        (
            {"hump": [6, 10, 30, 100]},
            [-3, 6, 7, 10, 20, 30, 65, 86, 100, 300],
            [0, 0, 0.25, 1, 1, 1, 0.5, 0.2, 0, 0],
        ),
    ],
)
def test_named_shapes(shape, measures, values):
    found = value_of(raster(*measures), criterion("direct_sun_h", **shape).curve)
    np.testing.assert_allclose(found, raster(*values), atol=1e-7)


def test_a_quarter_mile_and_a_mile_in_metres():
    # The international mile is 1,609.344 m exactly (NIST SP 811, appendix B.8).
    curve = criterion("water_distance_m", falling=["0.25 mile", "1 mile"]).curve
    assert curve.knots == (pytest.approx((402.336, 1.0)), pytest.approx((1609.344, 0.0)))
    assert value_of(1005.84, curve) == pytest.approx(0.5, abs=1e-7)


def test_values_have_the_shape_of_the_measures_and_keep_what_is_missing():
    found = value_of(np.array([[np.nan, 5.0], [7.0, 3.0]]), criterion("a_h", rising=[3, 7]).curve)
    assert found.dtype == np.float32
    np.testing.assert_array_equal(found, np.array([[np.nan, 0.5], [1, 0]], dtype=np.float32))


def test_shares_are_weights_in_proportion():
    three = [criterion("a_m", 2), criterion("b_m", 1), criterion("c_m", 5)]
    assert judged(*three).shares == (0.25, 0.125, 0.625)


def test_the_mean_of_two():
    two = [criterion("a_h", 3, rising=[0, 10]), criterion("b_m", 1, falling=[0, 100])]
    layers = {"a_h": raster(5, 10, 0), "b_m": raster(100, 0, 100)}
    np.testing.assert_array_equal(judged(*two).score(layers), raster(0.375, 1, 0))


def test_one_missing_measure_makes_the_score_missing_never_0():
    two = [criterion("a_m", 99), criterion("b_m", 1)]
    layers = {"a_m": raster(1, 1, np.nan, np.nan), "b_m": raster(1, np.nan, 1, np.nan)}
    np.testing.assert_array_equal(judged(*two).score(layers), raster(1, np.nan, np.nan, np.nan))


def test_a_criterion_without_weight_neither_counts_nor_vetoes():
    with_it = [criterion("a_m", 2), criterion("b_m", 0), criterion("c_m", 2)]
    layers = {"a_m": raster(1, 0.5), "b_m": raster(np.nan, 0), "c_m": raster(0, 0.5)}
    np.testing.assert_array_equal(judged(*with_it).score(layers), raster(0.5, 0.5))
    first = [criterion("b_m", 0), criterion("a_m", 1)]
    np.testing.assert_array_equal(judged(*first).score(layers), raster(1, 0.5))


def test_layers_are_left_as_they_are():
    layers = {"a_m": raster(0.25, 4), "b_m": raster(3, 0.5)}
    judged(criterion("a_m"), criterion("b_m")).score(layers)
    np.testing.assert_array_equal(layers["a_m"], raster(0.25, 4))
    np.testing.assert_array_equal(layers["b_m"], raster(3, 0.5))


@pytest.mark.parametrize(
    "weights",
    [
        (0.35, 0.25, 0.15, 0.1),
        # In single precision these give 0.99999994 and 1.0000001.
        (0.82, 0.46, 0.05),
        (0.96, 0.25, 0.51, 0.1),
    ],
)
def test_the_best_everywhere_is_1_to_the_bit(weights):
    # Else a least score of 1 would turn away land that has it, and a map would hold scores above 1.
    full = [criterion(f"layer{at}_m", weight) for at, weight in enumerate(weights)]
    layers = {one.layer: raster(1, 2, 0) for one in full}
    np.testing.assert_array_equal(judged(*full).score(layers), raster(1, 1, 0))
