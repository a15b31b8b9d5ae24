"""Direct-sun hours from cast shadows, for any set of sun positions."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from suitability.kernels.sweep import UNKNOWN, add_transposed, empty_fronts, far_fronts, sweep
from suitability.sun.far import FarLand

Float32 = NDArray[np.float32]
Float64 = NDArray[np.float64]

# Positions that pass over the rows together: their fronts (16 x 16 KiB for 4,000 columns) and a
# row of everything else stay in a core's second-level cache.
_TOGETHER = 16
# Above this the sun stands overhead: nothing but the cell itself is above it.
_OVERHEAD_DEG = 89.9


@dataclass(frozen=True)
class Scene:
    """A surface that casts shadows and the receivers on it, laid out for both sweep axes.

    Make it once by `Scene.of` and use it for many sets of sun positions; it is read only.
    """

    surface: Float32
    receiver: Float32
    surface_turned: Float32
    receiver_turned: Float32
    unknown: NDArray[np.bool_]
    cell: float

    @classmethod
    def of(cls, surface: ArrayLike, receiver: ArrayLike, cell: float) -> Scene:
        """Check, pad and turn the arrays; see `sweep_hours` for their meaning."""
        high = np.asarray(surface, dtype=np.float32)
        low = np.asarray(receiver, dtype=np.float32)
        if high.ndim != 2 or high.shape != low.shape or high.size == 0:
            msg = f"surface {high.shape} and receiver {low.shape} must be alike and 2-D"
            raise ValueError(msg)
        if not (np.isfinite(cell) and cell > 0):
            msg = f"a cell of {cell} m is not a length"
            raise ValueError(msg)
        unknown = np.isnan(low)
        known_high = np.where(np.isnan(high), UNKNOWN, high)
        known_low = np.where(unknown, -UNKNOWN, low)
        return cls(
            _framed(known_high),
            np.ascontiguousarray(known_low),
            _framed(known_high.T),
            np.ascontiguousarray(known_low.T),
            unknown,
            float(cell),
        )


def sweep_hours(
    surface: ArrayLike,
    receiver: ArrayLike,
    cell: float,
    azimuth_deg: ArrayLike,
    altitude_deg: ArrayLike,
    hours: ArrayLike,
    *,
    lines_per_cell: int = 1,
) -> Float32:
    """Sum the hours of those sun positions whose light reaches each receiver.

    Light is straight: the sun is a point, and earth curvature is left out (0.08 m over 1 km).
    Beyond the array nothing casts a shadow.

    Parameters
    ----------
    surface : array_like
        (rows, cols), top of ground, canopy and buildings; NaN never shades. [m]
    receiver : array_like
        (rows, cols), height of the point that is lit or not, such as ground plus mount height;
        NaN gives NaN. [m]
    cell : float
        Edge of a square cell. [m]
    azimuth_deg, altitude_deg : array_like
        (n,), where the sun stands: clockwise from grid north, and above the horizon. A position
        at or below the horizon lights nothing. [degrees]
    hours : array_like
        (n,), time that each position stands for. [h]
    lines_per_cell : {1, 2}
        Lines of light a cell: 2 halves the error for nearly twice the work.

    Returns
    -------
    numpy.ndarray
        (rows, cols) float32, hours of light. [h]

    Raises
    ------
    ValueError
        If shapes differ, the cell is no length, a position is not finite or `lines_per_cell` is
        neither 1 nor 2.

    Notes
    -----
    The sweep carries shadow fronts along lines of light, one pass over the cells for each
    position; see `suitability.kernels.sweep`.
    """
    scene = Scene.of(surface, receiver, cell)
    lit = lit_hours(scene, azimuth_deg, altitude_deg, hours, lines_per_cell=lines_per_cell)
    lit[scene.unknown] = np.nan
    return lit


def lit_hours(
    scene: Scene,
    azimuth_deg: ArrayLike,
    altitude_deg: ArrayLike,
    hours: ArrayLike,
    *,
    lines_per_cell: int = 1,
    first_cell: tuple[int, int] = (0, 0),
    far: FarLand | None = None,
) -> Float32:
    """Return hours of light as `sweep_hours` does, of a scene made before; unknown cells count all.

    `first_cell` is the row and column of the scene's first cell in the whole grid: lines of light
    are anchored to the whole grid, so that a part of it gets the bits of the whole. `far` is the
    land of the whole grid, seen coarsely, which casts shadows from beyond the scene.
    """
    azimuth, altitude, weight = _positions(azimuth_deg, altitude_deg, hours)
    if lines_per_cell not in (1, 2):
        msg = f"lines_per_cell is 1 or 2, not {lines_per_cell}"
        raise ValueError(msg)
    lit = np.zeros(scene.receiver.shape, np.float32)
    turned: Float32 | None = None
    for group in _groups(azimuth, altitude, weight, scene.cell):
        if group.along_columns and turned is None:
            turned = np.zeros(scene.receiver_turned.shape, np.float32)
        surface = scene.surface_turned if group.along_columns else scene.surface
        receiver = scene.receiver_turned if group.along_columns else scene.receiver
        target = turned if group.along_columns and turned is not None else lit
        first, across = first_cell[::-1] if group.along_columns else first_cell
        rows, cols = receiver.shape
        front, base = empty_fronts(group.slopes, rows, cols, first, lines_per_cell)
        if far is not None:
            far_fronts(
                front,
                base,
                group.slopes,
                group.drops,
                group.upwards,
                (rows, cols),
                (first, across),
                far.along_cols if group.along_columns else far.along_rows,
                far.block,
                far.shape[::-1] if group.along_columns else far.shape,
            )
        sweep(
            target,
            surface,
            receiver,
            group.slopes,
            group.drops,
            group.hours,
            group.upwards,
            first,
            front,
            base,
        )
    if turned is not None:
        add_transposed(lit, turned)
    return lit


@dataclass(frozen=True)
class _Group:
    """Positions that sweep along the same axis in the same order."""

    along_columns: bool
    upwards: bool
    slopes: Float64
    drops: Float64
    hours: Float32


def _groups(azimuth: Float64, altitude: Float64, hours: Float32, cell: float) -> Iterator[_Group]:
    """Sort positions into sweeps: by the larger component of the way to the sun."""
    east, south = np.sin(np.radians(azimuth)), -np.cos(np.radians(azimuth))
    turned = np.abs(east) > np.abs(south)
    along, across = np.where(turned, east, south), np.where(turned, south, east)
    # Rounded, so that light along the cells stays on them: a line that leaves the outer row by a
    # last bit would meet no land there.
    slopes = np.round(across / along, 12)
    drops = cell * np.tan(np.radians(np.minimum(altitude, _OVERHEAD_DEG))) / np.abs(along)
    for along_columns in (False, True):
        for upwards in (False, True):
            chosen = np.flatnonzero((turned == along_columns) & ((along > 0) == upwards))
            for first in range(0, chosen.size, _TOGETHER):
                some = chosen[first : first + _TOGETHER]
                yield _Group(along_columns, upwards, slopes[some], drops[some], hours[some])


def _positions(
    azimuth_deg: ArrayLike, altitude_deg: ArrayLike, hours: ArrayLike
) -> tuple[Float64, Float64, Float32]:
    """Check sun positions and keep those above the horizon."""
    azimuth = np.atleast_1d(np.asarray(azimuth_deg, dtype=np.float64))
    altitude = np.atleast_1d(np.asarray(altitude_deg, dtype=np.float64))
    weight = np.atleast_1d(np.asarray(hours, dtype=np.float32))
    if azimuth.ndim != 1 or not azimuth.shape == altitude.shape == weight.shape:
        msg = (
            f"azimuths {azimuth.shape}, altitudes {altitude.shape} and hours {weight.shape} differ"
        )
        raise ValueError(msg)
    if not (np.isfinite(azimuth).all() and np.isfinite(altitude).all()):
        msg = "azimuths and altitudes must be finite numbers of degrees"
        raise ValueError(msg)
    up = altitude > 0
    return azimuth[up], altitude[up], weight[up]


def _framed(values: Float32) -> Float32:
    """Put an unknown column on either side: a line beyond the outer centres meets no land."""
    rows, cols = values.shape
    framed = np.full((rows, cols + 2), UNKNOWN, np.float32)
    framed[:, 1:-1] = values
    return framed
