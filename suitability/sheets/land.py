"""Squares of a run's land around its sites, as the maps of their pages show them."""

from __future__ import annotations

import math
from functools import cached_property

import geopandas
import numpy as np
import shapely

from suitability.finished import FinishedRun
from suitability.grid import Float32, Grid, Window
from suitability.outputs.cautions import Mount
from suitability.outputs.figure_map import block_mean
from suitability.outputs.sheet_content import SheetMap

# Edge of the square from near: a walk of some minutes; about a wall, its building is seen.
NEAR_M: dict[Mount, float] = {"pole": 400.0, "wall": 160.0}
_FEWEST_CELLS = 40  # along it, on land of wide cells
_WIDEST_M = 3000.0  # edge of the square that shows where on the land a site is
_PICTURE_CELLS = 300  # along a map that shows the relief alone
_SHADES = 32  # of the relief
_KINDS = ("water", "boundary", "buildings", "wires")
# Clipped shapes have false edges; those lie outside the square.
_BEYOND = 0.1


class LandAround:
    """The land of a finished run, read once for all pages.

    Parameters
    ----------
    run : FinishedRun
        The run.
    """

    def __init__(self, run: FinishedRun) -> None:
        self._run = run
        sites = run.sites
        self._ranks = sites["rank"].to_numpy(np.int64)
        self._x, self._y = (sites[name].to_numpy(np.float64) for name in ("x_m", "y_m"))
        self._scale_factor = run.grid.scale_factor()

    def near(
        self, rank: int, kind: Mount, facing_true_deg: float | None, *, is_judged: bool
    ) -> SheetMap:
        """Return the square around a site from near, the site in its middle.

        Parameters
        ----------
        rank : int
            Of the site.
        kind : {"pole", "wall"}
            What its box hangs on.
        facing_true_deg : float or None
            The way that the box looks. [degrees]
        is_judged : bool
            Whether score and excluded land are shown; else the relief alone.
        """
        x, y = self._place(rank)
        side = max(NEAR_M[kind], _FEWEST_CELLS * self._run.grid.cell_m)
        bounds = (x - side / 2, y - side / 2, x + side / 2, y + side / 2)
        return self._shown(rank, bounds, facing_true_deg, is_judged=is_judged)

    def wide(self, rank: int) -> SheetMap:
        """Return the square that shows where on the land a site is; moved to lie on the land."""
        west, south, east, north = self._run.grid.bounds
        side = min(max(east - west, north - south), _WIDEST_M)
        x, y = (
            (low + high) / 2
            if high - low <= side
            else float(np.clip(at, low + side / 2, high - side / 2))
            for at, low, high in zip(self._place(rank), (west, south), (east, north), strict=True)
        )
        bounds = (x - side / 2, y - side / 2, x + side / 2, y + side / 2)
        return self._shown(rank, bounds, None, is_judged=False)

    def shapes(self, kind: str) -> geopandas.GeoDataFrame | None:
        """Return what the run knew of a kind, as `FinishedRun.features`, read once."""
        return self._shapes[kind]

    def convergence_deg(self, rank: int) -> float:
        """Return the meridian convergence at a site. [degrees]."""
        return self._run.grid.convergence_deg(*self._place(rank))

    def _place(self, rank: int) -> tuple[float, float]:
        at = int(np.flatnonzero(self._ranks == rank)[0])
        return float(self._x[at]), float(self._y[at])

    def _shown(
        self,
        rank: int,
        bounds: tuple[float, float, float, float],
        facing_true_deg: float | None,
        *,
        is_judged: bool,
    ) -> SheetMap:
        west, south, east, north = bounds
        inside = (self._x >= west) & (self._x <= east) & (self._y >= south) & (self._y <= north)
        order = np.flatnonzero(inside)
        order = order[np.argsort(self._ranks[order] != rank, kind="stable")]
        turned = self.convergence_deg(rank)
        grid, score, excluded, light = self._rasters(bounds, is_judged=is_judged)
        return SheetMap(
            bounds=bounds,
            grid=grid,
            score=score,
            excluded=excluded,
            light=light,
            ranks=tuple(self._ranks[order].tolist()),
            x_m=self._x[order],
            y_m=self._y[order],
            facing_deg=None if facing_true_deg is None else facing_true_deg - turned,
            true_north_deg=-turned,
            scale_factor=self._scale_factor,
            shapes=self._clipped(bounds),
        )

    def _rasters(
        self, bounds: tuple[float, float, float, float], *, is_judged: bool
    ) -> tuple[Grid, Float32, np.ndarray, Float32 | None]:
        relief, whole = self._relief, self._run.grid
        if is_judged:
            window = _window(whole, bounds)
            score, bits = self._run.window(window)
            light = None if relief is None else _light(relief, whole, window)
            return whole.window(window), score, bits != 0, light
        if relief is None:  # white paper under the lines
            none = np.empty((0, 0), np.float32)
            return whole, none, none.astype(bool), None
        window = _window(relief[1], bounds)
        # Finer is not printed, and a hundred pages of it would not go by mail.
        step = math.ceil(max(window.rows, window.cols) / _PICTURE_CELLS)
        light = _in_shades(block_mean(relief[0][window.slices], step))
        blank = np.full(light.shape, np.nan, np.float32)
        grid = relief[1].window(window).coarser(step)
        return grid, blank, np.zeros(light.shape, bool), light

    def _clipped(
        self, bounds: tuple[float, float, float, float]
    ) -> dict[str, geopandas.GeoDataFrame]:
        beyond = (bounds[2] - bounds[0]) * _BEYOND
        west, south, east, north = bounds
        around = (west - beyond, south - beyond, east + beyond, north + beyond)
        square, found = shapely.box(*bounds), {}
        for kind, shapes in self._shapes.items():
            if shapes is None:
                continue
            near = shapes.cx[around[0] : around[2], around[1] : around[3]].geometry.to_numpy()
            parts = shapely.clip_by_rect(shapely.make_valid(near), *around)
            parts = parts[shapely.intersects(parts, square)]
            if parts.size:
                found[kind] = geopandas.GeoDataFrame(geometry=parts, crs=shapes.crs)
        return found

    @cached_property
    def _shapes(self) -> dict[str, geopandas.GeoDataFrame | None]:
        return {kind: self._run.features(kind) for kind in _KINDS}

    @cached_property
    def _relief(self) -> tuple[Float32, Grid] | None:
        return self._run.relief()


def _window(grid: Grid, bounds: tuple[float, float, float, float]) -> Window:
    """Return the cells of a grid that a square reaches."""
    west, south, east, north = bounds
    left, _, _, top = grid.bounds
    row, col = math.floor((top - north) / grid.cell_m), math.floor((west - left) / grid.cell_m)
    rows = math.ceil((top - south) / grid.cell_m) - row
    cols = math.ceil((east - left) / grid.cell_m) - col
    return Window(row, col, rows, cols).clipped(grid.shape)


def _light(relief: tuple[Float32, Grid], grid: Grid, window: Window) -> Float32:
    """Return the relief, whose cells are wider, at the cells of a window."""
    light, coarse = relief
    step = round(coarse.cell_m / grid.cell_m)
    rows = (window.row + np.arange(window.rows)) // step
    cols = (window.col + np.arange(window.cols)) // step
    found: Float32 = light[
        np.ix_(np.minimum(rows, light.shape[0] - 1), np.minimum(cols, light.shape[1] - 1))
    ]
    return _in_shades(found)


def _in_shades(light: Float32) -> Float32:
    """Return a relief in few shades: the eye sees no more, and files are half as large."""
    return (np.round(light * (_SHADES - 1)) / (_SHADES - 1)).astype(np.float32)
