"""Moving a raster onto the grid so that any part of the grid reads the same values.

Warping a tile does not give the bits of warping the whole: the warper approximates positions
along each scanline it is given. So every warp here is of a block whose place hangs on the
grid's lattice (its CRS, cell and phase), not on where a grid begins or ends; a grid, or any
piece of it, is cut from those blocks. Positions are exact to a thousandth of a source cell.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
import rasterio.warp
from affine import Affine
from numpy.typing import NDArray
from rasterio.crs import CRS
from rasterio.enums import Resampling
from rasterio.io import DatasetReader, MemoryFile
from rasterio.vrt import WarpedVRT
from rasterio.windows import Window

from suitability.grid import Grid
from suitability.inputs.lattice import ALIGNED, BLOCK, Block, blocks_over, overlap
from suitability.inputs.opening import cell_size, crs_of, is_north_up, through

Values = NDArray[Any]
ReadWindow = Callable[[Window], Values]

MOST_SOURCE_CELLS = 16_000_000  # in memory at once; a block that needs more is quartered
TOLERANCE = 1e-3  # of a source cell; the warper's own default of 0.125 is 4 m on a 30 m raster
FINER = (
    1.5  # a source finer than this is averaged: bilinear would pick four cells and drop the rest
)
PAD = 3  # source cells around a window, for the resampler's neighbours

_METHODS = {
    "heights": (Resampling.bilinear, Resampling.average),
    "classes": (Resampling.nearest, Resampling.mode),
    "nearest": (Resampling.nearest, Resampling.nearest),
}
_WORDS = {
    Resampling.bilinear: "interpolated (bilinear)",
    Resampling.average: "averaged",
    Resampling.nearest: "taken from the nearest cell",
    Resampling.mode: "the commonest class taken",
}


@dataclass
class Target:
    """What is filled: the grid, the array on it, and what was done on the way."""

    grid: Grid
    kind: Literal["heights", "classes", "nearest"]
    values: Values
    nodata: float
    methods: set[Resampling] = field(default_factory=set)


def onto_grid(dataset: DatasetReader, target: Target, read_window: ReadWindow) -> str:
    """Fill the target from a raster, and return in words how.

    Parameters
    ----------
    dataset : rasterio dataset
        The open raster.
    target : Target
        Its values are overwritten wherever the raster has data.
    read_window : callable
        Gives the source's cells of a window, in the target's dtype, unit and nodata.
    """
    offset = same_cells(dataset, target.grid)
    if offset is not None:
        _copy(dataset, target, read_window, offset)
        return "its cells are the grid's: read as they are"
    for block in blocks_over(target.grid):
        _fill(dataset, target, read_window, block)
    across, along = cells_in_metres(dataset, target.grid)
    how = " or ".join(sorted(_WORDS[method] for method in target.methods)) or "nothing found"
    return f"{how}: cells of {across:.3g} × {along:.3g} m onto {target.grid.cell_m:g} m"


def same_cells(dataset: DatasetReader, grid: Grid) -> tuple[int, int] | None:
    """Return the row and column of the grid's first cell in a raster of the same cells, or None."""
    if not is_north_up(dataset) or not crs_of(dataset).equals(grid.crs, ignore_axis_order=True):
        return None
    west, south, east, north = grid.bounds
    cols, rows = through(~dataset.transform, np.array([west, east]), np.array([north, south]))
    row, col = round(rows[0]), round(cols[0])
    drift = np.abs([rows - (row, row + grid.rows), cols - (col, col + grid.cols)])
    return (row, col) if drift.max() <= ALIGNED else None


def cells_in_metres(dataset: DatasetReader, grid: Grid) -> tuple[float, float]:
    """Return the edges of a raster's cell in the grid's metres, at the grid's centre. [m]."""
    x, y = grid.centre
    return _edges_at(dataset, _crs(grid), x, y)


def _fill(dataset: DatasetReader, target: Target, read_window: ReadWindow, block: Block) -> None:
    here = overlap(target.grid, block)
    window = _source_window(dataset, _crs(target.grid), block) if here else None
    if here is None or window is None:
        return
    if window.width * window.height > MOST_SOURCE_CELLS and block.size >= 2:
        for quarter in block.quarters():
            _fill(dataset, target, read_window, quarter)
        return
    method = _method(dataset, target, block)
    target.methods.add(method)
    in_grid, in_block = here
    warped = _warp(dataset, target, read_window(window), window, block, method)
    target.values[in_grid] = warped[in_block]


def _method(dataset: DatasetReader, target: Target, block: Block) -> Resampling:
    # Chosen block by block, so that every grid over a block chooses alike.
    place, middle_m = block.transform, block.size * block.cell_m / 2
    x, y = place.c + middle_m, place.f - middle_m
    across, along = _edges_at(dataset, _crs(target.grid), x, y)
    coarse, fine = _METHODS[target.kind]
    return fine if block.cell_m > FINER * math.sqrt(across * along) else coarse


def _warp(
    dataset: DatasetReader,
    target: Target,
    cells: Values,
    window: Window,
    block: Block,
    method: Resampling,
) -> Values:
    turn = dataset.transform
    corner = through(turn, np.array(float(window.col_off)), np.array(float(window.row_off)))
    profile = {
        "driver": "GTiff",
        "height": cells.shape[0],
        "width": cells.shape[1],
        "count": 1,
        "dtype": cells.dtype,
        "crs": dataset.crs,
        "transform": Affine(turn.a, turn.b, float(corner[0]), turn.d, turn.e, float(corner[1])),
        "nodata": target.nodata,
    }
    with MemoryFile() as memory:
        with memory.open(**profile) as written:
            written.write(cells, 1)
        with (
            memory.open() as source,
            WarpedVRT(
                source,
                crs=_crs(target.grid),
                transform=block.transform,
                width=block.size,
                height=block.size,
                src_nodata=target.nodata,
                nodata=target.nodata,
                resampling=method,
                tolerance=TOLERANCE,
                warp_mem_limit=512,
                XSCALE=1,
                YSCALE=1,
            ) as warped,
        ):
            values: Values = warped.read(1)
    return values


def _copy(
    dataset: DatasetReader, target: Target, read_window: ReadWindow, offset: tuple[int, int]
) -> None:
    rows, cols = target.grid.shape
    step = 4 * BLOCK
    for row in range(0, rows, step):
        for col in range(0, cols, step):
            top, left = max(row, -offset[0]), max(col, -offset[1])
            bottom = min(row + step, rows, dataset.height - offset[0])
            right = min(col + step, cols, dataset.width - offset[1])
            if top < bottom and left < right:
                window = Window(left + offset[1], top + offset[0], right - left, bottom - top)
                target.values[top:bottom, left:right] = read_window(window)


def _source_window(dataset: DatasetReader, crs: CRS, block: Block) -> Window | None:
    """Return the source's cells that a block may need, or None."""
    steps = np.linspace(0, block.size, 17)
    cols, rows = (axis.ravel() for axis in np.meshgrid(steps, steps))
    place = block.transform
    x, y = place.c + place.a * cols, place.f + place.e * rows
    source_cols, source_rows = _to_source(dataset, crs, x, y)
    seen = np.isfinite(source_cols) & np.isfinite(source_rows)
    if not seen.any():
        return None
    left = max(0, math.floor(source_cols[seen].min()) - PAD)
    top = max(0, math.floor(source_rows[seen].min()) - PAD)
    right = min(dataset.width, math.ceil(source_cols[seen].max()) + PAD)
    bottom = min(dataset.height, math.ceil(source_rows[seen].max()) + PAD)
    return Window(left, top, right - left, bottom - top) if left < right and top < bottom else None


def _to_source(dataset: DatasetReader, crs: CRS, x: Values, y: Values) -> tuple[Values, Values]:
    # Rasterio's PROJ, because it is the warper's own.
    source_x, source_y = rasterio.warp.transform(crs, dataset.crs, x.tolist(), y.tolist())
    return through(~dataset.transform, np.asarray(source_x), np.asarray(source_y))


def _edges_at(dataset: DatasetReader, crs: CRS, x: float, y: float) -> tuple[float, float]:
    xs, ys = np.array([x]), np.array([y])
    col, row = (float(axis[0]) for axis in _to_source(dataset, crs, xs, ys))
    if not (math.isfinite(col) and math.isfinite(row)):
        return cell_size(dataset)
    corners = np.array([col, col + 1, col]), np.array([row, row, row + 1])
    there = through(dataset.transform, *corners)
    (x0, x1, x2), (y0, y1, y2) = rasterio.warp.transform(
        dataset.crs, crs, *(axis.tolist() for axis in there)
    )
    return math.hypot(x1 - x0, y1 - y0), math.hypot(x2 - x0, y2 - y0)


def _crs(grid: Grid) -> CRS:
    return CRS.from_wkt(grid.crs.to_wkt())
