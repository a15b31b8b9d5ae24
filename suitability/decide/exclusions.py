"""What rules land out: not a penalty but a reason, one bit each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Bits = NDArray[np.uint16]
Bool = NDArray[np.bool_]


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
_BIT = {reason.key: reason.bit for reason in REASONS}


def reason_bits(masks: Mapping[str, Bool], shape: tuple[int, int]) -> Bits:
    """Return the reasons against each cell, (rows, cols) uint16; 0 is a candidate.

    Parameters
    ----------
    masks : mapping
        Keys of `REASONS` to (rows, cols) bool, True where the reason holds.
    shape : tuple of int
        Rows and columns.
    """
    bits = np.zeros(shape, np.uint16)
    for key, mask in masks.items():
        bits |= np.where(mask, np.uint16(_BIT[key]), np.uint16(0))
    return bits


def reasons_in(bits: int) -> tuple[Reason, ...]:
    """Return the reasons that a cell's bits hold."""
    return tuple(reason for reason in REASONS if bits & reason.bit)
