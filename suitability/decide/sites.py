"""The best places, a stated distance apart."""

from __future__ import annotations

import heapq
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from suitability.grid import Float32, Float64, Window

Index = NDArray[np.int64]
ReadScore = Callable[[Window], Float32]

# A handheld receiver is off by some metres, and so is a hole where the soil allows one: among
# equals, a place with good land this far around it is the better one (common practice).
AROUND_M = 10.0

# Cells of a window looked at together: sorting all of a large raster costs more than the screen.
_TOGETHER = 20_000
THREADS = 2  # windows first looked at together
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
    sites, _ = _merged(streams, count, spacing_cells)
    rows, cols = np.array(sites, np.int64).reshape(-1, 2).T
    return rows, cols


def merge_with_spots(
    read: ReadScore,
    windows: Sequence[Window],
    shape: tuple[int, int],
    spots: Spots,
    *,
    count: int,
    spacing_cells: float,
    around_cells: int,
    min_score: float = 0.0,
) -> tuple[Float64, Float64, Index]:
    """Return the best of cells and of spots that lie anywhere, none closer than the spacing.

    Of equal scores cells come first, then spots by row and column.

    Parameters
    ----------
    read, windows, shape
        As for `merge_sites`; no windows for spots alone.
    spots : Spots
        Candidates beside the cells.
    count, spacing_cells, around_cells, min_score
        As for `pick_sites`.

    Returns
    -------
    rows, cols : numpy.ndarray
        (n,) best first; whole numbers are centres of cells. [cells]
    spot : numpy.ndarray
        (n,) which spot each is; -1 for a cell.
    """
    streams: list[_Stream | _Spots] = [
        _Stream(read, window, shape, around_cells, min_score) for window in windows
    ]
    found = _Spots(spots, min_score)
    sites, origins = _merged([*streams, found], count, spacing_cells)
    spot = [
        found.number[site] if origin == len(streams) else -1
        for site, origin in zip(sites, origins, strict=True)
    ]
    rows, cols = np.array(sites, np.float64).reshape(-1, 2).T
    return rows, cols, np.array(spot, np.int64)


def _merged(
    streams: Sequence[_Stream | _Spots], count: int, spacing_cells: float
) -> tuple[list[tuple[float, float]], list[int]]:
    """Return the places of the best of all streams, and the stream that each came from."""
    with ThreadPoolExecutor(THREADS) as pool:
        first = list(pool.map(lambda stream: stream.head(), streams))
    heads = [(key, n) for n, key in enumerate(first) if key is not None]
    heapq.heapify(heads)
    sites: list[tuple[float, float]] = []
    origins: list[int] = []
    while heads and len(sites) < count:
        key, n = heapq.heappop(heads)
        streams[n].strike_out(sites, spacing_cells)
        best = streams[n].head()
        if best == key:
            sites.append((key[2], key[3]))
            origins.append(n)
            streams[n].strike_out(sites, spacing_cells)
            best = streams[n].head()
        if best is not None:
            heapq.heappush(heads, (best, n))
    return sites, origins


def mean_around(score: Float32, cells: int) -> Float64:
    """Return the mean score of the square around each cell; excluded land counts as 0.

    Parameters
    ----------
    score : numpy.ndarray
        (rows, cols) float32; NaN is excluded.
    cells : int
        From the middle of the square to its sides. [cells]
    """
    steps = np.rint(np.nan_to_num(score) / np.float32(_STEP))
    side = 2 * cells + 1
    rows, cols = score.shape
    # Sums over the squares by differences of running sums, down and then across; in whole numbers,
    # so that no rounding grows along them. Running sums may overflow: differences are right as
    # long as a square's own sum does not.
    kind = np.uint32 if side**2 / _STEP < 2**32 else np.uint64
    whole = np.zeros((rows + side, cols), kind)
    np.cumsum(steps.astype(kind), axis=0, dtype=kind, out=whole[cells + 1 : cells + 1 + rows])
    whole[cells + 1 + rows :] = whole[cells + rows]
    down = whole[side:] - whole[:-side]
    whole = np.zeros((rows, cols + side), kind)
    np.cumsum(down, axis=1, dtype=kind, out=whole[:, cells + 1 : cells + 1 + cols])
    whole[:, cells + 1 + cols :] = whole[:, cells + cols, None]
    sums = whole[:, side:] - whole[:, :-side]
    return np.asarray(sums * (_STEP / side**2), dtype=np.float64)


Key = tuple[float, float, float, float]


@dataclass(frozen=True)
class Spots:
    """Candidates that are no cells; each array is (n,).

    Parameters
    ----------
    score : numpy.ndarray
        0..1; NaN is no candidate.
    row, col : numpy.ndarray
        Fractional; whole numbers are centres of cells. [cells]
    """

    score: Float64
    row: Float64
    col: Float64


class _Spots:
    """Spots, best first, as a stream."""

    def __init__(self, spots: Spots, min_score: float) -> None:
        left = np.flatnonzero(spots.score >= max(min_score, 0.0))  # False for NaN
        row, col, score = spots.row[left], spots.col[left], spots.score[left]
        order = np.lexsort((col, row, -score))
        self._row, self._col, self._score = row[order], col[order], score[order]
        # Of two in one place the better is named.
        places = zip(self._row.tolist(), self._col.tolist(), left[order].tolist(), strict=True)
        self.number: dict[tuple[float, float], int] = {}
        for at_row, at_col, number in places:
            self.number.setdefault((at_row, at_col), number)
        self._struck = 0

    def head(self) -> Key | None:
        """Return the sort key of the best spot left; it ends in row and column."""
        if not self._score.size:
            return None
        return -float(self._score[0]), 0.0, float(self._row[0]), float(self._col[0])

    def strike_out(self, sites: Sequence[tuple[float, float]], spacing_cells: float) -> None:
        """Drop what is closer than the spacing to a site, and the sites themselves."""
        for row, col in sites[self._struck :]:
            apart = (self._row - row) ** 2 + (self._col - col) ** 2
            left = (apart >= spacing_cells**2) & (apart > 0)
            self._row, self._col, self._score = (
                self._row[left], self._col[left], self._score[left],
            )  # fmt: skip
        self._struck = len(sites)


class _Stream:
    """The candidates of a window, best first, read some at a time."""

    def __init__(
        self,
        read: ReadScore,
        window: Window,
        shape: tuple[int, int],
        around_cells: int,
        min_score: float,
    ) -> None:
        self._read, self._window, self._shape = read, window, shape
        self._around_cells, self._min_score = around_cells, min_score
        self._last: Key | None = None
        self._exhausted = False
        self._struck = 0
        self._cells = _Cells.none()

    def head(self) -> Key | None:
        """Return the sort key of the best candidate left; it ends in row and column."""
        while not self._cells.score.size:
            if self._exhausted:
                return None
            self._load()
        return self._cells.key(0)

    def strike_out(self, sites: Sequence[tuple[float, float]], spacing_cells: float) -> None:
        """Drop what is closer than the spacing to a site, and the sites themselves."""
        for row, col in sites[self._struck :]:
            apart = (self._cells.row - row) ** 2 + (self._cells.col - col) ** 2
            self._cells = self._cells.those((apart >= spacing_cells**2) & (apart > 0))
        self._struck = len(sites)

    def _load(self) -> None:
        """Read the candidates that come after those read before."""
        wide = self._window.grown(self._around_cells).clipped(self._shape)
        score = self._read(wide)
        core = self._window.within(wide)
        around = mean_around(score, self._around_cells)[core].ravel()
        flat = score[core].ravel()
        left = np.flatnonzero(flat >= max(self._min_score, 0.0))  # False for NaN
        if self._last is None and left.size > _TOGETHER:  # most are too low to be sorted
            least = np.partition(flat[left], -_TOGETHER)[-_TOGETHER]
            left = left[flat[left] >= least]
        row, col = np.divmod(left, self._window.cols)
        cells = _Cells(flat[left], around[left], row + self._window.row, col + self._window.col)
        if self._last is not None:
            cells = cells.those(cells.come_after(self._last))
        cells = cells.those(cells.best(_TOGETHER))
        self._exhausted = cells.score.size < _TOGETHER
        if cells.score.size:
            self._last = cells.key(-1)
        self._cells = cells
        self._struck = 0


@dataclass(frozen=True)
class _Cells:
    """Candidates by their place in the order: score, score around, row, column; each (n,)."""

    score: Float32
    around: Float64
    row: Index
    col: Index

    @classmethod
    def none(cls) -> _Cells:
        nothing = np.empty(0, np.int64)
        return cls(np.empty(0, np.float32), np.empty(0), nothing, nothing)

    def key(self, k: int) -> Key:
        return -float(self.score[k]), -float(self.around[k]), int(self.row[k]), int(self.col[k])

    def those(self, chosen: NDArray[np.bool_] | NDArray[np.intp]) -> _Cells:
        return _Cells(self.score[chosen], self.around[chosen], self.row[chosen], self.col[chosen])

    def come_after(self, key: Key) -> NDArray[np.bool_]:
        score, around, row, col = -key[0], -key[1], key[2], key[3]
        in_place = (self.row > row) | ((self.row == row) & (self.col > col))
        among_equals = (self.around < around) | ((self.around == around) & in_place)
        return np.asarray((self.score < score) | ((self.score == score) & among_equals))

    def best(self, count: int) -> NDArray[np.intp]:
        """Return the indices of the first so many in order, the cells being in rows and columns."""
        pool = np.arange(self.score.size)
        sure = np.empty(0, np.intp)
        for values in (self.score, self.around):
            if sure.size + pool.size > count:
                found = values[pool]
                need = count - sure.size
                least = np.partition(found, -need)[-need]
                sure = np.concatenate((sure, pool[found > least]))
                pool = pool[found == least]
        some = np.concatenate((sure, pool[: count - sure.size]))
        order = np.lexsort((self.col[some], self.row[some], -self.around[some], -self.score[some]))
        return np.asarray(some[order])
