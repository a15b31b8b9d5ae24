"""How measures spread over land: bins of a round width, and exact counts, window by window."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Counts = NDArray[np.int64]

_BINS = 40  # about so many, for their width is round
_ROUND = (1.0, 2.0, 2.5, 5.0, 10.0)
# Of the width of what must be seen: how much further an axis always shows, and how far it follows
# the measures at most, so that a curve keeps a quarter of it.
_ASIDE, _FURTHER = 0.05, 1.5
_STEP = 1e-3  # of the measures' width: what changes within that has no width of its own


@dataclass(frozen=True)
class Bins:
    """Equal bins along an axis.

    Parameters
    ----------
    first : int
        Number of the first bin: it starts at `first` times `width`.
    width : float
        Of a bin, in the measure's unit.
    count : int
        How many there are.
    """

    first: int
    width: float
    count: int

    @property
    def edges(self) -> NDArray[np.float64]:
        """Where bins start and end, (count + 1,)."""
        numbers = np.arange(self.first, self.first + self.count + 1, dtype=np.float64)
        return numbers * self.width


@dataclass(frozen=True)
class Spread:
    """How many cells hold which measure.

    Parameters
    ----------
    counts : numpy.ndarray
        (bins,) cells in each bin; a measure at the last edge counts into the last bin.
    below, above : int
        Cells whose measure lies before the first edge, and beyond the last.
    missing : int
        Cells without a measure.
    """

    counts: Counts
    below: int = 0
    above: int = 0
    missing: int = 0

    @property
    def measured(self) -> int:
        """Cells with a measure, within the bins or not."""
        return int(self.counts.sum()) + self.below + self.above

    def __add__(self, other: Spread) -> Spread:
        """Return the cells of both."""
        return Spread(
            self.counts + other.counts,
            self.below + other.below,
            self.above + other.above,
            self.missing + other.missing,
        )


def bins_for(seen: tuple[float, float], measured: tuple[float, float] | None) -> Bins:
    """Return bins of a round width that show what must be seen, and follow the measures a way.

    Parameters
    ----------
    seen : tuple of float
        What the axis must show: where a curve starts to change and where it ends to.
    measured : tuple of float or None
        The least and the greatest measure; None if there is none.
    """
    low, high = seen
    least, greatest = seen if measured is None else measured
    wide = high - low > _STEP * (greatest - least)
    span = (high - low if wide else greatest - least) or abs(low) or 1.0
    start = min(low - _ASIDE * span, max(least, low - _FURTHER * span))
    end = max(high + _ASIDE * span, min(greatest, high + _FURTHER * span))
    if least >= 0 and low >= 0:  # what cannot be negative has no axis there, and starts at zero
        start = 0.0 if low <= _FURTHER * span else max(start, 0.0)
    width = _round_up((end - start) / _BINS)
    # A rounding error must not add a bin.
    first, last = math.floor(start / width + 1e-9), math.ceil(end / width - 1e-9)
    return Bins(first, width, last - first)


def spread_of(measures: ArrayLike, bins: Bins) -> Spread:
    """Return how measures spread over bins; the spreads of parts add up to that of the whole.

    Parameters
    ----------
    measures : array_like
        Any shape; NaN is missing.
    bins : Bins
        Where to count.
    """
    given = np.asarray(measures, np.float64).ravel()
    known = given[~np.isnan(given)]
    edges = bins.edges
    below, above = known < edges[0], known > edges[-1]
    within = known[~(below | above)]
    # By the edges themselves: a quotient may fall on either side of a whole number.
    numbers = np.searchsorted(edges, within, side="right") - 1
    counts = np.bincount(np.minimum(numbers, bins.count - 1), minlength=bins.count)
    return Spread(
        counts.astype(np.int64), int(below.sum()), int(above.sum()), given.size - known.size
    )


def _round_up(width: float) -> float:
    """Return the next round number that is not less."""
    power = 10.0 ** math.floor(math.log10(width))
    return next(step * power for step in _ROUND if step * power >= width * (1 - 1e-9))
