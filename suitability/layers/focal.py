"""What lies within a radius of each cell: shares, densities, means.

The window is round: a cell belongs to it if its centre lies within the radius of the middle cell's
centre. Sums are of whole numbers, so any piece of a raster gives the bits of the whole.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from suitability.grid import Float32, Float64
from suitability.kernels.focal import disc_sums

Bool = NDArray[np.bool_]
Int32 = NDArray[np.int32]

# Heights are summed as whole numbers of this size, which float32 ground is no finer than from
# 8 km up. [m]
HEIGHT_STEP_M = 2.0**-10
_SLACK = 1e-9  # of a cell: a radius of whole cells must not lose its outermost by rounding


def reach_cells(radius_m: float, cell_m: float) -> int:
    """Return how many cells a round window reaches from its middle cell, to each side."""
    return math.floor(radius_m / cell_m + _SLACK)


def half_widths(radius_m: float, cell_m: float) -> NDArray[np.int64]:
    """Return how far a round window reaches to either side, in its middle row and those beyond.

    Parameters
    ----------
    radius_m : float
        From centre to centre. [m]
    cell_m : float
        Edge of a cell. [m]

    Returns
    -------
    numpy.ndarray
        (R + 1,) int64. [cells]
    """
    radius = radius_m / cell_m + _SLACK
    away = np.arange(reach_cells(radius_m, cell_m) + 1)
    return np.asarray(np.floor(np.sqrt(radius**2 - away**2)), dtype=np.int64)


def window_cells(radius_m: float, cell_m: float) -> int:
    """Return the cells of a round window."""
    widths = 2 * half_widths(radius_m, cell_m) + 1
    return int(widths[0] + 2 * widths[1:].sum())


def count_within(marked: Bool, radius_m: float, cell_m: float) -> Int32:
    """Return how many marked cells lie within a radius of each inner cell.

    Parameters
    ----------
    marked : numpy.ndarray
        (rows, cols) bool; the outer R rows and columns are surroundings, R being `reach_cells`.
    radius_m : float
        Of the window. [m]
    cell_m : float
        Edge of a cell. [m]

    Returns
    -------
    numpy.ndarray
        (rows - 2 R, cols - 2 R) int32.
    """
    return sum_within(marked.view(np.uint8), radius_m, cell_m).astype(np.int32, copy=False)


def sum_within(
    values: NDArray[np.uint8] | Int32, radius_m: float, cell_m: float
) -> Int32 | NDArray[np.int64]:
    """Return the sum within a radius of each inner cell; see `count_within`.

    Parameters
    ----------
    values : numpy.ndarray
        (rows, cols) uint8 or int32.
    radius_m, cell_m : float
        Radius of the window, edge of a cell. [m]

    Returns
    -------
    numpy.ndarray
        (rows - 2 R, cols - 2 R) int32 for uint8, int64 for int32.
    """
    reach = reach_cells(radius_m, cell_m)
    rows, cols = (size - 2 * reach for size in values.shape)
    kind = np.int32 if values.dtype == np.uint8 else np.int64
    found = np.zeros((max(rows, 0), max(cols, 0)), kind)
    disc_sums(np.ascontiguousarray(values), half_widths(radius_m, cell_m), found)
    return found


def share_within(marked: Bool, known: Bool, radius_m: float, cell_m: float) -> Float32:
    """Return the share of the known land within a radius of each inner cell that is marked.

    Parameters
    ----------
    marked, known : numpy.ndarray
        (rows, cols) bool; what is not known does not count, marked or not.
    radius_m, cell_m : float
        Radius of the window, edge of a cell. [m]

    Returns
    -------
    numpy.ndarray
        (rows - 2 R, cols - 2 R) float32 in 0..1; NaN where nothing is known. See `count_within`.
    """
    found = count_within(marked & known, radius_m, cell_m)
    of = count_within(known, radius_m, cell_m)
    with np.errstate(invalid="ignore"):  # nothing of nothing
        return np.asarray(found / of, dtype=np.float32)


def density_within(counts: Int32, radius_m: float, cell_m: float) -> Float32:
    """Return how many points lie within a radius of each inner cell, to the area of the window.

    Parameters
    ----------
    counts : numpy.ndarray
        (rows, cols) int32, the points of each cell.
    radius_m, cell_m : float
        Radius of the window, edge of a cell. [m]

    Returns
    -------
    numpy.ndarray
        (rows - 2 R, cols - 2 R) float32. [1/km²]
    """
    area_km2 = window_cells(radius_m, cell_m) * cell_m**2 / 1e6
    return np.asarray(sum_within(counts, radius_m, cell_m) / area_km2, dtype=np.float32)


def above_mean_within(
    ground: Float32, radius_m: float, cell_m: float, *, beyond_m: float = 0.0
) -> Float32:
    """Return how far each inner cell stands above the mean of the ground around it.

    Parameters
    ----------
    ground : numpy.ndarray
        (rows, cols) float32; NaN does not count. [m]
    radius_m, cell_m : float
        Radius of the window, edge of a cell. [m]
    beyond_m : float
        Ground this near does not count; 0 for a whole disc, its middle cell included. [m]

    Returns
    -------
    numpy.ndarray
        (rows - 2 R, cols - 2 R) float32, NaN where the ground is, or all around it. [m]

    References
    ----------
    .. [1] A. D. Weiss, Topographic position and landforms analysis, 2001: elevation
       less the mean of a disc or ring around (from memory).
    """
    known = ~np.isnan(ground)
    steps = np.rint(np.nan_to_num(ground) / np.float32(HEIGHT_STEP_M)).astype(np.int32)
    total, count = _total(steps, known, radius_m, cell_m)
    reach = reach_cells(radius_m, cell_m)
    if beyond_m > 0:
        cut = reach - reach_cells(beyond_m, cell_m)
        inner = (slice(cut, size - cut) for size in ground.shape)
        hole = tuple(inner)
        less, fewer = _total(steps[hole], known[hole], beyond_m, cell_m)
        total, count = total - less, count - fewer
    with np.errstate(invalid="ignore", divide="ignore"):
        mean: Float64 = total * HEIGHT_STEP_M / count
    middle = ground[tuple(slice(reach, size - reach) for size in ground.shape)]
    return np.asarray(middle - mean, dtype=np.float32)


def _total(
    steps: Int32, known: Bool, radius_m: float, cell_m: float
) -> tuple[NDArray[np.int64], Int32]:
    total = np.asarray(sum_within(steps, radius_m, cell_m), dtype=np.int64)
    return total, count_within(known, radius_m, cell_m)
