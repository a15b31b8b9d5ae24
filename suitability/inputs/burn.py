"""Features into cells."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import geopandas
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from rasterio.features import rasterize

from suitability.config.sources import VerticalUnit
from suitability.grid import Float32, Grid
from suitability.inputs.lattice import blocks_over, overlap
from suitability.inputs.vertical import TO_METRES


def burn(features: geopandas.GeoDataFrame, grid: Grid, *, all_touched: bool) -> NDArray[np.bool_]:
    """Return which cells features cover.

    Parameters
    ----------
    features : geopandas.GeoDataFrame
        In the grid's CRS.
    grid : Grid
        The cells.
    all_touched : bool
        Every cell that is touched, or only those whose centre is covered.

    Returns
    -------
    numpy.ndarray
        (rows, cols) bool.
    """
    if features.empty:
        return np.zeros(grid.shape, dtype=np.bool_)
    shapes = features.geometry.to_numpy()
    burnt = _onto_blocks(shapes, np.ones(shapes.size, np.uint8), grid, all_touched=all_touched)
    return np.asarray(burnt > 0)


def numbered(
    features: geopandas.GeoDataFrame, numbers: Sequence[int], grid: Grid
) -> tuple[NDArray[np.int32], NDArray[np.bool_]]:
    """Return which feature each cell's centre lies in; of several, the first.

    Parameters
    ----------
    features : geopandas.GeoDataFrame
        Polygons in the grid's CRS.
    numbers : sequence of int
        The number of each, from 1; several may share one.
    grid : Grid
        The cells.

    Returns
    -------
    number : numpy.ndarray
        (rows, cols) int32, 0 where there is none.
    shared : numpy.ndarray
        (rows, cols) bool, where features of different numbers lie on one another.
    """
    shapes, values = features.geometry.to_numpy(), np.asarray(numbers, np.int32)
    last = _onto_blocks(shapes, values, grid, all_touched=False)
    first = _onto_blocks(shapes[::-1], values[::-1], grid, all_touched=False)
    return first, np.asarray(first != last)


def building_heights(
    features: geopandas.GeoDataFrame,
    grid: Grid,
    *,
    height_field: str | None,
    unit: VerticalUnit = "m",
    default_m: float,
) -> Float32:
    """Return the height of the building over each cell; of two, the taller.

    Parameters
    ----------
    features : geopandas.GeoDataFrame
        Footprints in the grid's CRS.
    grid : Grid
        The cells; one belongs to a building if its centre does.
    height_field : str or None
        Field of the heights above ground.
    unit : {"m", "ft", "us_survey_ft"}
        Unit of that field.
    default_m : float
        Height where the field is missing, empty, not a number, or not above zero. [m]

    Returns
    -------
    numpy.ndarray
        (rows, cols) float32, 0 where there is no building. [m]
    """
    if features.empty:
        return np.zeros(grid.shape, dtype=np.float32)
    heights_m, known = heights_of(features, height_field=height_field, unit=unit)
    heights_m = np.where(known, heights_m, default_m)
    order = np.argsort(heights_m, kind="stable")
    shapes = features.geometry.to_numpy()[order]
    ranks = np.arange(1, order.size + 1, dtype=np.int32)
    ranked = _onto_blocks(shapes, ranks, grid, all_touched=False)
    heights = np.zeros(grid.shape, np.float32)
    built = ranked > 0  # of few cells
    heights[built] = heights_m[order][ranked[built] - 1]
    return heights


def heights_of(
    features: geopandas.GeoDataFrame, *, height_field: str | None, unit: VerticalUnit
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Return the heights of buildings that their attribute gives, and which are usable. [m]."""
    if height_field is None or height_field not in features.columns:
        return np.full(len(features), np.nan), np.zeros(len(features), bool)
    numbers = pd.to_numeric(features[height_field], errors="coerce").to_numpy(dtype=np.float64)
    heights_m = np.asarray(numbers * TO_METRES[unit])
    return heights_m, np.isfinite(heights_m) & (heights_m > 0)


def _onto_blocks(
    shapes: NDArray[np.object_], values: NDArray[Any], grid: Grid, *, all_touched: bool
) -> NDArray[Any]:
    """Return the value of the last shape on each cell, 0 where there is none.

    Block by block of the lattice: a line burnt onto a piece of a grid may take other cells.
    """
    burnt = np.zeros(grid.shape, values.dtype)
    tree = shapely.STRtree(shapes)
    for block in blocks_over(grid):
        here = overlap(grid, block)
        hits = np.sort(tree.query(shapely.box(*block.bounds)))
        if here is None or not hits.size:
            continue
        part = rasterize(
            zip(shapes[hits], values[hits].tolist(), strict=True),
            out_shape=(block.size, block.size),
            transform=block.transform,
            all_touched=all_touched,
            dtype=values.dtype,
        )
        burnt[here[0]] = part[here[1]]
    return burnt
