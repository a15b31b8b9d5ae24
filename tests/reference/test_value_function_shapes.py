"""Value functions against reference libraries: numpy.interp, numpy.select, scipy.special.expit.

The logistic function 1 / (1 + exp(-t)) is 0.9 at t = ln 9 (from its definition).
"""

import math

import numpy as np
import pytest
from scipy.special import expit

from suitability.config.curves import ValueFunction
from suitability.decide import value_of

MEASURES = np.random.default_rng(8).uniform(-50, 500, 5000).astype(np.float32)


def value(raw=MEASURES, **shape):
    return value_of(raw, ValueFunction.model_validate(shape).curve("m"))


def close(found, expected):
    assert found.dtype == np.float32
    np.testing.assert_allclose(found, expected, rtol=0, atol=1e-7)


def test_straight_shapes_are_those_of_numpy():
    close(
        value(points=[[0, 0.2], [90, 1], [300, 0]]), np.interp(MEASURES, [0, 90, 300], [0.2, 1, 0])
    )
    close(value(rising=[30, 70]), np.interp(MEASURES, [30, 70], [0, 1]))
    close(value(falling=[30, 70]), np.interp(MEASURES, [30, 70], [1, 0]))
    close(value(hump=[6, 10, 30, 100]), np.interp(MEASURES, [6, 10, 30, 100], [0, 1, 1, 0]))


def test_a_table_is_joined_as_numpy_does(tmp_path):
    rows = [(at, round((at * 37 % 101) / 101, 4)) for at in range(-40, 400, 13)]
    path = tmp_path / "curve.csv"
    path.write_text("edge_m,value\n" + "".join(f"{at},{v}\n" for at, v in rows))
    close(value(table=str(path)), np.interp(MEASURES, *zip(*rows, strict=True)))


@pytest.mark.parametrize(("middle", "high"), [(100, 150), (150, 100), (0, 499), (-10, -10.5)])
def test_the_logistic_shape_is_that_of_scipy(middle, high):
    slope = math.log(9) / (high - middle)
    expected = expit(slope * (MEASURES.astype(np.float64) - middle))
    close(value(logistic=[middle, high]), expected)
    close(value(np.float32([middle, high]), logistic=[middle, high]), [0.5, 0.9])


def test_a_logistic_curve_is_level_to_a_thousandth_beyond_its_ends():
    curve = ValueFunction(logistic=(100, 150)).curve("m")
    low, high = curve.ends
    assert value_of([low, high], curve) == pytest.approx([0.001, 0.999], abs=1e-6)
    assert value_of([-1e6, 1e6], curve) == pytest.approx([0, 1])


def test_steps_are_choices():
    found = value(steps={"below": 0.1, "then": [[0, 0.5], [100, 1], [300, 0.2]]})
    whole = MEASURES
    expected = np.select([whole < 0, whole < 100, whole < 300], [0.1, 0.5, 1], 0.2)
    close(found, expected)
    at_them = value(np.float32([0, 100, 300]), steps={"then": [[0, 0.5], [100, 1], [300, 0.2]]})
    close(at_them, [0.5, 1, 0.2])


def test_a_step_counts_at_the_very_measure_in_single_precision():
    # 0.25 mile is 402.336 m, which single precision rounds down.
    curve = ValueFunction(steps={"then": [["0.25 mile", 1]]}).curve("m")
    assert value_of(np.float32([402.336]), curve) == [1]
    assert value_of(float(np.float32(402.336)), curve) == 1


def test_distances_cut_off_at_a_curve_s_ends_count_as_beyond():
    curve = ValueFunction(steps={"below": 0.3, "then": [[-800, 1], [900, 0.2]]}).curve("m")
    low, high = (np.float32(end) for end in curve.ends)
    np.testing.assert_array_equal(value_of([low, high], curve), np.float32([0.3, 0.2]))


@pytest.mark.parametrize(
    "shape",
    [
        {"rising": [0, 1]},
        {"steps": {"then": [[0, 1]]}},
        {"steps": {"below": 1, "then": [[0, 0]]}},
        {"logistic": [0, 1]},
        {"logistic": [1, 0]},
    ],
)
def test_what_is_missing_stays_missing_and_the_shape_stays(shape):
    raw = np.float32([[np.nan, 5.0], [-7.0, np.nan], [np.inf, -np.inf]])
    found = value(raw, **shape)
    assert found.shape == raw.shape
    np.testing.assert_array_equal(np.isnan(found), np.isnan(raw))
    assert value(np.nan, **shape).shape == ()
