"""The common grid of a run, as a value: projected, metric, square cells, north-up.

Conventions, here and everywhere below: `row` grows southwards and `col` eastwards; the
transform names the outer corner of a cell, a value stands for the cell's area, and a cell's
point is its centre. `x, y` are coordinates of the grid's CRS in metres; `lon, lat` are WGS 84
degrees. A solar azimuth is clockwise from true north; less the meridian convergence it is a
grid azimuth, clockwise from the grid's +y axis.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
import pyproj
from affine import Affine
from numpy.typing import ArrayLike, NDArray
from pyproj.aoi import AreaOfInterest
from pyproj.database import query_utm_crs_info

from suitability.errors import GridError

Float32 = NDArray[np.float32]
Float64 = NDArray[np.float64]
Bounds = tuple[float, float, float, float]

WGS84 = pyproj.CRS.from_epsg(4326)

# A projection may stretch lengths by this much before distances in it mislead: UTM stays within
# 0.1 %, national conic grids within 2 %; Web Mercator is off by 30 % at 40 degrees.
MAX_SCALE_ERROR = 0.03


@dataclass(frozen=True, order=True)
class Window:
    """A rectangle of cells: its first row and column, and how many of each."""

    row: int
    col: int
    rows: int
    cols: int

    @property
    def slices(self) -> tuple[slice, slice]:
        """Select the window from an array of the whole grid."""
        return slice(self.row, self.row + self.rows), slice(self.col, self.col + self.cols)

    @property
    def cells(self) -> int:
        """How many cells the window has."""
        return self.rows * self.cols

    def around(self, other: Window) -> Window:
        """Return the smallest window that has this one and another within."""
        row, col = min(self.row, other.row), min(self.col, other.col)
        last_row = max(self.row + self.rows, other.row + other.rows)
        last_col = max(self.col + self.cols, other.col + other.cols)
        return Window(row, col, last_row - row, last_col - col)

    def grown(self, cells: int) -> Window:
        """Return the window with so many cells more on every side, perhaps beyond the grid."""
        return Window(
            self.row - cells, self.col - cells, self.rows + 2 * cells, self.cols + 2 * cells
        )

    def clipped(self, shape: tuple[int, int]) -> Window:
        """Return the part of the window within a grid of this shape."""
        row, col = max(self.row, 0), max(self.col, 0)
        rows = min(self.row + self.rows, shape[0]) - row
        cols = min(self.col + self.cols, shape[1]) - col
        return Window(row, col, rows, cols)

    def within(self, outer: Window) -> tuple[slice, slice]:
        """Select the window from an array of an outer window."""
        row, col = self.row - outer.row, self.col - outer.col
        return slice(row, row + self.rows), slice(col, col + self.cols)


@dataclass(frozen=True)
class Grid:
    """Square cells of a projected CRS in metres; rows run north to south.

    Parameters
    ----------
    crs : pyproj.CRS
        Projected, its axes in metres.
    west, north : float
        The outer corner of the first cell. [m]
    cell_m : float
        Edge of a cell. [m]
    rows, cols : int
        How many cells there are.

    Raises
    ------
    GridError
        If the CRS is not projected, not in metres or stretches lengths by more than 3 % here.
    """

    crs: pyproj.CRS
    west: float
    north: float
    cell_m: float
    rows: int
    cols: int

    def __post_init__(self) -> None:
        _require_metric(self.crs)
        if not (math.isfinite(self.cell_m) and self.cell_m > 0):
            msg = f"a cell of {self.cell_m} m cannot make a grid"
            raise GridError(msg, where="grid.cell", fix="give a length above zero, such as 2 m")
        if self.rows < 1 or self.cols < 1:
            msg = f"the grid would have {self.rows} rows and {self.cols} columns"
            raise GridError(msg, where="grid", fix="check that the inputs overlap")
        self._require_true_lengths()

    @classmethod
    def covering(cls, crs: pyproj.CRS, bounds: Bounds, cell_m: float) -> Grid:
        """Return the smallest grid over `bounds` whose lines are whole multiples of the cell.

        Parameters
        ----------
        crs : pyproj.CRS
            CRS of grid and bounds.
        bounds : tuple of float
            West, south, east, north. [m]
        cell_m : float
            Edge of a cell. [m]
        """
        west, south, east, north = bounds
        # A millionth of a cell of slack keeps an exact multiple from gaining a row by rounding.
        first_col = math.floor(west / cell_m + 1e-6)
        last_col = math.ceil(east / cell_m - 1e-6)
        first_row = math.floor(south / cell_m + 1e-6)
        last_row = math.ceil(north / cell_m - 1e-6)
        return cls(
            crs,
            first_col * cell_m,
            last_row * cell_m,
            cell_m,
            last_row - first_row,
            last_col - first_col,
        )

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.rows, self.cols

    @property
    def transform(self) -> Affine:
        """Pixel to world, from the outer corner of the first cell."""
        return Affine(self.cell_m, 0.0, self.west, 0.0, -self.cell_m, self.north)

    @property
    def bounds(self) -> Bounds:
        """West, south, east, north. [m]."""
        return (
            self.west,
            self.north - self.rows * self.cell_m,
            self.west + self.cols * self.cell_m,
            self.north,
        )

    @property
    def centre(self) -> tuple[float, float]:
        """The middle of the grid, x and y. [m]."""
        west, south, east, north = self.bounds
        return (west + east) / 2, (south + north) / 2

    @property
    def whole(self) -> Window:
        """The window of all cells."""
        return Window(0, 0, self.rows, self.cols)

    def window(self, window: Window) -> Grid:
        """Return the grid of a window, which may reach beyond this one; its cells are the same."""
        return replace(
            self,
            west=self.west + window.col * self.cell_m,
            north=self.north - window.row * self.cell_m,
            rows=window.rows,
            cols=window.cols,
        )

    def tiles(self, side: int) -> tuple[Window, ...]:
        """Return windows of `side` cells a side that cover the grid, row by row; the last are cut.

        Parameters
        ----------
        side : int
            Cells along a side.
        """
        return tuple(
            Window(row, col, side, side).clipped(self.shape)
            for row in range(0, self.rows, side)
            for col in range(0, self.cols, side)
        )

    def coarser(self, step: int) -> Grid:
        """Return the grid of squares of `step` cells a side; the last may reach beyond this one."""
        return replace(
            self,
            cell_m=self.cell_m * step,
            rows=-(-self.rows // step),
            cols=-(-self.cols // step),
        )

    def xy(self, row: ArrayLike, col: ArrayLike) -> tuple[Float64, Float64]:
        """Return the centres of cells, x and y. [m]."""
        x = self.west + (np.asarray(col, dtype=np.float64) + 0.5) * self.cell_m
        y = self.north - (np.asarray(row, dtype=np.float64) + 0.5) * self.cell_m
        return x, y

    def position(self, x: ArrayLike, y: ArrayLike) -> tuple[Float64, Float64]:
        """Return fractional row and column; a cell's centre is at whole numbers."""
        row = (self.north - np.asarray(y, dtype=np.float64)) / self.cell_m - 0.5
        col = (np.asarray(x, dtype=np.float64) - self.west) / self.cell_m - 0.5
        return row, col

    def cell_of(self, x: float, y: float) -> tuple[int, int] | None:
        """Return row and column of the cell that holds a point, or None outside the grid."""
        row = math.floor((self.north - y) / self.cell_m)
        col = math.floor((x - self.west) / self.cell_m)
        inside = 0 <= row < self.rows and 0 <= col < self.cols
        return (row, col) if inside else None

    def lonlat(self, x: ArrayLike, y: ArrayLike) -> tuple[Float64, Float64]:
        """Return WGS 84 longitude and latitude. [degrees]."""
        lon, lat = transformer(self.crs, WGS84).transform(np.asarray(x), np.asarray(y))
        return np.asarray(lon, dtype=np.float64), np.asarray(lat, dtype=np.float64)

    def from_lonlat(self, lon: float, lat: float) -> tuple[float, float]:
        """Return the grid's x and y of a WGS 84 point. [m]."""
        x, y = transformer(WGS84, self.crs).transform(lon, lat)
        return float(x), float(y)

    def convergence_deg(self, x: float | None = None, y: float | None = None) -> float:
        """Return the meridian convergence at a point (default: the centre). [degrees].

        The sign is that of PROJ: grid azimuth = true azimuth - convergence.
        """
        return float(self._factors(x, y).meridian_convergence)

    def scale_factor(self) -> float:
        """Return the mean linear scale of the projection at the grid's centre."""
        factors = self._factors(None, None)
        return float(math.sqrt(factors.areal_scale))

    @cached_property
    def label(self) -> str:
        """The CRS in a word: its authority code where it has one, else its name."""
        authority = self.crs.to_authority(min_confidence=100)
        return ":".join(authority) if authority else str(self.crs.name)

    def _factors(self, x: float | None, y: float | None) -> Any:
        if x is None or y is None:
            x, y = self.centre
        projection = pyproj.Proj(self.crs)
        lon, lat = projection(x, y, inverse=True)
        return projection.get_factors(lon, lat)

    def _require_true_lengths(self) -> None:
        stretch = self.scale_factor()
        if abs(stretch - 1) > MAX_SCALE_ERROR or not math.isfinite(stretch):
            msg = f"lengths in {self.crs.name} are {stretch:.3f} times true here"
            fix = "state a local CRS in grid.crs, or leave it out to get the UTM zone"
            raise GridError(msg, where="grid.crs", fix=fix)


@dataclass(frozen=True)
class Layer:
    """A measured quantity on a grid.

    Parameters
    ----------
    name : str
        Name with its unit, such as `water_distance_m`.
    values : numpy.ndarray
        (rows, cols) float32; NaN is "no data" and nothing else.
    grid : Grid
        Where the values lie.
    unit : str
        Unit of the values.
    """

    name: str
    values: Float32
    grid: Grid
    unit: str

    def __post_init__(self) -> None:
        if self.values.shape != self.grid.shape:
            msg = f"{self.name} has shape {self.values.shape}, its grid {self.grid.shape}"
            raise ValueError(msg)


@lru_cache(maxsize=64)
def transformer(source: pyproj.CRS, target: pyproj.CRS) -> pyproj.Transformer:
    """Return the transformer between two CRSs, x (east, longitude) always first."""
    return pyproj.Transformer.from_crs(source, target, always_xy=True)


def utm_crs(lon: float, lat: float) -> pyproj.CRS:
    """Return the WGS 84 UTM zone of a point; beyond 84° N and 80° S there is none.

    Raises
    ------
    GridError
        If the point lies in no UTM zone.
    """
    place = AreaOfInterest(lon, lat, lon, lat)
    found = query_utm_crs_info(datum_name="WGS 84", area_of_interest=place)
    if not found:
        msg = f"no UTM zone holds {lat:.4f}, {lon:.4f} (latitude, longitude)"
        raise GridError(msg, where="grid.crs", fix="state a projected CRS in metres in grid.crs")
    return pyproj.CRS.from_epsg(int(found[0].code))


def _require_metric(crs: pyproj.CRS) -> None:
    fix = "state a projected CRS in metres in grid.crs, or leave it out to get the UTM zone"
    if not crs.is_projected:
        kind = "geographic (degrees)" if crs.is_geographic else crs.type_name
        msg = f"{crs.name} is {kind}; shadows and distances need a projected CRS"
        raise GridError(msg, where="grid.crs", fix=fix)
    factors = {axis.unit_conversion_factor for axis in crs.axis_info[:2]}
    if factors != {1.0}:
        unit = crs.axis_info[0].unit_name
        msg = f"{crs.name} counts in {unit}, not in metres"
        raise GridError(msg, where="grid.crs", fix=fix)
