"""From several values to one. A missing value (NaN) gives NaN in every way; shares add up to 1.

Values and shares broadcast against each other: rows of drawn shares against a column of places,
say. Results are float64, so that sums do not pass 1 once they are rounded to single precision.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

Float64 = NDArray[np.float64]

# Places whose values are put in order together.
_TOGETHER = 1 << 16


def weighted_mean(values: Iterable[ArrayLike], shares: Sequence[ArrayLike]) -> Float64:
    """Return the weighted mean: good values make up for poor ones in full.

    Parameters
    ----------
    values : iterable of array_like
        Values in 0..1, one array for each criterion.
    shares : sequence of array_like
        Their weights, adding up to 1.
    """
    total: Float64 = np.zeros((), np.float64)
    for value, share in zip(values, shares, strict=True):
        total = total + np.asarray(value) * np.asarray(share, np.float64)
    return total


def weighted_geometric_mean(values: Iterable[ArrayLike], shares: Sequence[ArrayLike]) -> Float64:
    """Return the weighted geometric mean: a value of 0 cannot be made up for.

    Parameters
    ----------
    values, shares
        As for `weighted_mean`.
    """
    product: Float64 = np.ones((), np.float64)
    for value, share in zip(values, shares, strict=True):
        product = product * np.power(np.asarray(value, np.float64), np.asarray(share, np.float64))
    return product


def limiting_value(values: Iterable[ArrayLike]) -> Float64:
    """Return the lowest value: nothing makes up for it.

    Parameters
    ----------
    values : iterable of array_like
        Values in 0..1, one array for each criterion.
    """
    lowest: Float64 = np.ones((), np.float64)
    for value in values:
        lowest = np.minimum(lowest, np.asarray(value, np.float64))
    return lowest


def ordered_weighted_mean(
    values: Iterable[ArrayLike], shares: Sequence[ArrayLike], order_weights: Sequence[float]
) -> Float64:
    """Return the ordered weighted mean, each criterion's own weight going along with its value.

    The values are put in order, the highest first; the k-th weighs its criterion's share times
    the k-th order weight. Of equal values the heavier criterion's comes first, so that the order
    in which criteria are named does not matter.

    Parameters
    ----------
    values, shares
        As for `weighted_mean`.
    order_weights : sequence of float
        For the highest value first; not all 0.

    References
    ----------
    Yager, R. R. (1988). On ordered weighted averaging aggregation operators in multicriteria
    decisionmaking. IEEE Transactions on Systems, Man, and Cybernetics 18, 183-190.
    """
    arrays = [np.asarray(value) for value in values]
    weights = [np.asarray(share) for share in shares]
    shape = np.broadcast_shapes(*(each.shape for each in (*arrays, *weights)))
    flat = [np.broadcast_to(each, shape).reshape(-1) for each in arrays]
    flat_weights = [np.broadcast_to(each, shape).reshape(-1) for each in weights]
    found = np.empty(math.prod(shape), np.float64)
    for start in range(0, found.size, _TOGETHER):
        part = slice(start, start + _TOGETHER)
        found[part] = _ordered(
            np.stack([each[part] for each in flat], axis=-1).astype(np.float64),
            np.stack([each[part] for each in flat_weights], axis=-1).astype(np.float64),
            np.asarray(order_weights, np.float64),
        )
    return found.reshape(shape)


def _ordered(values: Float64, shares: Float64, order_weights: Float64) -> Float64:
    """Return the ordered weighted mean of (places, criteria)."""
    order = np.lexsort((-shares, -values), axis=-1)
    weights = np.take_along_axis(shares, order, axis=-1) * order_weights
    ordered = np.take_along_axis(values, order, axis=-1)
    return np.asarray((weights * ordered).sum(axis=-1) / weights.sum(axis=-1), np.float64)


def orness(order_weights: Sequence[float]) -> float:
    """Return how far order weights lean to the highest value: 1 maximum, 0.5 mean, 0 minimum.

    Parameters
    ----------
    order_weights : sequence of float
        Two or more, for the highest value first.

    References
    ----------
    Yager (1988), as for `ordered_weighted_mean`.
    """
    weights = np.asarray(order_weights, np.float64) / math.fsum(order_weights)
    count = weights.size
    return float(((count - 1 - np.arange(count)) * weights).sum() / (count - 1))


def trade_off(order_weights: Sequence[float]) -> float:
    """Return how far values make up for each other: 1 in full (the mean), 0 not at all.

    Parameters
    ----------
    order_weights : sequence of float
        Two or more.

    Notes
    -----
    1 - sqrt(n sum((w - 1/n)^2) / (n - 1)), as the literature on spatial multi-criteria analysis has
    it (from memory).
    """
    weights = np.asarray(order_weights, np.float64) / math.fsum(order_weights)
    count = weights.size
    return float(1 - math.sqrt(count * ((weights - 1 / count) ** 2).sum() / (count - 1)))
