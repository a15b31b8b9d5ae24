"""The best places, a stated distance apart."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

Float32 = NDArray[np.float32]
Index = NDArray[np.int64]

# A handheld receiver is off by some metres, and so is a hole where the soil allows one: among
# equals, a place with good land this far around it is the better one (common practice).
AROUND_M = 10.0

# Cells looked at together: sorting all of a large raster costs more than the whole screen.
_TOGETHER = 200_000


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
    around = mean_around(score, around_cells)
    rows = np.empty(0, np.int64)
    cols = np.empty(0, np.int64)
    least = spacing_cells**2
    for row, col in _best_first(score, around, min_score):
        for r, c in zip(rows, cols, strict=True):
            far = (row - r) ** 2 + (col - c) ** 2 >= least
            row, col = row[far], col[far]  # noqa: PLW2901 - the pool shrinks
        while row.size and rows.size < count:
            rows, cols = np.append(rows, row[0]), np.append(cols, col[0])
            far = (row - row[0]) ** 2 + (col - col[0]) ** 2 >= least
            far[0] = False
            row, col = row[far], col[far]  # noqa: PLW2901
        if rows.size == count:
            break
    return rows, cols


def mean_around(score: Float32, cells: int) -> Float32:
    """Return the mean score of the square around each cell; excluded land counts as 0.

    Parameters
    ----------
    score : numpy.ndarray
        (rows, cols) float32; NaN is excluded.
    cells : int
        From the middle of the square to its sides. [cells]
    """
    filled = np.nan_to_num(score)
    # Rounded, so that the order of summation does not decide between equals.
    found = ndimage.uniform_filter(filled, 2 * cells + 1, output=np.float64, mode="constant")
    return np.asarray(np.round(found, 6), dtype=np.float32)


def _best_first(score: Float32, around: Float32, min_score: float) -> Iterator[tuple[Index, Index]]:
    """Yield rows and columns of candidates, best first, some at a time."""
    flat, near = score.ravel(), around.ravel()
    left = np.flatnonzero(flat >= max(min_score, 0.0))  # False for NaN
    while left.size:
        take = np.ones(left.size, dtype=bool)
        if left.size > _TOGETHER:
            # Ties at the threshold come along, so that the order does not depend on the chunks.
            found = flat[left]
            take = found >= np.partition(found, -_TOGETHER)[-_TOGETHER]
        some = left[take]
        order = np.lexsort((some, -near[some], -flat[some]))
        yield np.divmod(some[order], score.shape[1])
        left = left[~take]
