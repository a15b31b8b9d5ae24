"""How a place is judged: a tree of criteria and groups, made once from the settings."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from suitability.config.criteria import (
    GEOMETRIC_MEAN,
    LIMITING,
    ORDERED,
    TOP,
    WEIGHTED_MEAN,
    Combination,
    Criterion,
    Group,
)
from suitability.config.curves import Curve
from suitability.config.settings import RunSettings
from suitability.decide.combining import (
    limiting_value,
    ordered_weighted_mean,
    orness,
    trade_off,
    weighted_geometric_mean,
    weighted_mean,
)
from suitability.decide.defaults import default_criteria
from suitability.decide.values import value_of
from suitability.decide.weighing import MOST_RATIO, RANDOM_INDEX_SOURCE, Weights, weights_of

Float32 = NDArray[np.float32]
Float64 = NDArray[np.float64]
ValueOf = Callable[[str], ArrayLike]
# By the name of a group (`TOP` for the whole): a share for each part that counts, in order.
GroupShares = Mapping[str, Sequence[ArrayLike]]


@dataclass(frozen=True)
class Leaf:
    """A criterion in its place.

    Parameters
    ----------
    criterion : Criterion
        As stated.
    curve : Curve
        Its value function in numbers.
    share : float
        Its weight among those it is weighed with, which add up to 1.
    groups : tuple of str
        Names of the groups that it lies in, the outermost first.
    """

    criterion: Criterion
    curve: Curve
    share: float
    groups: tuple[str, ...]

    @property
    def name(self) -> str:
        """The layer."""
        return self.criterion.layer


@dataclass(frozen=True)
class Branch:
    """A group in its place, or the whole.

    Parameters
    ----------
    name : str
        The group's; `TOP` for the whole.
    share : float
        Its weight among those it is weighed with; 1 for the whole.
    combination : Combination
        How its parts' values combine.
    weights : Weights
        Of its parts, and where they come from.
    parts : tuple of Leaf or Branch
        In the order of the run file, those without weight too.
    """

    name: str
    share: float
    combination: Combination
    weights: Weights
    parts: tuple[Leaf | Branch, ...]

    @property
    def counted(self) -> tuple[Leaf | Branch, ...]:
        """The parts that count: those with a weight above 0."""
        return tuple(part for part in self.parts if part.share > 0)

    @property
    def is_limiting(self) -> bool:
        """Whether the lowest value counts alone, whatever the weights above 0."""
        return self.combination.by == LIMITING

    @property
    def adds_up(self) -> bool:
        """Whether the value is the sum of what each criterion contributes."""
        is_sum = self.combination.by == WEIGHTED_MEAN or len(self.counted) == 1
        return is_sum and all(part.adds_up for part in self.counted if isinstance(part, Branch))

    def combined(self, value: ValueOf, shares: GroupShares) -> Float64:
        """Return the group's value."""
        parts = self.counted
        values = (
            part.combined(value, shares) if isinstance(part, Branch) else value(part.name)
            for part in parts
        )
        own = shares.get(self.name, [part.share for part in parts])
        if self.is_limiting:
            return limiting_value(values)
        if self.combination.by == GEOMETRIC_MEAN:
            return weighted_geometric_mean(values, own)
        if self.combination.by == ORDERED:
            return ordered_weighted_mean(values, own, self.combination.order_weights or ())
        return weighted_mean(values, own)


@dataclass(frozen=True)
class Judgement:
    """How places are judged.

    Parameters
    ----------
    root : Branch
        The whole.
    stated : Group
        What it was made from.
    """

    root: Branch
    stated: Group

    @property
    def leaves(self) -> tuple[Leaf, ...]:
        """The criteria in their places, in the order of the run file."""
        return tuple(leaf for leaf, _ in _leaves(self.root, 1.0))

    @property
    def criteria(self) -> tuple[Criterion, ...]:
        """The criteria as stated, in the order of the run file."""
        return tuple(leaf.criterion for leaf in self.leaves)

    @property
    def shares(self) -> tuple[float, ...]:
        """The weight of each criterion in the whole: the product of the shares down its path."""
        return tuple(share for _, share in _leaves(self.root, 1.0))

    @property
    def branches(self) -> tuple[Branch, ...]:
        """The whole and its groups, in the order of the run file."""
        return tuple(_branches(self.root))

    @property
    def adds_up(self) -> bool:
        """Whether the score is the sum of what each criterion contributes."""
        return self.root.adds_up

    def values(self, raw: Mapping[str, ArrayLike]) -> dict[str, Float32]:
        """Return the criteria's values of raw measures, by layer.

        Parameters
        ----------
        raw : mapping
            Measures by layer name, in its unit; NaN where missing.
        """
        return {leaf.name: value_of(raw[leaf.name], leaf.curve) for leaf in self.leaves}

    def combine(
        self, values: Mapping[str, ArrayLike], shares: GroupShares | None = None
    ) -> Float64:
        """Return the score of values, unrounded.

        Parameters
        ----------
        values : mapping
            The criteria's values by layer, in 0..1; NaN where missing. Those of criteria without
            weight are not looked at.
        shares : mapping, optional
            Other weights than the judgement's own: by the name of a group, or `TOP`, a share for
            each of its parts that count, adding up to 1. They may be arrays that broadcast
            against the values.

        Returns
        -------
        numpy.ndarray
            In 0..1; NaN where a value that counts is missing.
        """
        return self.root.combined(values.__getitem__, shares or {})

    def score(self, raw: Mapping[str, ArrayLike]) -> Float32:
        """Return the score of raw measures.

        Parameters
        ----------
        raw : mapping
            Measures by layer name, all of one shape; NaN where missing.

        Returns
        -------
        numpy.ndarray
            Of that shape, float32 in 0..1; NaN where a measure that counts is missing.
        """
        curves = {leaf.name: leaf.curve for leaf in self.leaves}
        # One value at a time, for a window has millions of cells.
        score = self.root.combined(lambda name: value_of(raw[name], curves[name]), {})
        return np.asarray(score, np.float32)

    @property
    def warnings(self) -> tuple[str, ...]:
        """What a reader has to know of where the weights come from."""
        return tuple(
            words for branch in self.branches if (words := _inconsistency(branch)) is not None
        )

    def in_words(self, title_of: Callable[[str], str] = str) -> str:
        """Say how the criteria combine and what they weigh.

        Parameters
        ----------
        title_of : callable
            Gives a layer's title by its name.
        """
        return _in_words(self.root, title_of)


def judgement_of(settings: RunSettings) -> Judgement:
    """Return how a run's places are judged: by its own criteria, else by its climate's."""
    criteria = settings.criteria or default_criteria(settings.climate)
    return judgement_from(
        Group(group=TOP, combine=settings.combine, weighing=settings.weighing, criteria=criteria)
    )


def judgement_from(stated: Group) -> Judgement:
    """Return the judgement that a group of criteria makes by itself."""
    return Judgement(_branch(stated, 1.0, ()), stated)


def combination_in_words(branch: Branch) -> str:
    """Say how a group's values combine."""
    combination = branch.combination
    weights = combination.order_weights or ()
    if combination.by != ORDERED or len(weights) == 1:
        return combination.by
    told = ", ".join(f"{weight:g}" for weight in weights)
    return (
        f"{combination.by} (order weights {told}: orness {orness(weights):.2f}, "
        f"trade-off {trade_off(weights):.2f})"
    )


def _branch(group: Group, share: float, groups: tuple[str, ...]) -> Branch:
    entries = group.criteria
    weights = weights_of([e.name for e in entries], [e.weight for e in entries], group.weighing)
    parts = tuple(
        _branch(entry, own, (*groups, entry.group))
        if isinstance(entry, Group)
        else Leaf(entry, entry.curve, own, groups)
        for entry, own in zip(entries, weights.shares, strict=True)
    )
    return Branch(group.group, share, group.combine, weights, parts)


def _leaves(branch: Branch, share: float) -> Iterator[tuple[Leaf, float]]:
    for part in branch.parts:
        if isinstance(part, Branch):
            yield from _leaves(part, share * part.share)
        else:
            yield part, share * part.share


def _branches(branch: Branch) -> Iterator[Branch]:
    yield branch
    for part in branch.parts:
        if isinstance(part, Branch):
            yield from _branches(part)


def _in_words(branch: Branch, title_of: Callable[[str], str]) -> str:
    told = []
    for part in branch.parts:
        name = part.name if isinstance(part, Branch) else title_of(part.name)
        weight = "" if branch.is_limiting and part.share else f" {part.share:.0%}"
        inner = f" ({_in_words(part, title_of)})" if isinstance(part, Branch) else ""
        told.append(f"{name}{weight}{inner}")
    return f"{combination_in_words(branch)} of {', '.join(told)}"


def _inconsistency(branch: Branch) -> str | None:
    """Say which comparison of a group contradicts the others, if they contradict each other."""
    found = branch.weights.consistency
    if found is None or found.misfit is None or found.ratio is None:
        return None
    of = "" if branch.name == TOP else f" of {branch.name}"
    misfit = found.misfit
    return (
        f"the comparisons behind the weights{of} contradict each other: consistency ratio "
        f"{found.ratio:.2f}, more than {MOST_RATIO:.2f} (random index {found.random_index:.2f}, "
        f"{RANDOM_INDEX_SOURCE}); most of all, {misfit.one} is said to matter "
        f"{_times(misfit.times)} times as much as {misfit.other}, the others make it "
        f"{_times(misfit.fitting)}, with which the ratio would be {misfit.ratio:.2f}"
    )


def _times(number: float) -> str:
    return f"{number:.2g}" if number >= 1 else f"1/{1 / number:.2g}"
