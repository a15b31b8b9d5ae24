"""The piece of the world that the invented preserve lies in: grid, axes, smooth noise and lines.

Two plain coordinate pairs are used, both in metres:

* local ``x, y``: along grid east and grid north from the raster's south-west corner;
* survey ``p, q``: along true east and true north from the raster's centre. Roads, field lines and
  property lines follow them, as land surveys do, so they stand askew in the grid.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from functools import cache
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from pyproj import Proj, Transformer
from rasterio.features import rasterize
from rasterio.transform import from_origin
from scipy.interpolate import CubicSpline, RectBivariateSpline
from scipy.ndimage import gaussian_filter
from scipy.spatial import cKDTree
from shapely import transform as move
from shapely.geometry.base import BaseGeometry

Field = NDArray[np.float64]
Mask = NDArray[np.bool_]
Scalar = TypeVar("Scalar", bound=np.generic)

EPSG = 32616
CELL_M = 2.0
ROWS, COLUMNS = 1100, 1200
WEST_M, SOUTH_M = 728_600.0, 4_452_340.0
WIDTH_M, HEIGHT_M = COLUMNS * CELL_M, ROWS * CELL_M
SEED = 40284

X_M = (np.arange(COLUMNS) + 0.5) * CELL_M
Y_M = (ROWS - np.arange(ROWS) - 0.5) * CELL_M
XX_M, YY_M = np.meshgrid(X_M, Y_M)
LOCAL_TRANSFORM = from_origin(0.0, HEIGHT_M, CELL_M, CELL_M)
WORLD_TRANSFORM = from_origin(WEST_M, SOUTH_M + HEIGHT_M, CELL_M, CELL_M)


@cache
def convergence_rad() -> float:
    """Angle from true north to grid north at the raster's centre [rad]."""
    crs = f"EPSG:{EPSG}"
    to_lonlat = Transformer.from_crs(crs, "EPSG:4326", always_xy=True)
    lon, lat = to_lonlat.transform(WEST_M + WIDTH_M / 2, SOUTH_M + HEIGHT_M / 2)
    return float(np.radians(Proj(crs).get_factors(lon, lat).meridian_convergence))


def survey_to_local(p: Field, q: Field) -> tuple[Field, Field]:
    """Turn survey coordinates into local ones [m]."""
    cos, sin = np.cos(convergence_rad()), np.sin(convergence_rad())
    return WIDTH_M / 2 + p * cos - q * sin, HEIGHT_M / 2 + p * sin + q * cos


def local_to_survey(x: Field, y: Field) -> tuple[Field, Field]:
    """Turn local coordinates into survey ones [m]."""
    cos, sin = np.cos(convergence_rad()), np.sin(convergence_rad())
    east, north = x - WIDTH_M / 2, y - HEIGHT_M / 2
    return east * cos + north * sin, north * cos - east * sin


def surveyed(shape: BaseGeometry) -> BaseGeometry:
    """Move a shape drawn in survey coordinates into local ones."""
    return move(shape, lambda pq: np.column_stack(survey_to_local(pq[:, 0], pq[:, 1])))


def to_world(shape: BaseGeometry) -> BaseGeometry:
    """Move a local shape to the map, on whole centimetres, so that any machine writes the same."""
    return move(shape, lambda xy: np.round(xy + np.array([WEST_M, SOUTH_M]), 2))


def mask_of(shapes: list[BaseGeometry], *, touched: bool = False) -> Mask:
    """Cells whose centre lies in one of the local shapes, or that a shape touches."""
    burnt = rasterize(
        shapes, out_shape=(ROWS, COLUMNS), transform=LOCAL_TRANSFORM, all_touched=touched
    )
    return np.asarray(burnt, dtype=bool)


def dice(name: str) -> np.random.Generator:
    """Random numbers of their own for each purpose, so that one change does not stir the rest."""
    return np.random.default_rng([SEED, zlib.crc32(name.encode())])


def noise(name: str, wavelength_m: float) -> Field:
    """Smooth random surface over the raster: mean 0, deviation 1, that far from hill to hill."""
    step_m = wavelength_m / 4
    xs = np.arange(-3, WIDTH_M / step_m + 4) * step_m
    ys = np.arange(-3, HEIGHT_M / step_m + 4) * step_m
    rough = gaussian_filter(dice(name).standard_normal((ys.size, xs.size)), 1.0, mode="wrap")
    rough = (rough - rough.mean()) / rough.std()
    return np.asarray(RectBivariateSpline(ys, xs, rough)(Y_M[::-1], X_M)[::-1])


def wander(name: str, count: int, wavelength: float) -> Field:
    """Smooth random sequence: mean 0, deviation 1."""
    knots = dice(name).standard_normal(int(count / wavelength * 2) + 6)
    return np.asarray(CubicSpline(np.arange(knots.size), knots)(np.arange(count) / wavelength * 2))


def ramp(values: Field, start: float, end: float) -> Field:
    """Rise smoothly from 0 at `start` to 1 at `end`."""
    t = np.clip((values - start) / (end - start), 0, 1)
    return np.asarray(t * t * (3 - 2 * t))


@dataclass(frozen=True)
class Line:
    """A line of points about 2 m apart, in local coordinates [m]."""

    xy: Field

    @property
    def station_m(self) -> Field:
        """Way along the line to each point [m]."""
        steps = np.hypot(*np.diff(self.xy, axis=0).T)
        return np.concatenate([[0.0], np.cumsum(steps)])

    @property
    def normal(self) -> Field:
        """Unit vectors to the left of the line's direction."""
        along = np.gradient(self.xy, axis=0)
        along /= np.hypot(along[:, 0], along[:, 1])[:, None]
        return np.column_stack([-along[:, 1], along[:, 0]])

    def nearest(self, x: Field, y: Field) -> tuple[Field, NDArray[np.intp]]:
        """Distance to the line [m] and the number of its nearest point, for each place."""
        distance, index = cKDTree(self.xy).query(np.column_stack([x.ravel(), y.ravel()]))
        return distance.reshape(x.shape), index.reshape(x.shape)

    def window(self, margin_m: float) -> tuple[slice, slice]:
        """Rows and columns that lie within a margin of the line."""
        low, high = self.xy.min(axis=0) - margin_m, self.xy.max(axis=0) + margin_m
        rows = np.clip([(HEIGHT_M - high[1]) / CELL_M, (HEIGHT_M - low[1]) / CELL_M + 1], 0, ROWS)
        columns = np.clip([low[0] / CELL_M, high[0] / CELL_M + 1], 0, COLUMNS)
        return slice(int(rows[0]), int(rows[1])), slice(int(columns[0]), int(columns[1]))


def evenly(xy: Field, step_m: float = CELL_M) -> Line:
    """Lay points at even steps along a broken line."""
    way = Line(xy).station_m
    # A way of whole steps keeps them all, whichever side of it the last digit falls on: that
    # differs among processors.
    at = np.linspace(0, way[-1], max(int(way[-1] / step_m + 1e-6), 2) + 1)
    return Line(np.column_stack([np.interp(at, way, xy[:, 0]), np.interp(at, way, xy[:, 1])]))


def curve_through(points: list[tuple[float, float]]) -> Line:
    """Draw a smooth curve through a few points."""
    xy = np.array(points, dtype=float)
    way = Line(xy).station_m
    spline = CubicSpline(way, xy)
    return evenly(spline(np.arange(0, way[-1], CELL_M / 2)))


def sample(field: NDArray[Scalar], xy: Field) -> NDArray[Scalar]:
    """Values of the cells that points lie in; points outside take the border's."""
    rows = np.clip(((HEIGHT_M - xy[:, 1]) / CELL_M).astype(int), 0, ROWS - 1)
    columns = np.clip((xy[:, 0] / CELL_M).astype(int), 0, COLUMNS - 1)
    values: NDArray[Scalar] = field[rows, columns]
    return values
