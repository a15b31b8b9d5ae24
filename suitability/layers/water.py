"""Distance to water."""

from __future__ import annotations

from dataclasses import replace

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from suitability.grid import Grid
from suitability.inputs.burn import burn
from suitability.layers.distance import Float32, distance_to
from suitability.layers.land import Land

# Water further away than this changes no default value: a quarter mile is near, a mile is far.
REACH_M = 1609.344


def water_distance_m(land: Land) -> Float32:
    """Return the distance to the nearest water, (rows, cols), 0 on it. [m].

    Lines and polygons beyond the grid count, up to a mile away. Cells touched by a line or
    polygon are water, so the error is at most half a cell's diagonal.
    """
    frame, top, left = _frame(land.grid, land.water_features)
    water = burn(land.water_features, frame, all_touched=True)
    core = (slice(top, top + land.grid.rows), slice(left, left + land.grid.cols))
    water[core] |= land.water
    return np.ascontiguousarray(distance_to(water, land.grid.cell_m)[core])


def exact_water_distance_m(
    x: ArrayLike, y: ArrayLike, water_features: gpd.GeoDataFrame
) -> NDArray[np.float64]:
    """Return the distance from points to the nearest line or polygon of water, (n,). [m].

    Parameters
    ----------
    x, y : array_like
        (n,) in the CRS of the features. [m]
    water_features : geopandas.GeoDataFrame
        Lines and polygons in a metric CRS.
    """
    points = shapely.points(np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64))
    if not len(water_features):
        return np.full(points.shape, np.inf)
    tree = shapely.STRtree(water_features.geometry.to_numpy())
    _, distance = tree.query_nearest(points, return_distance=True, all_matches=False)
    return np.asarray(distance, dtype=np.float64)


def _frame(grid: Grid, features: gpd.GeoDataFrame) -> tuple[Grid, int, int]:
    """Return the grid grown to water within reach, and the rows and columns added before it."""
    if not len(features):
        return grid, 0, 0
    west, south, east, north = grid.bounds
    w, s, e, n = features.total_bounds
    left, bottom, right, top = (
        int(np.ceil(np.clip(beyond, 0, REACH_M) / grid.cell_m))
        for beyond in (west - w, south - s, e - east, n - north)
    )
    grown = replace(
        grid,
        west=grid.west - left * grid.cell_m,
        north=grid.north + top * grid.cell_m,
        rows=grid.rows + top + bottom,
        cols=grid.cols + left + right,
    )
    return grown, top, left
