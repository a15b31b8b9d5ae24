"""What the use of boxes says about the weights of criteria; it proposes, and changes nothing.

Log odds of use are taken to rise with the criteria's values. The present weights are the prior: a
slope for each criterion in proportion to its weight, as sure as weights drawn with a concentration
are. Few boxes leave the weights where they are; many move them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from suitability.follow_up.firth import Prior, fit_logistic, slope_interval
from suitability.follow_up.shares import Share, share_of

Float64 = NDArray[np.float64]
Bool = NDArray[np.bool_]

# With fewer boxes in use, or without bats, no more than one predictor should be fitted (a common
# rule of ten events a predictor); and not even that with fewer than these.
LEAST_FOR_WEIGHTS = 10
LEAST_FOR_SCORE = 3
CONCENTRATION = 20.0  # of the prior, as robustness draws weights by default
_DRAWS = 500
_CLASSES = 5
_LEAST_IN_CLASS = 5


@dataclass(frozen=True)
class ScoreClass:
    """Boxes of like scores, and how many of them are in use.

    Parameters
    ----------
    low, high, mean : float
        Of their scores.
    share : Share
        In use.
    """

    low: float
    high: float
    mean: float
    share: Share


@dataclass(frozen=True)
class Proposal:
    """Weights that fit the use of boxes better, if they may be told.

    Parameters
    ----------
    weights : numpy.ndarray
        (k,) adding up to 1.
    low, high : numpy.ndarray
        (k,) between which nine tenths of the weights lie when boxes are drawn again.
    """

    weights: Float64
    low: Float64
    high: Float64


@dataclass(frozen=True)
class Learned:
    """What boxes have taught.

    Parameters
    ----------
    used, boxes : int
        How many are in use, of how many that were watched.
    odds_per_tenth : tuple of float or None
        By what factor the odds of use rise with a tenth of score, and its 95 % interval; None with
        too few boxes.
    classes : tuple of ScoreClass
        Use by score, lowest first.
    proposal : Proposal or None
        Weights, where there is enough to learn from.
    why_not : str
        Why there is no proposal; empty if there is one.
    """

    used: int
    boxes: int
    odds_per_tenth: tuple[float, float, float] | None
    classes: tuple[ScoreClass, ...]
    proposal: Proposal | None
    why_not: str


def learn(
    values: Float64,
    used: Bool,
    weights: Float64,
    *,
    concentration: float = CONCENTRATION,
    seed: int = 0,
) -> Learned:
    """Learn from boxes how use goes with score, and propose weights.

    Parameters
    ----------
    values : numpy.ndarray
        (n, k) value of each criterion where each box hangs, 0..1, without gaps.
    used : numpy.ndarray
        (n,) whether bats were found in it.
    weights : numpy.ndarray
        (k,) at present, adding up to 1.
    concentration : float
        How firmly to hold on to them; a weight w scatters by sqrt(w (1 - w) / (c + 1)).
    seed : int
        For the interval's draws.
    """
    score = values @ weights
    boxes, in_use = int(used.size), int(used.sum())
    few = min(in_use, boxes - in_use)
    classes = score_classes(score, used)
    if few < LEAST_FOR_SCORE or np.ptp(score) == 0:
        return Learned(in_use, boxes, None, classes, None, _too_few(in_use, boxes))
    slope = float(fit_logistic(score[:, None], used).slopes[0])
    low, high = slope_interval(score[:, None], used, 0)
    odds = (_factor(slope), _factor(low), _factor(high))
    if few < LEAST_FOR_WEIGHTS:
        return Learned(in_use, boxes, odds, classes, None, _too_few(in_use, boxes))
    if low <= 0:
        why = (
            "use does not surely rise with the score here: either other things matter more, or "
            "there are too few boxes to tell; so no weights are proposed"
        )
        return Learned(in_use, boxes, odds, classes, None, why)
    if np.count_nonzero(weights) < 2:
        why = "a single criterion counts, so there are no weights to weigh against each other"
        return Learned(in_use, boxes, odds, classes, None, why)
    proposal = _proposed(values, used, weights, slope, concentration, seed)
    return Learned(in_use, boxes, odds, classes, proposal, "")


def score_classes(score: Float64, used: Bool) -> tuple[ScoreClass, ...]:
    """Return boxes in classes of like score, as many as leave five boxes or more in each."""
    if not score.size:
        return ()
    count = max(1, min(_CLASSES, score.size // _LEAST_IN_CLASS))
    found = []
    for part in np.array_split(np.argsort(score, kind="stable"), count):
        held = score[part]
        share = share_of(int(used[part].sum()), int(part.size))
        found.append(ScoreClass(float(held.min()), float(held.max()), float(held.mean()), share))
    return tuple(found)


def ranks_by(values: Float64, weights: Float64) -> NDArray[np.int64]:
    """Return the rank of each place by the weighted mean of its values, the best 1.

    Parameters
    ----------
    values : numpy.ndarray
        (n, k) of places in their present order, which equals keep.
    weights : numpy.ndarray
        (k,).
    """
    order = np.argsort(-np.round(values @ weights, 9), kind="stable")
    ranks = np.empty(order.size, np.int64)
    ranks[order] = np.arange(1, order.size + 1)
    return ranks


def _proposed(
    values: Float64, used: Bool, weights: Float64, slope: float, concentration: float, seed: int
) -> Proposal:
    best = _fitted_weights(values, used, weights, slope, concentration)
    rng = np.random.default_rng(seed)
    drawn: list[Float64] = []
    for _ in range(_DRAWS):
        again = rng.integers(0, used.size, used.size)
        if used[again].all() or not used[again].any():
            continue
        drawn.append(_fitted_weights(values[again], used[again], weights, slope, concentration))
    low, high = np.quantile(np.array(drawn), [0.05, 0.95], axis=0)
    return Proposal(best, np.minimum(low, best), np.maximum(high, best))


def _fitted_weights(
    values: Float64, used: Bool, weights: Float64, slope: float, concentration: float
) -> Float64:
    """Return the weights that the fitted slopes are in proportion to; none is negative."""
    counts = weights > 0
    scatter = slope * np.sqrt(weights * (1 - weights) / (concentration + 1))[counts]
    fit = fit_logistic(values[:, counts], used, Prior(slope * weights[counts], scatter**-2))
    slopes = np.zeros(weights.size)
    slopes[counts] = np.maximum(fit.slopes, 0)
    total = slopes.sum()
    return slopes / total if total > 0 else weights


def _factor(slope: float) -> float:
    return float(np.exp(slope / 10))


def _too_few(used: int, boxes: int) -> str:
    return (
        f"too little to learn from: {used} of {boxes} watched boxes are in use; weights want "
        f"{LEAST_FOR_WEIGHTS} or more in use and as many without bats"
    )


def told_weights(names: Sequence[str], present: Float64, proposal: Proposal) -> tuple[str, ...]:
    """Return each criterion's weights in words, present and proposed."""
    return tuple(
        f"{name}: {now:.0%} now, {then:.0%} proposed ({low:.0%} to {high:.0%})"
        for name, now, then, low, high in zip(
            names, present, proposal.weights, proposal.low, proposal.high, strict=True
        )
    )
