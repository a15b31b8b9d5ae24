"""The best places, a stated distance apart."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

Float32 = NDArray[np.float32]
Index = NDArray[np.int64]

# Cells looked at together: sorting all of a large raster costs more than the whole screen.
_TOGETHER = 200_000


def pick_sites(
    score: Float32, *, count: int, spacing_cells: float, min_score: float = 0.0
) -> tuple[Index, Index]:
    """Return rows and columns of the best cells, best first, none closer than the spacing.

    Greedy: the best cell is taken, cells closer than the spacing are struck out, and so on.
    Equal scores are taken in the order of row, then column.

    Parameters
    ----------
    score : numpy.ndarray
        (rows, cols) float32; NaN is no candidate.
    count : int
        How many are wanted; fewer are returned where the land has no more.
    spacing_cells : float
        Least distance between the centres of two sites. [cells]
    min_score : float
        Cells below this are no candidates.
    """
    rows = np.empty(0, np.int64)
    cols = np.empty(0, np.int64)
    least = spacing_cells**2
    for row, col in _best_first(score, min_score):
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


def _best_first(score: Float32, min_score: float) -> Iterator[tuple[Index, Index]]:
    """Yield rows and columns of candidates in falling order of score, some at a time."""
    flat = score.ravel()
    left = np.flatnonzero(flat >= max(min_score, 0.0))  # False for NaN
    while left.size:
        found = flat[left]
        take = np.ones(left.size, dtype=bool)
        if left.size > _TOGETHER:
            # Ties at the threshold come along, so that the order does not depend on the chunks.
            take = found >= np.partition(found, -_TOGETHER)[-_TOGETHER]
        some = left[take]
        order = np.argsort(-flat[some], kind="stable")
        yield np.divmod(some[order], score.shape[1])
        left = left[~take]
