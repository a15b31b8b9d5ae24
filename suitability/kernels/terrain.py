"""Gradients of an elevation grid."""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True, nogil=True, error_model="numpy")
def horn_gradients(z, cell):  # type: ignore[no-untyped-def]
    """Return the rise eastwards and northwards after Horn (1981), each (rows, cols) float32.

    Parameters
    ----------
    z : (rows, cols) float32
        Elevation; a NaN in a cell's window gives NaN. [m]
    cell : float
        Edge of a cell. [m]

    Notes
    -----
    B. K. P. Horn, Hill shading and the reflectance map, Proc. IEEE 69, 14-47, 1981: central
    differences over three rows or columns, weighted 1, 2, 1. Beyond the outer cells the surface
    is continued in a straight line, so that planes are exact up to the edge.
    """
    rows, cols = z.shape
    east = np.empty((rows, cols), np.float32)
    north = np.empty((rows, cols), np.float32)
    window = np.empty((3, 3), np.float64)
    for r in range(rows):
        for c in range(cols):
            for i in range(3):
                for j in range(3):
                    window[i, j] = _continued(z, r + i - 1, c + j - 1)
            e = (window[0, 2] + 2 * window[1, 2] + window[2, 2]) - (
                window[0, 0] + 2 * window[1, 0] + window[2, 0]
            )
            n = (window[0, 0] + 2 * window[0, 1] + window[0, 2]) - (
                window[2, 0] + 2 * window[2, 1] + window[2, 2]
            )
            east[r, c] = e / (8 * cell)
            north[r, c] = n / (8 * cell)
            if np.isnan(z[r, c]):
                east[r, c] = np.nan
                north[r, c] = np.nan
    return east, north


@njit(cache=True, nogil=True, inline="always")
def _continued(z, r, c):  # type: ignore[no-untyped-def]
    """Return z at a cell, or its straight continuation one cell outside."""
    rows, cols = z.shape
    rr = min(max(r, 0), rows - 1)
    cc = min(max(c, 0), cols - 1)
    value = np.float64(z[rr, cc])
    if rr != r and rows > 1:
        value += value - z[rr + (1 if r < 0 else -1), cc]
    if cc != c and cols > 1:
        value += np.float64(z[rr, cc]) - z[rr, cc + (1 if c < 0 else -1)]
    return value
