"""Small windows of a raster, spread over the land, by which it is looked at before a run."""

from __future__ import annotations

import numpy as np
from rasterio.io import DatasetReader
from rasterio.windows import Window

from suitability.grid import Float64, Grid
from suitability.inputs.opening import crs_of, through
from suitability.inputs.places import project_bounds

SAMPLES = 5  # windows across and down
SAMPLE_PX = 64  # cells of a window's edge


def sample_windows(dataset: DatasetReader, grid: Grid) -> list[Window]:
    """Return small windows of a raster, spread over the land it shares with the grid."""
    west, south, east, north = project_bounds(grid.bounds, grid.crs, crs_of(dataset))
    corners = np.array([west, east, west, east]), np.array([north, north, south, south])
    cols, rows = through(~dataset.transform, *corners)
    down = _starts(rows, dataset.height)
    across = _starts(cols, dataset.width)
    return [Window(col, row, wide, high) for row, high in down for col, wide in across]


def _starts(reach: Float64, size: int) -> list[tuple[int, int]]:
    """Return where windows start along an axis, and their lengths; none overlap."""
    first = int(np.clip(np.floor(reach.min()), 0, size - 1))
    last = int(np.clip(np.ceil(reach.max()), first + 1, size))
    if last - first <= SAMPLES * SAMPLE_PX:
        starts = range(first, last, SAMPLE_PX)
        return [(start, min(SAMPLE_PX, last - start)) for start in starts]
    spread = np.linspace(first, last - SAMPLE_PX, SAMPLES)
    return [(int(start), SAMPLE_PX) for start in spread]
