"""A stream network from elevation: cells through which enough land drains, as lines."""

from __future__ import annotations

import math
from dataclasses import dataclass

import geopandas
import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import ndimage

from suitability.flow.engines import Counts, Directions, FlowEngine
from suitability.grid import Float32, Grid
from suitability.kernels.flow import OUTLET, d8_directions

# Heights are rounded to this, in which float32 is exact up to 16 km: whatever is added or taken
# away on the way gives the same bits. No elevation data are as fine. [m]
STEP_M = 1 / 1024

# What lies lowest along so much of the rim to either side, and so far below the highest of it, is
# a valley's floor. [m]
VALLEY_M = 250.0
VALLEY_DEPTH_M = 1.0
# Where less leaves than a small hollow gathers, the valley rather leads in. [m²]
LEAVES_M2 = 5_000.0

_EIGHT = np.ones((3, 3), np.bool_)


@dataclass(frozen=True)
class Network:
    """Streams, and what was done to the land to find them.

    Parameters
    ----------
    lines : geopandas.GeoDataFrame
        One line from a head or confluence down to the next, in the grid's CRS, with
        `strahler_order` (Strahler 1957) and `upstream_ha`, the land that drains through its
        lower end. [ha]
    filled_share : float
        Share of the known cells that were raised. [0..1]
    deepest_m : float
        The most that any was raised. [m]
    inlets : int
        Valleys that the rim of the known land cuts and that no water leaves by: they may bring
        some from land that is not known.
    """

    lines: geopandas.GeoDataFrame
    filled_share: float
    deepest_m: float
    inlets: int


def stream_network(ground: Float32, grid: Grid, area_m2: float, engine: FlowEngine) -> Network:
    """Derive streams from the ground.

    Parameters
    ----------
    ground : numpy.ndarray
        (rows, cols) of the grid; NaN unknown. Unknown land that reaches the rim is where water
        leaves, like the sea; unknown land within is taken for low ground, as lakes are. [m]
    grid : Grid
        Its cells.
    area_m2 : float
        Land that drains into a stream where it begins. [m²]
    engine : FlowEngine
        What fills depressions and adds up flow.
    """
    known = np.isfinite(ground)
    surface = with_low_holes(np.round(ground / np.float32(STEP_M)) * np.float32(STEP_M))
    filled = engine.fill(surface)
    towards = d8_directions(filled)
    counts = engine.accumulate(towards)
    is_stream = counts * grid.cell_m**2 >= area_m2
    raised = (filled - surface)[known]
    return Network(
        stream_lines(towards, counts, is_stream, grid),
        filled_share=float(np.mean(raised > 0)) if raised.size else 0.0,
        deepest_m=float(raised.max()) if raised.size else 0.0,
        inlets=_inlets(
            surface, counts * grid.cell_m**2 >= LEAVES_M2, math.ceil(VALLEY_M / grid.cell_m)
        ),
    )


def with_low_holes(surface: Float32) -> Float32:
    """Return the surface with unknown land that it encloses as low ground, to be filled."""
    unknown, _ = ndimage.label(np.pad(np.isnan(surface), 1, constant_values=True), _EIGHT)
    holes = (unknown > 0) & (unknown != unknown[0, 0])
    lowest = np.nanmin(surface) if np.isfinite(surface).any() else np.float32(0)
    return np.where(holes[1:-1, 1:-1], lowest - 1, surface).astype(np.float32)


def stream_lines(
    towards: Directions, counts: Counts, is_stream: NDArray[np.bool_], grid: Grid
) -> geopandas.GeoDataFrame:
    """Return the cells through which enough land drains as lines; see `Network`.

    Parameters
    ----------
    towards : numpy.ndarray
        (rows, cols) of the grid, as `d8_directions` returns them.
    counts : numpy.ndarray
        (rows, cols), how many cells drain through each.
    is_stream : numpy.ndarray
        (rows, cols) bool: enough drains through; true all the way down.
    grid : Grid
        Its cells.
    """
    import pyflwdir  # noqa: PLC0415 - slow to import, seldom needed

    flow = pyflwdir.from_array(towards, ftype="d8", check_ftype=False)
    order = flow.stream_order(type="strahler", mask=is_stream)
    rows, cols = np.indices(grid.shape, dtype=np.int32)
    cells = [
        np.array(found["geometry"]["coordinates"])
        for found in flow.streams(mask=is_stream, xs=rows, ys=cols)
        if not found["properties"]["pit"]
    ]
    ends = [(path[0], _lower_end(path, towards)) for path in cells]
    upper, lower = np.array(ends, dtype=np.int64).reshape(-1, 2, 2).swapaxes(0, 1)
    return geopandas.GeoDataFrame(
        {
            "strahler_order": order[upper[:, 0], upper[:, 1]].astype(np.int32),
            "upstream_ha": counts[lower[:, 0], lower[:, 1]] * (grid.cell_m**2 / 10_000),
        },
        geometry=[shapely.LineString(np.column_stack(grid.xy(*path.T))) for path in cells],
        crs=grid.crs,
    )


def _lower_end(path: NDArray[np.int64], towards: Directions) -> NDArray[np.int64]:
    """Return the last cell that is a line's own: the one before the confluence it runs into."""
    last: NDArray[np.int64] = path[-1] if towards[tuple(path[-1])] == OUTLET else path[-2]
    return last


def _inlets(surface: Float32, leaves: NDArray[np.bool_], around: int) -> int:
    """Count the valleys that the rim of the known land cuts and that no water leaves by."""
    known = np.isfinite(surface)
    rim = known & ~ndimage.binary_erosion(known, _EIGHT)
    size = 2 * around + 1
    lowest = ndimage.minimum_filter(np.where(rim, surface, np.inf), size=size, mode="nearest")
    highest = ndimage.maximum_filter(np.where(rim, surface, -np.inf), size=size, mode="nearest")
    deep = np.zeros(rim.shape, np.bool_)
    deep[rim] = highest[rim] - lowest[rim] >= VALLEY_DEPTH_M
    left_by = ndimage.binary_dilation(leaves & rim, _EIGHT)
    _, found = ndimage.label(deep & (surface == lowest) & ~left_by, _EIGHT)
    return int(found)
