"""Sums over the round window around each cell."""

from __future__ import annotations

import numpy as np
from numba import njit

# Output columns worked at once: what a window's rows hold of them stays in the cache.
BLOCK_COLS = 512


@njit(cache=True, nogil=True, error_model="numpy")
def disc_sums(values, half_widths, found):  # type: ignore[no-untyped-def]
    """Add to each inner cell the sum over the round window around it.

    Whole numbers only, so that the order of adding changes nothing and any piece of a raster gives
    what the whole does.

    Parameters
    ----------
    values : (rows, cols) uint8 or int32
        Whole numbers. The window reaches R cells to every side, so the outer R rows and columns
        have none of their own.
    half_widths : (R + 1,) int64
        How many cells the window reaches to either side, in its middle row and in the rows 1 to R
        from it.
    found : (rows - 2 R, cols - 2 R) int32 or int64
        What is added to; its type must hold the sum of all values of R rows.

    Notes
    -----
    Sums along each row are kept from its start: a row of the window is then the difference of two,
    and a cell costs two loads for each row of its window, whatever the window's width.
    """
    reach = half_widths.size - 1
    rows, cols = found.shape
    for first in range(0, cols, BLOCK_COLS):
        width = min(BLOCK_COLS, cols - first)
        sums = np.zeros((rows + 2 * reach, width + 2 * reach + 1), found.dtype)
        for r in range(rows + 2 * reach):
            for c in range(width + 2 * reach):
                sums[r, c + 1] = sums[r, c] + values[r, first + c]
        for r in range(rows):
            total = found[r, first : first + width]
            _add_row(total, sums[r + reach], reach, half_widths[0])
            for away in range(1, reach + 1):
                half = half_widths[away]
                _add_rows(total, sums[r + reach - away], sums[r + reach + away], reach, half)


@njit(cache=True, nogil=True, error_model="numpy")
def _add_row(total, sums, reach, half):  # type: ignore[no-untyped-def]
    """Add a row of the window to each cell's total."""
    end, start = sums[reach + half + 1 :], sums[reach - half :]
    for c in range(total.size):
        total[c] += end[c] - start[c]


@njit(cache=True, nogil=True, error_model="numpy")
def _add_rows(total, above, below, reach, half):  # type: ignore[no-untyped-def]
    """Add the two rows of the window that lie equally far from its middle."""
    above_end, above_start = above[reach + half + 1 :], above[reach - half :]
    below_end, below_start = below[reach + half + 1 :], below[reach - half :]
    for c in range(total.size):
        total[c] += (above_end[c] - above_start[c]) + (below_end[c] - below_start[c])
