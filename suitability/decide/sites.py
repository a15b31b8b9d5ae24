"""The best places, a stated distance apart."""

from __future__ import annotations

import heapq
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from suitability.grid import Float32, Float64, Window

Index = NDArray[np.int64]
ReadScore = Callable[[Window], Float32]

# A handheld receiver is off by some metres, and so is a hole where the soil allows one: among
# equals, a place with good land this far around it is the better one (common practice).
AROUND_M = 10.0

# Cells of a window looked at together: sorting all of a large raster costs more than the screen.
_TOGETHER = 100_000
# Scores are summed as whole numbers of this size, so that sums do not depend on their order.
_STEP = 2.0**-20


def pick_sites(
    score: Float32, *, count: int, spacing_cells: float, around_cells: int, min_score: float = 0.0
) -> tuple[Index, Index]:
    """Return rows and columns of the best cells, best first, none closer than the spacing.

    Greedy: the best cell is taken, cells closer than the spacing are struck out, and so on.
    Equal scores are taken in the order of the mean score around them, then of row and column.

    Parameters
    ----------
    score : numpy.ndarray
        (rows, cols) float32 in 0..1; NaN is no candidate.
    count : int
        How many are wanted; fewer are returned where the land has no more.
    spacing_cells : float
        Least distance between the centres of two sites. [cells]
    around_cells : int
        How far around a cell its surroundings reach, in a square; 0 for none. [cells]
    min_score : float
        Cells below this are no candidates.
    """
    return merge_sites(
        lambda window: score[window.slices],
        [Window(0, 0, *score.shape)],
        score.shape,
        count=count,
        spacing_cells=spacing_cells,
        around_cells=around_cells,
        min_score=min_score,
    )


def merge_sites(
    read: ReadScore,
    windows: Sequence[Window],
    shape: tuple[int, int],
    *,
    count: int,
    spacing_cells: float,
    around_cells: int,
    min_score: float = 0.0,
) -> tuple[Index, Index]:
    """Return what `pick_sites` does, of a score that is read window by window.

    The result does not depend on the windows.

    Parameters
    ----------
    read : callable
        Gives the score of a window, float32.
    windows : sequence of Window
        They cover the land without overlap.
    shape : tuple of int
        Rows and columns of the whole.
    count, spacing_cells, around_cells, min_score
        As for `pick_sites`.
    """
    streams = [_Stream(read, window, shape, around_cells, min_score) for window in windows]
    heads = [(key, n) for n, stream in enumerate(streams) if (key := stream.head()) is not None]
    heapq.heapify(heads)
    sites: list[tuple[int, int]] = []
    while heads and len(sites) < count:
        key, n = heapq.heappop(heads)
        streams[n].strike_out(sites, spacing_cells)
        best = streams[n].head()
        if best == key:
            sites.append((key[2], key[3]))
            streams[n].strike_out(sites, spacing_cells)
            best = streams[n].head()
        if best is not None:
            heapq.heappush(heads, (best, n))
    rows, cols = np.array(sites, np.int64).reshape(-1, 2).T
    return rows, cols


def mean_around(score: Float32, cells: int) -> Float64:
    """Return the mean score of the square around each cell; excluded land counts as 0.

    Parameters
    ----------
    score : numpy.ndarray
        (rows, cols) float32; NaN is excluded.
    cells : int
        From the middle of the square to its sides. [cells]
    """
    whole = np.rint(np.nan_to_num(score) / np.float32(_STEP)).astype(np.int64)
    side = 2 * cells + 1
    for axis in (0, 1):
        before = [(cells + 1, cells) if axis == a else (0, 0) for a in (0, 1)]
        sums = np.cumsum(np.pad(whole, before), axis=axis)
        upper = sums.take(range(side, sums.shape[axis]), axis=axis)
        lower = sums.take(range(sums.shape[axis] - side), axis=axis)
        whole = upper - lower
    return np.asarray(whole * (_STEP / side**2), dtype=np.float64)


Key = tuple[float, float, int, int]


@dataclass
class _Stream:
    """The candidates of a window, best first, read some at a time."""

    read: ReadScore
    window: Window
    shape: tuple[int, int]
    around_cells: int
    min_score: float
    below: float = np.inf
    exhausted: bool = False
    struck: int = 0
    score: Float32 = field(default_factory=lambda: np.empty(0, np.float32))
    around: Float64 = field(default_factory=lambda: np.empty(0, np.float64))
    row: Index = field(default_factory=lambda: np.empty(0, np.int64))
    col: Index = field(default_factory=lambda: np.empty(0, np.int64))

    def head(self) -> Key | None:
        """Return the sort key of the best candidate left; it ends in row and column."""
        while not self.score.size:
            if self.exhausted:
                return None
            self._load()
        return -float(self.score[0]), -float(self.around[0]), int(self.row[0]), int(self.col[0])

    def strike_out(self, sites: Sequence[tuple[int, int]], spacing_cells: float) -> None:
        """Drop what is closer than the spacing to a site, and the sites themselves."""
        for row, col in sites[self.struck :]:
            apart = (self.row - row) ** 2 + (self.col - col) ** 2
            self._keep((apart >= spacing_cells**2) & (apart > 0))
        self.struck = len(sites)

    def _keep(self, kept: NDArray[np.bool_] | Index) -> None:
        self.score, self.around = self.score[kept], self.around[kept]
        self.row, self.col = self.row[kept], self.col[kept]

    def _load(self) -> None:
        """Read the next candidates: all of those with a score, so that the order is whole."""
        wide = self.window.grown(self.around_cells).clipped(self.shape)
        score = self.read(wide)
        around = mean_around(score, self.around_cells)[self.window.within(wide)].ravel()
        flat = score[self.window.within(wide)].ravel()
        left = np.flatnonzero((flat >= max(self.min_score, 0.0)) & (flat < self.below))
        found = flat[left]
        if left.size > _TOGETHER:
            least = np.partition(found, -_TOGETHER)[-_TOGETHER]
            left = left[found >= least]
            self.below = float(least)
        else:
            self.exhausted = True
        row, col = np.divmod(left, self.window.cols)
        self.score, self.around = flat[left], around[left]
        self.row, self.col = row + self.window.row, col + self.window.col
        self._keep(np.lexsort((self.col, self.row, -self.around, -self.score)))
        self.struck = 0
