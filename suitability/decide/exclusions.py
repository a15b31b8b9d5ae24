"""What rules land out: not a penalty but a reason, one bit each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from suitability.config.rules import ExclusionRule
from suitability.grid import Float32

Bits = NDArray[np.uint16] | NDArray[np.uint32]
Bool = NDArray[np.bool_]

# Bits of the narrower of the two types that reasons are held in.
_NARROW = 16


@dataclass(frozen=True)
class Reason:
    """Why land is out: the number of its bit, a key for files and words for people."""

    number: int
    key: str
    words: str

    @property
    def bit(self) -> int:
        """Value of the bit in the raster of reasons."""
        return 1 << self.number


REASONS: tuple[Reason, ...] = tuple(
    Reason(number, key, words)
    for number, (key, words) in enumerate(
        [
            ("no_data", "a measure is missing"),
            ("outside", "outside the boundary"),
            ("under_canopy", "under canopy taller than the mount"),
            ("clearance", "too close to canopy or a building"),
            ("building", "on a building"),
            ("water", "on water or its bank"),
            ("slope", "too steep"),
            ("keep_out", "in a keep-out area"),
            ("existing_box", "too close to a box already up"),
        ]
    )
)


def reasons_of(rules: Sequence[ExclusionRule]) -> tuple[Reason, ...]:
    """Return the reasons of a run: those of every run, then one for each rule of its own."""
    own = (
        Reason(len(REASONS) + at, rule.key, rule.words)
        for at, rule in enumerate(rules)
    )  # fmt: skip
    return (*REASONS, *own)


def rule_masks(rules: Sequence[ExclusionRule], layers: Mapping[str, Float32]) -> dict[str, Bool]:
    """Return where each rule holds, (rows, cols) bool; where its layer has no measure, it does not.

    Parameters
    ----------
    rules : sequence of ExclusionRule
        The run's.
    layers : mapping
        Measures by layer name, (rows, cols) float32.
    """
    return {
        # In the layers' own precision: a measure of just the bound is neither above nor below it.
        rule.key: layers[rule.layer] < np.float32(rule.bound)
        if rule.above is None
        else layers[rule.layer] > np.float32(rule.bound)
        for rule in rules
    }


def reason_bits(
    masks: Mapping[str, Bool], shape: tuple[int, int], reasons: Sequence[Reason] = REASONS
) -> Bits:
    """Return the reasons against each cell, (rows, cols); 0 is a candidate.

    Parameters
    ----------
    masks : mapping
        Keys of `reasons` to (rows, cols) bool, True where the reason holds.
    shape : tuple of int
        Rows and columns.
    reasons : sequence of Reason
        All that the run has.

    Returns
    -------
    numpy.ndarray
        uint16, or uint32 where the run has more than 16 reasons.
    """
    kind = np.uint16 if len(reasons) <= _NARROW else np.uint32
    bit = {reason.key: kind(reason.bit) for reason in reasons}
    bits = np.zeros(shape, kind)
    for key, mask in masks.items():
        bits |= np.where(mask, bit[key], kind(0))
    return bits


def reasons_in(bits: int, reasons: Iterable[Reason] = REASONS) -> tuple[Reason, ...]:
    """Return the reasons that a cell's bits hold."""
    return tuple(reason for reason in reasons if bits & reason.bit)


@dataclass(frozen=True)
class RuledOut:
    """How much land a reason rules out.

    Parameters
    ----------
    reason : Reason
        The reason.
    cells, alone : int
        Cells that it holds for, and those that would be candidates without it.
    together : dict
        By the key of every other reason: cells that both hold for.
    """

    reason: Reason
    cells: int
    alone: int
    together: dict[str, int]


@dataclass(frozen=True)
class ExcludedLand:
    """How much of the land is out, and why.

    Parameters
    ----------
    cells, candidates : int
        Of the land, and those of them with no reason against them.
    rows : tuple of RuledOut
        By reason, in the order of the bits.
    """

    cells: int
    candidates: int
    rows: tuple[RuledOut, ...]

    @classmethod
    def of(cls, counts: Mapping[int, int], reasons: Sequence[Reason]) -> ExcludedLand:
        """Return the table of land by what its cells' bits say.

        Parameters
        ----------
        counts : mapping of int to int
            Cells by the sum of their reasons' bits.
        reasons : sequence of Reason
            All that the run has.
        """

        def held(*both: Reason) -> int:
            return sum(n for bits, n in counts.items() if all(bits & r.bit for r in both))

        rows = tuple(
            RuledOut(
                reason,
                held(reason),
                counts.get(reason.bit, 0),
                {other.key: held(reason, other) for other in reasons if other != reason},
            )
            for reason in reasons
        )
        return cls(sum(counts.values()), counts.get(0, 0), rows)


def count_bits(bits: Bits) -> dict[int, int]:
    """Return how many cells hold each sum of reasons."""
    found, counts = np.unique(bits, return_counts=True)
    return {int(sum_): int(count) for sum_, count in zip(found, counts, strict=True)}
