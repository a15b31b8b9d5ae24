"""Features into cells."""

from __future__ import annotations

import geopandas
import numpy as np
import pandas as pd
from numpy.typing import NDArray
from rasterio.features import rasterize

from suitability.config.sources import VerticalUnit
from suitability.grid import Float32, Grid
from suitability.inputs.vertical import TO_METRES


def burn(features: geopandas.GeoDataFrame, grid: Grid, *, all_touched: bool) -> NDArray[np.bool_]:
    """Return which cells features cover.

    Parameters
    ----------
    features : geopandas.GeoDataFrame
        In the grid's CRS. Always burn onto the whole grid: a line burnt onto a piece of it may
        take other cells.
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
    burnt = rasterize(
        features.geometry,
        out_shape=grid.shape,
        transform=grid.transform,
        all_touched=all_touched,
        dtype="uint8",
    )
    covered: NDArray[np.bool_] = burnt.astype(np.bool_)
    return covered


def building_heights(
    features: geopandas.GeoDataFrame,
    grid: Grid,
    *,
    height_field: str | None,
    unit: VerticalUnit = "m",
    default_m: float,
) -> tuple[Float32, int, int]:
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
    heights : numpy.ndarray
        (rows, cols) float32, 0 where there is no building. [m]
    assumed : int
        Footprints that took the default height.
    unseen : int
        Footprints over no cell centre, or under taller ones: they cast no shadow.
    """
    heights_m = _heights_m(features, height_field, unit)
    known = np.isfinite(heights_m) & (heights_m > 0)
    heights_m = np.where(known, heights_m, default_m)
    if features.empty:
        return np.zeros(grid.shape, dtype=np.float32), 0, 0
    order = np.argsort(heights_m, kind="stable")
    ranked = rasterize(
        zip(features.geometry.iloc[order], range(1, len(order) + 1), strict=True),
        out_shape=grid.shape,
        transform=grid.transform,
        dtype="int32",
    )
    table = np.concatenate(([0.0], heights_m[order])).astype(np.float32)
    seen = np.unique(ranked[ranked > 0]).size
    heights: Float32 = table[ranked]
    return heights, int((~known).sum()), len(order) - seen


def _heights_m(
    features: geopandas.GeoDataFrame, field: str | None, unit: VerticalUnit
) -> NDArray[np.float64]:
    if field is None or field not in features.columns:
        return np.full(len(features), np.nan)
    numbers = pd.to_numeric(features[field], errors="coerce").to_numpy(dtype=np.float64)
    return np.asarray(numbers * TO_METRES[unit])
