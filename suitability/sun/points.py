"""The sun seen from one point: its horizon, and the hours that a face of a box gets."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from suitability.kernels.horizon import horizon_slopes
from suitability.sun.positions import SunPath

Float64 = NDArray[np.float64]


def horizon(
    surface: ArrayLike,
    cell: float,
    row: float,
    col: float,
    height_m: float,
    *,
    azimuth_deg: ArrayLike | None = None,
) -> Float64:
    """Return the altitude of the horizon around a point, over the bilinear surface.

    Parameters
    ----------
    surface : array_like
        (rows, cols), top of ground, canopy and buildings; NaN hides nothing. [m]
    cell : float
        Edge of a cell. [m]
    row, col : float
        The point; whole numbers are centres of cells.
    height_m : float
        Height of the point in the surface's datum, such as ground plus mount height. [m]
    azimuth_deg : array_like, optional
        (n,) clockwise from grid north; left out, every whole degree from 0 to 359. [degrees]

    Returns
    -------
    numpy.ndarray
        (n,) degrees above the horizontal, negative where the land falls away; -90 where no known
        surface lies that way.

    Raises
    ------
    ValueError
        If the point is outside the array or not finite.
    """
    high = np.ascontiguousarray(surface, dtype=np.float32)
    azimuth = np.arange(360.0) if azimuth_deg is None else np.asarray(azimuth_deg, np.float64)
    rows, cols = high.shape
    if not (0 <= row <= rows - 1 and 0 <= col <= cols - 1 and np.isfinite(height_m)):
        msg = f"no point at row {row}, column {col}, height {height_m} in {rows} x {cols} cells"
        raise ValueError(msg)
    slopes = horizon_slopes(
        high, float(row), float(col), float(height_m), float(cell), np.radians(azimuth)
    )
    return np.asarray(np.degrees(np.arctan(slopes)), dtype=np.float64)


def is_lit(sun: SunPath, horizon_deg: ArrayLike, convergence_deg: float) -> NDArray[np.bool_]:
    """Say which positions of the sun stand above a horizon.

    Parameters
    ----------
    sun : SunPath
        n positions, azimuths from true north.
    horizon_deg : array_like
        (m,) altitude of the horizon at m azimuths spread evenly from grid north. [degrees]
    convergence_deg : float
        Meridian convergence of the grid. [degrees]
    """
    profile = np.asarray(horizon_deg, dtype=np.float64)
    at = np.arange(profile.size) * 360 / profile.size
    hidden = np.interp((sun.azimuth_deg - convergence_deg) % 360, at, profile, period=360)
    return np.asarray(sun.altitude_deg >= hidden)


def hours_by_month(
    sun: SunPath, horizon_deg: ArrayLike, convergence_deg: float
) -> dict[int, float]:
    """Return the mean day's direct-sun hours of each month at a point. [h].

    Parameters are those of `is_lit`.
    """
    lit = is_lit(sun, horizon_deg, convergence_deg)
    return {m: float(sun.hours[lit & (sun.month == m)].sum()) for m in sun.share_of_season}


def hours_by_facing(
    sun: SunPath,
    horizon_deg: ArrayLike,
    convergence_deg: float,
    facing_deg: ArrayLike,
) -> Float64:
    """Return the season's mean hours a day in which the sun reaches an upright face, (k,). [h].

    Parameters
    ----------
    sun, horizon_deg, convergence_deg
        As for `is_lit`.
    facing_deg : array_like
        (k,) directions that the face looks, clockwise from true north. [degrees]
    """
    lit = face_is_lit(sun, horizon_deg, convergence_deg, facing_deg)
    return np.asarray(lit @ sun.season_hours, dtype=np.float64)


def face_is_lit(
    sun: SunPath, horizon_deg: ArrayLike, convergence_deg: float, facing_deg: ArrayLike
) -> NDArray[np.bool_]:
    """Say which positions of the sun reach upright faces, (k, n): before them, above the horizon.

    Parameters are those of `hours_by_facing`.
    """
    lit = is_lit(sun, horizon_deg, convergence_deg)
    facing = np.atleast_1d(np.asarray(facing_deg, dtype=np.float64))
    before = np.cos(np.radians(sun.azimuth_deg[None, :] - facing[:, None])) > 0
    return np.asarray(before & lit)
