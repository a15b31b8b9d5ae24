"""Slope and aspect of the ground."""

from __future__ import annotations

import numpy as np

from suitability.grid import Grid, Window
from suitability.kernels.terrain import horn_gradients
from suitability.layers.distance import Float32
from suitability.layers.land import Land


def slope_deg(land: Land) -> Float32:
    """Return the steepness of the ground, (rows, cols), 0 where it is level. [degrees].

    References
    ----------
    .. [1] B. K. P. Horn, Hill shading and the reflectance map, Proc. IEEE 69, 14-47, 1981.
    """
    east, north = horn_gradients(land.ground, land.grid.cell_m)
    return np.asarray(np.degrees(np.arctan(np.hypot(east, north))), dtype=np.float32)


def aspect_deg(
    land: Land, convergence_deg: Float32 | float, *, level_below_deg: float = 0.0
) -> Float32:
    """Return where the slope faces, downhill, (rows, cols): clockwise from true north. [degrees].

    Parameters
    ----------
    land : Land
        Ground on its grid.
    convergence_deg : float or numpy.ndarray
        Meridian convergence, for all or (rows, cols): true azimuth = grid azimuth + convergence.
    level_below_deg : float
        Ground of this slope or less faces nowhere. [degrees]

    Returns
    -------
    numpy.ndarray
        float32, 0 (north) to less than 360; NaN where the ground is level or unknown.

    References
    ----------
    .. [1] B. K. P. Horn, Hill shading and the reflectance map, Proc. IEEE 69, 14-47, 1981.
    """
    east, north = horn_gradients(land.ground, land.grid.cell_m)
    steepness = np.degrees(np.arctan(np.hypot(east, north)))
    downhill = np.degrees(np.arctan2(-east, -north)).astype(np.float64) + convergence_deg
    facing = np.asarray(downhill % 360.0, dtype=np.float32)
    facing[facing >= 360.0] = 0.0  # what float32 rounds up
    facing[~(steepness > level_below_deg)] = np.nan
    return facing


def convergence_over(grid: Grid, window: Window) -> Float32:
    """Return the meridian convergence over a window of a grid, (rows, cols). [degrees].

    Between the corners of the whole grid it is taken as a plane twisted through them, so that any
    window finds the same.
    """
    west, south, east, north = grid.bounds
    corners = [[grid.convergence_deg(x, y) for x in (west, east)] for y in (north, south)]
    down = ((np.arange(window.rows) + window.row + 0.5) / grid.rows)[:, None]
    across = (np.arange(window.cols) + window.col + 0.5) / grid.cols
    upper = corners[0][0] + (corners[0][1] - corners[0][0]) * across
    lower = corners[1][0] + (corners[1][1] - corners[1][0]) * across
    return np.asarray(upper + (lower - upper) * down, dtype=np.float32)
