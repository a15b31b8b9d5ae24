"""Euclidean distances on the grid."""

from __future__ import annotations

import edt
import numpy as np
from numpy.typing import NDArray

Float32 = NDArray[np.float32]
Bool = NDArray[np.bool_]


def distance_to(cells: Bool, cell: float, *, threads: int = 2) -> Float32:
    """Return the distance from each cell's centre to the centre of the nearest marked cell.

    Parameters
    ----------
    cells : numpy.ndarray
        (rows, cols) bool; True marks a cell.
    cell : float
        Edge of a cell. [m]
    threads : int
        For the exact distance transform.

    Returns
    -------
    numpy.ndarray
        (rows, cols) float32, 0 in marked cells; infinite everywhere if none is marked. [m]
    """
    if not cells.any():
        return np.full(cells.shape, np.inf, np.float32)
    empty = np.ascontiguousarray(~cells)
    found = edt.edt(empty, anisotropy=(cell, cell), black_border=False, parallel=threads)
    return np.asarray(found, dtype=np.float32)


def signed_distance_to_edge(inside: Bool, cell: float, *, threads: int = 2) -> Float32:
    """Return the distance to the edge of an area: positive outside, negative inside.

    The edge runs between cells, half a cell from the centres on either side of it.

    Parameters
    ----------
    inside : numpy.ndarray
        (rows, cols) bool.
    cell : float
        Edge of a cell. [m]
    threads : int
        For the exact distance transform.

    Returns
    -------
    numpy.ndarray
        (rows, cols) float32; infinite, of either sign, where there is no edge. [m]
    """
    half = np.float32(cell / 2)
    outside = distance_to(inside, cell, threads=threads) - half
    inwards = distance_to(~inside, cell, threads=threads) - half
    return np.where(inside, -inwards, outside)
