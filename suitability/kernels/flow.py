"""Where water runs on a surface without depressions."""

from __future__ import annotations

import numpy as np
from numba import njit

# Codes of the eight directions, east first and on clockwise, as the trade writes them.
OUTLET = 0
UNKNOWN = 247
# Straight neighbours before diagonal ones, so that ties do not zigzag.
_CODES = np.array([1, 4, 16, 64, 2, 8, 32, 128], np.uint8)
_BACK = np.array([16, 64, 1, 4, 32, 128, 2, 8], np.uint8)
_DOWN = np.array([0, 1, 0, -1, 1, 1, -1, -1], np.int64)
_ACROSS = np.array([1, 0, -1, 0, 1, -1, -1, 1], np.int64)


@njit(cache=True, nogil=True, error_model="numpy")
def d8_directions(z):  # type: ignore[no-untyped-def]
    """Return the direction in which each cell drains, (rows, cols) uint8.

    Parameters
    ----------
    z : (rows, cols) float32
        Elevation without depressions; NaN is unknown. [m]

    Returns
    -------
    numpy.ndarray
        1 east, 2 south-east, 4 south ... 128 north-east; `OUTLET` where water leaves the known
        land, `UNKNOWN` where z is.

    Notes
    -----
    Steepest drop of eight: J. F. O'Callaghan & D. M. Mark, The extraction of drainage networks
    from digital elevation data, Comput. Vis. Graph. Image Process. 28, 323-344, 1984. On flats,
    outwards from where they drain, the nearest cells first: S. K. Jenson & J. O. Domingue,
    Extracting topographic structure from digital elevation data, Photogramm. Eng. Remote Sens.
    54, 1593-1600, 1988. Of equals the first in the order E, S, W, N, SE, SW, NW, NE is taken.
    """
    rows, cols = z.shape
    towards = np.full((rows, cols), UNKNOWN, np.uint8)
    open_ = np.zeros((rows, cols), np.bool_)
    diagonal = np.sqrt(0.5)
    known = 0
    for r in range(rows):
        for c in range(cols):
            here = np.float64(z[r, c])
            if np.isnan(here):
                continue
            known += 1
            best, at_edge = 0.0, False
            for k in range(8):
                rr, cc = r + _DOWN[k], c + _ACROSS[k]
                if rr < 0 or rr >= rows or cc < 0 or cc >= cols or np.isnan(z[rr, cc]):
                    at_edge = True
                    continue
                drop = here - np.float64(z[rr, cc])
                if k >= 4:
                    drop *= diagonal
                if drop > best:
                    best = drop
                    towards[r, c] = _CODES[k]
            if best == 0.0:
                towards[r, c] = OUTLET
                open_[r, c] = not at_edge
    _drain_flats(z, towards, open_, known)
    return towards


@njit(cache=True, nogil=True, error_model="numpy")
def _drain_flats(z, towards, open_, known):  # type: ignore[no-untyped-def]
    """Lead every open cell to one beside it, of its height, that drains; breadth first."""
    rows, cols = z.shape
    queue = np.empty(known, np.int64)
    size = 0
    for r in range(rows):
        for c in range(cols):
            if np.isnan(z[r, c]) or open_[r, c]:
                continue
            for k in range(8):
                rr, cc = r + _DOWN[k], c + _ACROSS[k]
                if 0 <= rr < rows and 0 <= cc < cols and open_[rr, cc] and z[rr, cc] == z[r, c]:
                    queue[size] = r * cols + c
                    size += 1
                    break
    done = 0
    while done < size:
        r, c = queue[done] // cols, queue[done] % cols
        done += 1
        for k in range(8):
            rr, cc = r + _DOWN[k], c + _ACROSS[k]
            if 0 <= rr < rows and 0 <= cc < cols and open_[rr, cc] and z[rr, cc] == z[r, c]:
                towards[rr, cc] = _BACK[k]
                open_[rr, cc] = False
                queue[size] = rr * cols + cc
                size += 1
