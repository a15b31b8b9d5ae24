"""The weights of a judgement as one row, and its score for many such rows at once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from suitability.config.criteria import LIMITING, TOP
from suitability.decide.judgement import Branch, Judgement, Leaf
from suitability.decide.robustness_weights import WEIGHT_STEP, in_steps, weighted_means
from suitability.grid import Float64


@dataclass(frozen=True)
class Weighing:
    """Weights that can move: those of parts that stand beside others and are weighed with them.

    A group whose lowest value counts alone has none.

    Parameters
    ----------
    judgement : Judgement
        Whose they are.
    layers : tuple of str
        (n,) the criteria that count.
    branches : tuple of Branch
        The whole and its groups that have weights.
    """

    judgement: Judgement
    layers: tuple[str, ...]
    branches: tuple[Branch, ...]

    @property
    def weights(self) -> Float64:
        """The weights as given, (k,), branch by branch; those of a branch add up to 1."""
        return np.array([part.share for branch in self.branches for part in branch.counted])

    @property
    def names(self) -> tuple[str, ...]:
        """What each weight belongs to, within a group after the group's name."""
        return tuple(
            part.name if branch.name == TOP else f"{branch.name}: {part.name}"
            for branch in self.branches
            for part in branch.counted
        )

    @property
    def groups(self) -> tuple[slice, ...]:
        """Which weights stand beside each other."""
        ends = np.cumsum([0, *(len(branch.counted) for branch in self.branches)]).tolist()
        return tuple(slice(start, end) for start, end in pairwise(ends))

    def score(self, values: Float64, weights: Float64) -> Float64:
        """Return scores under many weights, (draws, m).

        Equal values give equal scores, whatever stands beside them in the array.

        Parameters
        ----------
        values : numpy.ndarray
            (m, n) values of the criteria that count.
        weights : numpy.ndarray
            (draws, k).
        """
        if self.judgement.adds_up:
            return weighted_means(values, self._of_leaves(weights))
        places = dict(zip(self.layers, values.T[:, None, :], strict=True))
        shares = {
            branch.name: list(weights.T[group][:, :, None])
            for branch, group in zip(self.branches, self.groups, strict=True)
        }
        found = np.broadcast_to(
            self.judgement.combine(places, shares), (weights.shape[0], values.shape[0])
        )
        # Powers may differ in their last bit from one place of an array to another.
        return in_steps(found, WEIGHT_STEP)

    def _of_leaves(self, weights: Float64) -> Float64:
        """Return each criterion's weight in the whole, (draws, n)."""
        own = {
            branch.name: weights[:, group]
            for branch, group in zip(self.branches, self.groups, strict=True)
        }

        def down(branch: Branch, above: Float64) -> Iterator[Float64]:
            for at, part in enumerate(branch.counted):
                here = above * own[branch.name][:, at] if branch.name in own else above
                if isinstance(part, Branch):
                    yield from down(part, here)
                else:
                    yield here

        return np.stack(list(down(self.judgement.root, np.ones(weights.shape[0]))), axis=1)


def weighing_of(judgement: Judgement) -> Weighing:
    """Return the weights of a judgement that can move."""
    parts = list(_counted(judgement.root))
    branches = (part for part in parts if isinstance(part, Branch))
    return Weighing(
        judgement,
        tuple(part.name for part in parts if isinstance(part, Leaf)),
        tuple(b for b in branches if len(b.counted) > 1 and b.combination.by != LIMITING),
    )


def _counted(branch: Branch) -> Iterator[Branch | Leaf]:
    yield branch
    for part in branch.counted:
        if isinstance(part, Branch):
            yield from _counted(part)
        else:
            yield part
