"""From a raw measure to a value in 0..1."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import expit

from suitability.config.curves import Curve

Float32 = NDArray[np.float32]


def value_of(raw: ArrayLike, curve: Curve) -> Float32:
    """Return the values of a raw measure on a curve.

    Parameters
    ----------
    raw : array_like
        Any shape, in the layer's unit; NaN gives NaN.
    curve : Curve
        The value function in numbers.

    Returns
    -------
    numpy.ndarray
        Of raw's shape, float32 in 0..1.
    """
    if curve.kind == "steps":
        return _on_steps(raw, curve)
    if curve.kind == "logistic":
        (middle, _), (high, _) = curve.knots
        # The logistic function is 0.9 where its argument is ln 9.
        steepness = math.log(9) / (high - middle)
        found = expit((np.asarray(raw, np.float64) - middle) * steepness)
    else:
        measures, values = np.array(curve.knots, dtype=np.float64).T
        found = np.interp(np.asarray(raw), measures, values)
    return np.asarray(found, dtype=np.float32)


def _on_steps(raw: ArrayLike, curve: Curve) -> Float32:
    # Measures are kept in single precision; one at a step, or cut off there, must count as there.
    measured = np.asarray(raw, np.float32)
    starts = np.array([at for at, _ in curve.knots], np.float32)
    values = np.array([curve.below, *(value for _, value in curve.knots)], np.float32)
    found = values[np.searchsorted(starts, measured, side="right")]
    return np.asarray(np.where(np.isnan(measured), np.float32(np.nan), found), np.float32)
