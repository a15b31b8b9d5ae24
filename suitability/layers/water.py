"""Distance to water."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from suitability.grid import Float32, Grid, Window
from suitability.inputs.burn import burn
from suitability.layers.cover import Cover
from suitability.layers.distance import distance_to_features, searched_cells

Bool = NDArray[np.bool_]

# Water further away than this changes no default value: a quarter mile is near, a mile is far.
FAR_WATER_M = 1609.344


def water_distance_m(
    grid: Grid, window: Window, features: gpd.GeoDataFrame, cover: Cover, reach_m: float
) -> Float32:
    """Return the distance to the nearest water, (rows, cols) of the window, 0 on it. [m].

    Water is what lines and polygons touch, and what the land cover calls water; see
    `distance_to_features`.

    Parameters
    ----------
    grid : Grid
        The whole grid.
    window : Window
        Where the distance is wanted.
    features : geopandas.GeoDataFrame
        Lines and polygons in the grid's CRS, also from beyond the grid.
    cover : Cover
        Land cover, known within reach of the window.
    reach_m : float
        The greatest distance that is told; places further from water get it. [m]
    """
    wet = cover.is_water(window.grown(searched_cells(reach_m, grid.cell_m)))
    return distance_to_features(grid, window, features, reach_m, wet)


def bed_and_bank(features: gpd.GeoDataFrame, grid: Grid, bank_m: float) -> Bool:
    """Return the cells of water and of its bank, (rows, cols) of the grid.

    Parameters
    ----------
    features : geopandas.GeoDataFrame
        Lines and polygons in the grid's CRS.
    grid : Grid
        The cells: those that a feature touches, and those whose centre lies on its bank.
    bank_m : float
        Width of the bank. [m]
    """
    bed = burn(features, grid, all_touched=True)
    if bank_m == 0:
        return bed
    bank = features.set_geometry(features.buffer(bank_m))
    return bed | burn(bank, grid, all_touched=False)


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
