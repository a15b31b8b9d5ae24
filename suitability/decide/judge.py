"""From measures to a score: value functions, weights, the weighted mean."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from suitability.config.settings import Criterion

Float32 = NDArray[np.float32]


def value_of(raw: ArrayLike, knots: Sequence[tuple[float, float]]) -> Float32:
    """Return the values of a raw measure on a piecewise-linear curve.

    Parameters
    ----------
    raw : array_like
        Any shape, in the layer's unit; NaN gives NaN.
    knots : sequence of (float, float)
        Points of the curve, the measures rising; level before the first and after the last.

    Returns
    -------
    numpy.ndarray
        Of raw's shape, float32 in 0..1.
    """
    measures, values = np.array(knots, dtype=np.float64).T
    return np.asarray(np.interp(np.asarray(raw), measures, values), dtype=np.float32)


def shares(criteria: Sequence[Criterion]) -> tuple[float, ...]:
    """Return each criterion's weight as a share of them all."""
    total = sum(criterion.weight for criterion in criteria)
    return tuple(criterion.weight / total for criterion in criteria)


def weighted_mean(criteria: Sequence[Criterion], layers: Mapping[str, Float32]) -> Float32:
    """Return the weighted mean of the criteria's values; a missing measure gives NaN.

    Parameters
    ----------
    criteria : sequence of Criterion
        What counts; a criterion of weight 0 does not, not even where its measure is missing.
    layers : mapping
        Raw measures by layer name, all (rows, cols) float32.

    Returns
    -------
    numpy.ndarray
        (rows, cols) float32 in 0..1.
    """
    counted = [(c, share) for c, share in zip(criteria, shares(criteria), strict=True) if share]
    # Summed in float64: in float32 the shares of some weights add up to more than 1.
    score = np.zeros(layers[counted[0][0].layer].shape, dtype=np.float64)
    for criterion, share in counted:
        score += value_of(layers[criterion.layer], criterion.knots) * np.float64(share)
    return score.astype(np.float32)
