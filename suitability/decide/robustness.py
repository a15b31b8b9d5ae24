"""How sure a ranking is when the weights are not: rank acceptability, central weights.

Stochastic multicriteria acceptability analysis: Lahdelma and Salminen, SMAA-2: Stochastic
Multicriteria Acceptability Analysis for Group Decision Making, Operations Research 49 (2001),
444–454.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from suitability.decide.robustness_weights import Score
from suitability.grid import Float64

Index = NDArray[np.int64]

_TOGETHER = 4_000_000  # scores held at once


@dataclass(frozen=True)
class Acceptability:
    """How the alternatives rank over the draws of the weights.

    Parameters
    ----------
    ranks : numpy.ndarray
        (m, m) share of the draws in which an alternative (row) has a rank (column, the first
        is the best). Rows and columns add up to 1: of equals, the first in the order given is
        ranked first.
    none_better : numpy.ndarray
        (m,) share of the draws in which no alternative is better; without equals that is the
        share of the first rank.
    central_weights : numpy.ndarray
        (m, k) mean of the weights with which no alternative is better; NaN where there are none.
    """

    ranks: Float64
    none_better: Float64
    central_weights: Float64

    def among(self, count: int) -> Float64:
        """Return the share of the draws in which each alternative is among the best so many."""
        shares: Float64 = self.ranks[:, :count].sum(axis=1)
        return shares


def rank_acceptability(score: Score, values: Float64, weights: Float64) -> Acceptability:
    """Return how often each alternative has each rank, and the weights that favour it.

    Parameters
    ----------
    score : callable
        Gives (draws, m) scores of values and weights.
    values : numpy.ndarray
        (m, n) values of the alternatives, 0..1.
    weights : numpy.ndarray
        (draws, k) drawn weights.
    """
    count, draws = values.shape[0], weights.shape[0]
    held = np.zeros(count * count, np.int64)
    times_best = np.zeros(count)
    favouring = np.zeros((count, weights.shape[1]))
    step = max(1, _TOGETHER // count)
    for start in range(0, draws, step):
        some = weights[start : start + step]
        scores = score(values, some)
        cells = ranking(scores) * count + np.arange(count)
        held += np.bincount(cells.ravel(), minlength=count * count)
        best = (scores == scores.max(axis=1, keepdims=True)).astype(np.float64)
        times_best += best.sum(axis=0)
        favouring += best.T @ some
    with np.errstate(invalid="ignore"):  # 0 / 0 is NaN where an alternative is never the best
        central = favouring / times_best[:, None]
    return Acceptability(held.reshape(count, count) / draws, times_best / draws, central)


def ranking(scores: Float64) -> Index:
    """Return the alternatives from the best on, (draws, m); equals in the order given.

    Parameters
    ----------
    scores : numpy.ndarray
        (draws, m).
    """
    return np.argsort(-scores, axis=1, kind="stable")


def confidence_factors(
    score: Score,
    values: Float64,
    central_weights: Float64,
    *,
    value_error: float,
    draws: int,
    seed: int,
) -> Float64:
    """Return how sure each alternative is the best at the weights that favour it most, (m,).

    The share of the draws in which nothing is better at its central weights, when every value may
    be off by as much as `value_error` either way, each as likely as any other and on its own. NaN
    where there are no central weights.

    Parameters
    ----------
    score : callable
        Gives (draws, m) scores of values and weights.
    values : numpy.ndarray
        (m, n) values of the alternatives, 0..1.
    central_weights : numpy.ndarray
        (m, k), NaN where an alternative is never the best.
    value_error : float
        0 takes the values as exact.
    draws : int
        How many.
    seed : int
        The same seed gives the same draws.
    """
    count = values.shape[0]
    favoured = np.flatnonzero(~np.isnan(central_weights[:, 0]))
    wins = np.zeros(favoured.size, np.int64)
    rng = np.random.default_rng(seed)
    step = max(1, _TOGETHER // (count * max(1, favoured.size)))
    for start in range(0, draws, step):
        some = min(step, draws - start)
        errors = rng.uniform(-value_error, value_error, (some, *values.shape))
        off = np.clip(values + errors, 0, 1).reshape(some * count, -1)
        scores = score(off, central_weights[favoured]).reshape(favoured.size, some, count)
        own = np.take_along_axis(scores, favoured[:, None, None], axis=2)[..., 0]
        wins += (own == scores.max(axis=2)).sum(axis=1)
    factors = np.full(count, np.nan)
    factors[favoured] = wins / draws
    return factors
