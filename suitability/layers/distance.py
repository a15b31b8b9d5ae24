"""Euclidean distances on the grid."""

from __future__ import annotations

import edt
import geopandas as gpd
import numpy as np
from numpy.typing import NDArray

from suitability.grid import Grid, Window
from suitability.inputs.burn import burn

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


def distance_to_features(
    grid: Grid, window: Window, features: gpd.GeoDataFrame, reach_m: float, also: Bool | None = None
) -> Float32:
    """Return the distance to the nearest feature, (rows, cols) of the window, 0 on it. [m].

    Features beyond the grid count. Cells touched by one are the feature's, so the error is at most
    half a cell's diagonal.

    Parameters
    ----------
    grid : Grid
        The whole grid.
    window : Window
        Where the distance is wanted.
    features : geopandas.GeoDataFrame
        In the grid's CRS.
    reach_m : float
        The greatest distance that is told; places further away get it. [m]
    also : numpy.ndarray, optional
        More cells to measure to, bool on the window grown by `searched_cells`.
    """
    wide = window.grown(searched_cells(reach_m, grid.cell_m))
    there = burn(features, grid.window(wide), all_touched=True)
    if also is not None:
        there |= also
    distance = distance_to(there, grid.cell_m)[window.within(wide)]
    return np.minimum(distance, np.float32(reach_m))


def searched_cells(reach_m: float, cell_m: float) -> int:
    """Return how far around a window a distance of so much must be looked for. [cells]."""
    return int(np.ceil(reach_m / cell_m))


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
