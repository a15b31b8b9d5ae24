"""How long boxes wait for their first bats.

A box is looked at now and then, so its first use lies between the last visit without a sign and
the first with one: interval-censored. Where every day is known, Kaplan and Meier's estimate is
enough; else Turnbull's, which is the same where there are no intervals.
"""

from __future__ import annotations

import math
import warnings
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import CensoredData, ecdf

Float64 = NDArray[np.float64]

_MOST_STEPS = 100_000
_STILL = 1e-10  # a step that moves no probability by more is the last


@dataclass(frozen=True)
class Waiting:
    """The share of boxes still without bats, as time goes by.

    Parameters
    ----------
    time : numpy.ndarray
        (n,) when the share has come down to `share`, rising.
    share : numpy.ndarray
        (n,) still without.
    low, high : numpy.ndarray
        (n,) ends of the interval; NaN where none is known.
    """

    time: Float64
    share: Float64
    low: Float64
    high: Float64

    def at(self, time: float) -> float:
        """Return the share still without at a time."""
        before = np.searchsorted(self.time, time, side="right")
        return 1.0 if before == 0 else float(self.share[before - 1])

    @property
    def median(self) -> float:
        """When half of the boxes have been used; infinite if fewer ever were."""
        reached = np.flatnonzero(self.share <= 0.5)
        return float(self.time[reached[0]]) if reached.size else math.inf


def waiting_exact(time: ArrayLike, used: ArrayLike) -> Waiting:
    """Return the share still without bats where each day of first use is known.

    Parameters
    ----------
    time : array_like
        (n,) from putting up until the first use, or until the last look at a box without one.
    used : array_like
        (n,) bool: which of the two.

    References
    ----------
    Kaplan and Meier (1958), Journal of the American Statistical Association 53:457-481; interval
    by Greenwood's variance on the log-log scale.
    """
    time, used = np.asarray(time, np.float64), np.asarray(used, np.bool_)
    if not used.any():
        empty = np.empty(0)
        return Waiting(empty, empty, empty, empty)
    found = ecdf(CensoredData(uncensored=time[used], right=time[~used])).sf
    with warnings.catch_warnings():  # once all have been used there is none, and NaN says so
        warnings.filterwarnings("ignore", "The confidence interval is undefined", RuntimeWarning)
        interval = found.confidence_interval(method="log-log")
    steps = np.flatnonzero(np.isin(found.quantiles, time[used]))
    ends = (np.asarray(end.probabilities)[steps] for end in (interval.low, interval.high))
    return Waiting(found.quantiles[steps], found.probabilities[steps], *ends)


def waiting_between(after: ArrayLike, until: ArrayLike) -> Waiting:
    """Return the share still without bats where first uses lie between two visits.

    Parameters
    ----------
    after, until : array_like
        (n,) the last visit without a sign and the first with one: use came in (after, until].
        Where none came, `until` is infinite; equal times are an exact day.

    Returns
    -------
    Waiting
        Steps at the later ends of Turnbull's intervals, within which nothing is known; without
        intervals of confidence.

    Raises
    ------
    ValueError
        If an interval ends before it begins.

    References
    ----------
    Turnbull (1976), Journal of the Royal Statistical Society B 38:290-295.
    """
    after, until = np.asarray(after, np.float64), np.asarray(until, np.float64)
    if np.any(until < after):
        msg = "an interval ends before it begins"
        raise ValueError(msg)
    starts, ends = _innermost(after, until)
    if not starts.size:
        empty = np.empty(0)
        return Waiting(empty, empty, empty, empty)
    # An exact day t is the interval [t, t]; all others are open at their start.
    late = (starts > after[:, None]) | ((starts == after[:, None]) & (starts < ends))
    exact = (after == until)[:, None]
    inside = np.where(exact, starts == after[:, None], late) & (ends <= until[:, None])
    share = _self_consistent(inside)
    known = np.isfinite(ends)
    left = 1.0 - np.cumsum(share)[known]
    unknown = np.full(left.size, math.nan)
    return Waiting(ends[known], np.clip(left, 0.0, 1.0), unknown, unknown)


def _innermost(after: Float64, until: Float64) -> tuple[Float64, Float64]:
    """Return the intervals that alone can hold probability: a start, then at once an end."""
    # Of equal times an exact day's start comes first, then ends, then starts of open intervals.
    exact = after == until
    marks = [
        *((t, 0 if is_exact else 2, True) for t, is_exact in zip(after, exact, strict=True)),
        *((t, 1, False) for t in until),
    ]
    marks.sort()
    found = [(left[0], right[0]) for left, right in pairwise(marks) if left[2] and not right[2]]
    pairs = np.array(sorted(set(found)), np.float64).reshape(-1, 2)
    return pairs[:, 0], pairs[:, 1]


def _self_consistent(inside: NDArray[np.bool_]) -> Float64:
    """Return the probability of each interval by the EM algorithm."""
    boxes, count = inside.shape
    share = np.full(count, 1 / count)
    for _ in range(_MOST_STEPS):
        expected = inside * share
        updated = (expected / expected.sum(axis=1, keepdims=True)).sum(axis=0) / boxes
        if np.abs(updated - share).max() < _STILL:
            return np.asarray(updated)
        share = updated
    return share
