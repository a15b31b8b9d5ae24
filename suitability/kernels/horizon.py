"""The horizon seen from one point: march outwards over the bilinear surface."""

from __future__ import annotations

import numpy as np
from numba import njit

STEP_CELLS = 0.25  # along the ray; edges of crowns are a cell wide


@njit(cache=True, nogil=True, error_model="numpy")
def horizon_slopes(surface, row, col, height, cell, azimuth_rad):  # type: ignore[no-untyped-def]
    """Return the steepest rise (height over distance) in each direction, (n,) float64.

    Parameters
    ----------
    surface : (rows, cols) float32
        What hides the sky; NaN hides nothing. [m]
    row, col : float
        The point; whole numbers are centres of cells.
    height : float
        Of the point, in the surface's datum. [m]
    cell : float
        Edge of a cell. [m]
    azimuth_rad : (n,) float64
        Clockwise from grid north. [rad]

    Returns
    -------
    (n,) float64
        Rise over distance; minus infinity where no known surface lies that way.
    """
    rows, cols = surface.shape
    steepest = np.full(azimuth_rad.size, -np.inf)
    for k in range(azimuth_rad.size):
        # Rounded, so that a ray along the outer cells does not leave them by a last bit.
        d_col = round(np.sin(azimuth_rad[k]), 12) * STEP_CELLS
        d_row = -round(np.cos(azimuth_rad[k]), 12) * STEP_CELLS
        r = row + d_row
        c = col + d_col
        step = 1
        while 0 <= r <= rows - 1 and 0 <= c <= cols - 1:
            r0 = min(int(r), max(rows - 2, 0))
            c0 = min(int(c), max(cols - 2, 0))
            r1 = min(r0 + 1, rows - 1)
            c1 = min(c0 + 1, cols - 1)
            u = r - r0
            v = c - c0
            north = (1 - v) * surface[r0, c0] + v * surface[r0, c1]
            south = (1 - v) * surface[r1, c0] + v * surface[r1, c1]
            rise = ((1 - u) * north + u * south - height) / (step * STEP_CELLS * cell)
            if rise > steepest[k]:  # False for NaN
                steepest[k] = rise
            step += 1
            r = row + step * d_row
            c = col + step * d_col
    return steepest
