"""Logistic regression that stays finite however few boxes there are, and that may lean on a prior.

Where every sunny box is in use, maximum likelihood sends a coefficient to infinity. Firth's penalty
(Jeffreys' prior) keeps it finite and takes away the bias of small samples.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq
from scipy.special import expit, log_expit
from scipy.stats import chi2

Float64 = NDArray[np.float64]

_MOST_STEPS = 200
_STILL = 1e-9
_FAR = 60.0  # in log odds: a limit further off is none


@dataclass(frozen=True)
class Prior:
    """What is believed of the coefficients beforehand: independent normal distributions.

    Parameters
    ----------
    mean, precision : numpy.ndarray
        (k,) without the intercept; a precision of 0 believes nothing.
    """

    mean: Float64
    precision: Float64


@dataclass(frozen=True)
class Fit:
    """A fitted regression.

    Parameters
    ----------
    intercept : float
        Log odds where all predictors are 0.
    slopes : numpy.ndarray
        (k,) change of the log odds with each predictor.
    likelihood : float
        Penalised log likelihood at the fit.
    """

    intercept: float
    slopes: Float64
    likelihood: float

    def probability(self, x: ArrayLike) -> Float64:
        """Return the probability of use, (n,), for predictors (n, k)."""
        return np.asarray(expit(self.intercept + np.asarray(x, np.float64) @ self.slopes))


def fit_logistic(x: ArrayLike, used: ArrayLike, prior: Prior | None = None) -> Fit:
    """Fit the use of boxes to predictors.

    Parameters
    ----------
    x : array_like
        (n, k) predictors; k may be 0.
    used : array_like
        (n,) bool.
    prior : Prior, optional
        Of the slopes.

    Raises
    ------
    ValueError
        If a predictor is a multiple of others, or nearly so, and no prior tells them apart.

    References
    ----------
    Firth (1993), Biometrika 80:27-38; Heinze and Schemper (2002), Statistics in Medicine
    21:2409-2419.
    """
    design, y, mean, precision = _stated(x, used, prior)
    coefficients, likelihood = _maximised(design, y, mean, precision, {})
    return Fit(float(coefficients[0]), coefficients[1:], likelihood)


def slope_interval(
    x: ArrayLike, used: ArrayLike, which: int, confidence: float = 0.95
) -> tuple[float, float]:
    """Return the interval of a slope by its profile penalised likelihood.

    Parameters
    ----------
    x, used : array_like
        As for `fit_logistic`.
    which : int
        The predictor.
    confidence : float
        0..1.

    Returns
    -------
    tuple of float
        Infinite where the data set no limit.

    References
    ----------
    Heinze and Schemper (2002): with few boxes the likelihood is skewed, and intervals of plus and
    minus standard errors mislead.
    """
    design, y, mean, precision = _stated(x, used, None)
    best, top = _maximised(design, y, mean, precision, {})
    drop = float(chi2.ppf(confidence, 1)) / 2

    def above(slope: float) -> float:
        _, reached = _maximised(design, y, mean, precision, {which + 1: slope})
        return reached - (top - drop)

    found = float(best[which + 1])
    ends = []
    for direction in (-1.0, 1.0):
        step = 1.0
        while step < _FAR and above(found + direction * step) > 0:
            step *= 2
        if step >= _FAR:
            ends.append(direction * math.inf)
        else:
            at = sorted((found, found + direction * step))
            ends.append(float(brentq(above, *at, xtol=1e-6)))
    return ends[0], ends[1]


def _stated(
    x: ArrayLike, used: ArrayLike, prior: Prior | None
) -> tuple[Float64, Float64, Float64, Float64]:
    y = np.asarray(used, np.float64)
    predictors = np.asarray(x, np.float64).reshape(y.size, -1)
    design = np.column_stack([np.ones(y.size), predictors])
    mean, precision = np.zeros(design.shape[1]), np.zeros(design.shape[1])
    if prior is not None:
        mean[1:], precision[1:] = prior.mean, prior.precision
    elif np.linalg.matrix_rank(design) < design.shape[1]:
        msg = "a predictor is the same for all boxes, or follows from the others"
        raise ValueError(msg)
    return design, y, mean, precision


def _maximised(
    design: Float64, y: Float64, mean: Float64, precision: Float64, held: dict[int, float]
) -> tuple[Float64, float]:
    """Return the coefficients of the greatest penalised likelihood, some of them held, and it."""
    free = np.array([at for at in range(design.shape[1]) if at not in held])
    coefficients = np.zeros(design.shape[1])
    for at, value in held.items():
        coefficients[at] = value
    reached = _likelihood(design, y, mean, precision, coefficients)
    for _ in range(_MOST_STEPS):
        chance = expit(design @ coefficients)
        spread = chance * (1 - chance)
        information = (design.T * spread) @ design
        curvature = information + np.diag(precision)
        inverse = np.linalg.pinv(curvature, hermitian=True)
        leverage = spread * np.sum((design @ inverse) * design, axis=1)
        score = design.T @ (y - chance + leverage * (0.5 - chance))
        score -= precision * (coefficients - mean)
        step = np.linalg.lstsq(curvature[np.ix_(free, free)], score[free], rcond=None)[0]
        step *= min(1.0, 5.0 / max(np.abs(step).max(initial=0.0), _STILL))
        if np.abs(step).max(initial=0.0) < _STILL:
            break
        for _ in range(30):  # halved until it climbs
            tried = coefficients.copy()
            tried[free] += step
            climbed = _likelihood(design, y, mean, precision, tried)
            if climbed > reached - 1e-12:
                break
            step /= 2
        coefficients, reached = tried, climbed
    return coefficients, reached


def _likelihood(
    design: Float64, y: Float64, mean: Float64, precision: Float64, coefficients: Float64
) -> float:
    odds = design @ coefficients
    chance = expit(odds)
    # With what the prior knows: a predictor that is the same for all boxes leaves no information
    # of its own, whose determinant would then be 0 everywhere.
    information = (design.T * (chance * (1 - chance))) @ design + np.diag(precision)
    _, log_determinant = np.linalg.slogdet(information)
    told = float(np.sum(y * log_expit(odds) + (1 - y) * log_expit(-odds)))
    believed = -0.5 * float(np.sum(precision * (coefficients - mean) ** 2))
    return told + 0.5 * float(log_determinant) + believed
