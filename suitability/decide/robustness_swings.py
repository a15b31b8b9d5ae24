"""One weight at a time: how far it may move before the ranking changes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from suitability.decide.robustness import ranking
from suitability.decide.robustness_weights import Score
from suitability.grid import Float64

STEPS = 200  # along the way from no weight to all of it
_HALVINGS = 20  # of a step, until it is known where the ranking changes
# Scores this near are equal: weights are no whole fractions, and what is equal whatever the weights
# must not change places by a last bit.
_ALIKE = 1e-8

Range = tuple[float, float]


@dataclass(frozen=True)
class Swing:
    """What happens while one weight moves from 0 to 1, those beside it keeping their proportions.

    Parameters
    ----------
    share : float
        What was given.
    shares : numpy.ndarray
        (s,) where the ranking was looked at, rising from 0 to 1.
    kept : numpy.ndarray
        (s,) share of the listed alternatives that are still among the best so many; equals count.
    best_stays : (float, float)
        Between these shares, around what was given, none is better than the best alternative.
    list_stays : (float, float)
        Between these all listed alternatives stay among the best so many, in whatever order.
    """

    share: float
    shares: Float64
    kept: Float64
    best_stays: Range
    list_stays: Range

    def kept_at(self, share: float) -> float:
        """Return what share of the list is kept where the weight has this share."""
        return float(self.kept[np.abs(self.shares - share).argmin()])


def swing(
    score: Score, values: Float64, weights: Float64, group: slice, at: int, *, listed: int
) -> Swing:
    """Move one weight and see what becomes of the ranking.

    Parameters
    ----------
    score : callable
        Gives (draws, m) scores of values and weights.
    values : numpy.ndarray
        (m, n) values of the alternatives, 0..1.
    weights : numpy.ndarray
        (k,) weights as given; those of a group add up to 1.
    group : slice
        The weights beside it, itself included; there must be others.
    at : int
        Which weight, of all.
    listed : int
        How many of the best make the list.
    """
    share = float(weights[at])
    now = ranking(score(values, weights[None, :]))[0]
    listed = min(listed, now.size)

    def ranked(shares: Float64) -> tuple[Float64, Float64]:
        """Return whether the best stays, and what share of the list does, at each share."""
        scores = score(values, moved(weights, group, at, shares))
        least = np.partition(scores, -listed, axis=1)[:, -listed]
        stays = scores[:, now[0]] >= scores.max(axis=1) - _ALIKE
        kept = scores[:, now[:listed]] >= least[:, None] - _ALIKE
        return stays.astype(np.float64), kept.mean(axis=1)

    shares = np.unique(np.append(np.linspace(0, 1, STEPS + 1), share))
    best, kept = ranked(shares)
    return Swing(
        share,
        shares,
        kept,
        _range(shares, best == 1, share, lambda t: bool(ranked(np.array([t]))[0][0] == 1)),
        _range(shares, kept == 1, share, lambda t: bool(ranked(np.array([t]))[1][0] == 1)),
    )


def moved(weights: Float64, group: slice, at: int, shares: Float64) -> Float64:
    """Return the weights with one of them moved, those beside it rescaled; (s, k).

    Parameters
    ----------
    weights : numpy.ndarray
        (k,) weights; those of a group add up to 1.
    group : slice
        The weights beside it, itself included.
    at : int
        Which weight, of all.
    shares : numpy.ndarray
        (s,) where it goes.
    """
    rows = np.repeat(weights[None, :], shares.size, axis=0)
    rows[:, group] *= ((1 - shares) / (1 - weights[at]))[:, None]
    rows[:, at] = shares
    return rows


def _range(
    shares: Float64, holds: np.ndarray, share: float, still: Callable[[float], bool]
) -> Range:
    """Return the ends of the stretch around a share in which something holds."""
    middle = int(np.searchsorted(shares, share))
    below, above = np.flatnonzero(~holds[:middle]), np.flatnonzero(~holds[middle:]) + middle
    low, high = 0.0, 1.0
    if below.size:
        low = _edge(float(shares[below[-1] + 1]), float(shares[below[-1]]), still)
    if above.size:
        high = _edge(float(shares[above[0] - 1]), float(shares[above[0]]), still)
    return low, high


def _edge(inside: float, outside: float, still: Callable[[float], bool]) -> float:
    for _ in range(_HALVINGS):
        middle = (inside + outside) / 2
        if still(middle):
            inside = middle
        else:
            outside = middle
    return inside
