"""Weights that are not sure: draws around what was given, and scores that any order of sums keeps.

Scores are sums of whole numbers: values are whole multiples of 2⁻²⁰ and weights of 2⁻³⁰, so that
their products and sums are exact in float64. Equal places get equal scores, whatever piece of the
land they are computed with.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from suitability.grid import Float64

VALUE_STEP = 2.0**-20
WEIGHT_STEP = 2.0**-30

# Values (m, n) and weights (draws, k) in, scores (draws, m) out.
Score = Callable[[Float64, Float64], Float64]


@dataclass(frozen=True)
class Spread:
    """How far weights may lie from what was given.

    Parameters
    ----------
    concentration : float or None
        Of a Dirichlet distribution around the given weights: a weight w scatters by
        sqrt(w (1 - w) / (concentration + 1)), its standard deviation. None: nothing is known of
        the weights, every set of weights that adds up to 1 is as likely as any other.
    """

    concentration: float | None = None

    def around(self, shares: Float64) -> Float64:
        """Return the parameters of the Dirichlet distribution of a group's weights."""
        if self.concentration is None:
            return np.ones(shares.size)
        return self.concentration * shares

    def deviations(self, weights: Float64, groups: Sequence[slice]) -> Float64:
        """Return the standard deviation of each weight, (k,).

        Parameters
        ----------
        weights : numpy.ndarray
            (k,) weights; those of a group add up to 1.
        groups : sequence of slice
            Which weights stand beside each other.
        """
        found = np.zeros(weights.size)
        for group in groups:
            alpha = self.around(weights[group])
            mean = alpha / alpha.sum()
            found[group] = np.sqrt(mean * (1 - mean) / (alpha.sum() + 1))
        return found


def draw_weights(
    weights: Float64, groups: Sequence[slice], spread: Spread, *, draws: int, seed: int
) -> Float64:
    """Return draws of the weights, group by group, (draws, k), in whole steps.

    Parameters
    ----------
    weights : numpy.ndarray
        (k,) weights above 0; those of a group add up to 1.
    groups : sequence of slice
        Which weights stand beside each other.
    spread : Spread
        How far they may lie from what was given.
    draws : int
        How many.
    seed : int
        The same seed gives the same draws.
    """
    rng = np.random.default_rng(seed)
    drawn = np.empty((draws, weights.size))
    for group in groups:
        drawn[:, group] = rng.dirichlet(spread.around(weights[group]), draws)
    return in_steps(drawn, WEIGHT_STEP)


def weighted_means(values: Float64, weights: Float64) -> Float64:
    """Return weighted means, exact in any order of the sum; (draws, m).

    Parameters
    ----------
    values : numpy.ndarray
        (m, n) values in 0..1.
    weights : numpy.ndarray
        (draws, n) weights, each row adding up to 1.
    """
    return in_steps(weights, WEIGHT_STEP) @ in_steps(values, VALUE_STEP).T


def in_steps(numbers: Float64, step: float) -> Float64:
    """Return the nearest whole multiples of a step."""
    return np.asarray(np.rint(numbers / step) * step)
