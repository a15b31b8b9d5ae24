"""How much land has which score, and how much is out, whole and parcel by parcel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from suitability.decide.exclusions import Bits, ExcludedLand, Reason, count_bits
from suitability.grid import Float32

Index = NDArray[np.int32]
Counts = NDArray[np.int64]

CLASSES = 10  # of the score, 0 to 1
# In the score's own precision: a score of 0.7 is in the class that starts there.
_STARTS = (np.arange(1, CLASSES) / CLASSES).astype(np.float32)


@dataclass
class PieceOfLand:
    """What was counted on a piece of land.

    Parameters
    ----------
    scored : numpy.ndarray
        (CLASSES,) candidates by class of their score; a class holds its lower end, the last one
        its upper end, too.
    by_bits : dict
        Cells by the sum of their reasons' bits.
    """

    scored: Counts = field(default_factory=lambda: np.zeros(CLASSES, np.int64))
    by_bits: dict[int, int] = field(default_factory=dict)

    @property
    def cells(self) -> int:
        """All of it."""
        return sum(self.by_bits.values())

    def add(self, score: Float32, bits: Bits) -> None:
        """Count cells, (n,) each.

        Raises
        ------
        ValueError
            If a candidate has no score.
        """
        for sum_, cells in count_bits(bits).items():
            self.by_bits[sum_] = self.by_bits.get(sum_, 0) + cells
        found = score[bits == 0]
        if np.isnan(found).any():
            msg = "a candidate has no score"
            raise ValueError(msg)
        classes = np.searchsorted(_STARTS, found, side="right")
        self.scored += np.bincount(classes, minlength=CLASSES)

    def excluded(self, reasons: Sequence[Reason]) -> ExcludedLand:
        """Return how much of it is out, and why."""
        return ExcludedLand.of(self.by_bits, reasons)


class LandCount:
    """Counts of the whole land, and of each parcel, window by window.

    Parameters
    ----------
    parcels : int
        How many there are.
    """

    def __init__(self, parcels: int) -> None:
        self.whole = PieceOfLand()
        self.parcels = [PieceOfLand() for _ in range(parcels)]
        self.elsewhere = PieceOfLand()

    def add(self, score: Float32, bits: Bits, parcel: Index | None = None) -> None:
        """Count a window.

        Parameters
        ----------
        score : numpy.ndarray
            (rows, cols) float32; NaN where land is out.
        bits : numpy.ndarray
            (rows, cols) of the reasons; 0 is a candidate.
        parcel : numpy.ndarray, optional
            (rows, cols) which parcel a cell is in, counted from 1; 0 in none.
        """
        self.whole.add(score.ravel(), bits.ravel())
        if parcel is None:
            return
        for number in np.unique(parcel).tolist():
            inside = parcel == number
            piece = self.parcels[number - 1] if number else self.elsewhere
            piece.add(score[inside], bits[inside])
