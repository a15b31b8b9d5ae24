"""What is asked about a ranking, and what is found."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from suitability.decide.robustness import Acceptability, ranking
from suitability.decide.robustness_swings import Swing
from suitability.decide.robustness_weights import Spread
from suitability.grid import Float64
from suitability.outputs.robustness_figure_correlation import signed
from suitability.robustness.finished import Finished
from suitability.robustness.land import Sample, Stability

Index = NDArray[np.int64]

AROUND = Spread(20.0)  # a weight of 35% scatters by 10%: our choice, not a finding


@dataclass(frozen=True)
class Asked:
    """What is asked.

    Parameters
    ----------
    spread : Spread
        How far weights may lie from what was given.
    draws : int
        Draws of the weights for the places.
    places : int
        How many places are ranked: the listed sites and those that would be listed next.
    map_draws : int
        Draws of the weights for every cell.
    value_error : float
        How far values may be off, for the confidence factors.
    correlated_from : float
        Spearman's coefficient from which two criteria are said to count one thing twice; 0.7 is
        common practice.
    seed : int
        Of all draws.
    """

    spread: Spread = AROUND
    draws: int = 10_000
    places: int = 500
    map_draws: int = 500
    value_error: float = 0.05
    correlated_from: float = 0.7
    seed: int = 1


@dataclass(frozen=True)
class Findings:
    """What is found.

    Parameters
    ----------
    run : Finished
        The run.
    asked : Asked
        What was asked.
    rows, cols : numpy.ndarray
        (m,) cells of the places, the listed sites first.
    values : numpy.ndarray
        (m, n) the criteria's values there.
    scores : numpy.ndarray
        (m,) with the weights as given.
    acceptability : Acceptability
        How the places rank.
    confidence : numpy.ndarray
        (m,) confidence factors, NaN where a place is never the best.
    swings : mapping of int to Swing
        By weight; one that stands alone in its group cannot move.
    spearman, pearson : numpy.ndarray
        (n, n) correlation of the criteria's values over the land.
    sample : Sample
        Of the land.
    stability : Stability
        Of the land's best tenth.
    """

    run: Finished
    asked: Asked
    rows: Index
    cols: Index
    values: Float64
    scores: Float64
    acceptability: Acceptability
    confidence: Float64
    swings: dict[int, Swing]
    spearman: Float64
    pearson: Float64
    sample: Sample
    stability: Stability

    @property
    def listed(self) -> int:
        """How many sites the run lists."""
        return self.run.rows.size

    @property
    def in_list(self) -> Float64:
        """Share of the draws in which each place is among the best so many, (m,)."""
        return self.acceptability.among(self.listed)

    @cached_property
    def equals(self) -> Index:
        """How many other places have the values of each place in every criterion, (m,)."""
        _, kind, count = np.unique(self.values, axis=0, return_inverse=True, return_counts=True)
        return np.asarray(count[kind] - 1)

    @property
    def rising(self) -> Index:
        """Places that are not listed, the one that most often would be first; (up to m,)."""
        others = np.arange(self.listed, self.rows.size)
        order = others[np.argsort(-self.in_list[others], kind="stable")]
        return order[self.in_list[order] > 0]

    def usual_ranks(self, place: int) -> tuple[int, int]:
        """Return the ranks between which a place lies in the middle 90% of the draws."""
        below = np.cumsum(self.acceptability.ranks[place])
        low, high = np.searchsorted(below, (0.05, 0.95 - 1e-9))
        return int(low) + 1, min(int(high), self.rows.size - 1) + 1

    @property
    def pairs(self) -> list[tuple[int, int]]:
        """Pairs of criteria that go together, or against each other, more than the limit."""
        count = len(self.run.weighing.layers)
        return [
            (a, b)
            for a in range(count)
            for b in range(a + 1, count)
            if abs(self.spearman[a, b]) >= self.asked.correlated_from  # False for NaN
        ]

    @property
    def warnings(self) -> tuple[str, ...]:
        """What a reader of the ranking has to know."""
        told = []
        for a, b in self.pairs:
            names = f"{self.run.weighing.layers[a]} and {self.run.weighing.layers[b]}"
            rho = f"Spearman {signed(self.spearman[a, b])} over the candidate cells"
            if self.spearman[a, b] > 0:
                told.append(
                    f"{names} go together ({rho}): what they share counts twice; give them one "
                    "weight between them, or leave one out"
                )
            else:
                told.append(
                    f"{names} go against each other ({rho}): few places are good in both, and "
                    "their two weights decide between different land"
                )
        told += [
            f"{self.run.weighing.layers[at]} has one value over all candidate cells: it tells no "
            "place from another"
            for at in np.flatnonzero(np.isnan(np.diag(self.spearman)))
        ]
        if tied := int((self.equals[: self.listed] > 0).sum()):
            told.append(
                f"{tied} of the {self.listed} listed sites have the very values of another place: "
                "no weights tell such places apart, and they rank by the run's order (the better "
                "surroundings first)"
            )
        best = ranking(self.scores[None, :])[0, : self.listed]
        if set(best.tolist()) != set(range(self.listed)):
            told.append(
                f"the run's sites are not just the {self.listed} places that score highest (boxes "
                "in groups, or an exact choice): here each is ranked by its own score, so a box "
                "that was chosen for what it adds to others may rank low"
            )
        if self.listed == self.rows.size:
            told.append(
                "only the listed sites were ranked, so the list cannot change; more --places "
                "would show what could come in"
            )
        return tuple(told)

    @property
    def weights_in_words(self) -> str:
        """How the weights were drawn, in a sentence."""
        concentration = self.asked.spread.concentration
        if concentration is None:
            return (
                "Any weights are as likely as any other, whatever the run's own; a typical range "
                "holds about two draws of three."
            )
        return (
            f"Weights are drawn around the run's own, with concentration {concentration:g}: each "
            "lies within its typical range in about two draws of three."
        )

    @property
    def ranges_in_words(self) -> str:
        """Where each weight typically lies, in a sentence."""
        ranges = ", ".join(
            f"{name} {low:.0%} to {high:.0%}"
            for name, (low, high) in zip(self.run.weighing.names, self.typical, strict=True)
        )
        return f"Typical ranges: {ranges}."

    @property
    def land_in_words(self) -> tuple[str, ...]:
        """What holds of the land and of the places that are not listed, in sentences."""
        land, told = self.stability, []
        told.append(
            f"{land.stable:.0%} of the candidate land has a stable place: {land.always_in:.1%} is "
            f"among the best tenth and {land.always_out:.1%} is not, in at least 95% of "
            f"{self.asked.map_draws:,} draws."
        )
        if self.rising.size:
            place = self.rising[0]
            told.append(
                f"Of the places not listed, the one that most often would be is among the best "
                f"{self.listed} in {self.in_list[place]:.0%} of the draws (place {place + 1} in "
                f"acceptability.csv)."
            )
        return tuple(told)

    @property
    def typical(self) -> tuple[tuple[float, float], ...]:
        """Typical range of each weight: one standard deviation to either side of its mean."""
        spread, run = self.asked.spread, self.run
        means = np.empty(run.weighing.weights.size)
        for group in run.weighing.groups:
            alpha = spread.around(run.weighing.weights[group])
            means[group] = alpha / alpha.sum()
        off = spread.deviations(run.weighing.weights, run.weighing.groups)
        low, high = np.clip(means - off, 0, 1), np.clip(means + off, 0, 1)
        return tuple(zip(low.tolist(), high.tolist(), strict=True))
