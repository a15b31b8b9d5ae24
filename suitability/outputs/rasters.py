"""Rasters of a run as Cloud Optimized GeoTIFFs: scores and layers, and why a cell is out.

DEFLATE is read by every GIS, old ones too. At level 1 the fifteen rasters of 4000 × 4000 cells of a
run take 60 % of the time of level 6 and 5 % more room; ZSTD gained little of either.
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

import numpy as np
import pyproj
import rasterio
from numpy.typing import NDArray
from rasterio.io import DatasetReader
from rasterio.windows import Window

from suitability.errors import InputError
from suitability.grid import Float32, Grid
from suitability.outputs.atomic import written

Bits = NDArray[np.uint16]

# The COG driver lays down tiles of 512 cells, overviews first. One thread a file: most of its time
# goes into overviews, which one thread makes; a run writes several files at once instead.
_COG = {
    "driver": "COG",
    "count": 1,
    "blocksize": 512,
    "compress": "DEFLATE",
    "level": 1,
    "predictor": "YES",
    "bigtiff": "IF_SAFER",
    "num_threads": 1,
}


def write_raster(
    path: str | os.PathLike[str],
    values: Float32,
    grid: Grid,
    *,
    name: str,
    unit: str,
    description: str,
    tags: Mapping[str, str] | None = None,
) -> None:
    """Write a measured quantity or a score; its overviews are means.

    Parameters
    ----------
    path : path
        Where to; ends in `.tif`.
    values : numpy.ndarray
        (rows, cols) float32; NaN is nodata.
    grid : Grid
        Where the values lie.
    name : str
        Name with its unit, such as `direct_sun_h`; it becomes the band's description.
    unit : str
        Unit of the values; "1" where they have none.
    description : str
        One sentence on what the values are and how they were found.
    tags : mapping of str to str, optional
        More facts to keep in the file.

    Raises
    ------
    ValueError
        If the values do not fit the grid or are not float32.
    """
    _require(values, grid, np.float32)
    facts = {"TITLE": name, "DESCRIPTION": description, **(tags or {})}
    settings = {"dtype": "float32", "nodata": math.nan, "overview_resampling": "AVERAGE"}
    _write(path, values, grid, settings, name=name, unit=unit, tags=facts)


def write_exclusions(
    path: str | os.PathLike[str], bits: Bits, grid: Grid, reasons: Mapping[int, str]
) -> None:
    """Write why each cell is out, as bits; the legend goes into the file's tags.

    An overview cell holds the commonest value below it, for a mean of bits means nothing.

    Parameters
    ----------
    path : path
        Where to; ends in `.tif`.
    bits : numpy.ndarray
        (rows, cols) uint16; 0 where a cell is a candidate. There is no nodata value.
    grid : Grid
        Where the bits lie.
    reasons : mapping of int to str
        Bit number (0 is the lowest) to the reason in words.

    Raises
    ------
    ValueError
        If the bits do not fit the grid, are not uint16, or one of them has no reason.
    """
    _require(bits, grid, np.uint16)
    nameless = int(np.bitwise_or.reduce(bits, axis=None)) & ~sum(1 << bit for bit in reasons)
    if nameless:
        msg = f"bits {nameless:#06x} are set but have no reason"
        raise ValueError(msg)
    legend = {f"BIT_{bit}": f"{1 << bit}: {reasons[bit]}" for bit in sorted(reasons)}
    facts = {
        "TITLE": "excluded",
        "DESCRIPTION": "Why a cell is no candidate: the sum of the values of all reasons, 0 = none",
        **legend,
    }
    settings = {"dtype": "uint16", "nodata": None, "overview_resampling": "MODE"}
    _write(path, bits, grid, settings, name="excluded", unit="bits", tags=facts)


def read_raster(path: str | os.PathLike[str]) -> tuple[NDArray[Any], Grid, dict[str, str]]:
    """Read back what `write_raster` or `write_exclusions` wrote.

    Parameters
    ----------
    path : path
        The file.

    Returns
    -------
    values : numpy.ndarray
        (rows, cols) float32, NaN where there is no data, or uint16 bits.
    grid : Grid
        Where the values lie.
    tags : dict of str to str
        The file's tags, with `name` and `unit` of the band.

    Raises
    ------
    InputError
        If the file cannot be opened.
    GridError
        If it does not lie on a projected metric grid.
    """
    with _opened(path) as source:
        tags = {**source.tags(), "name": source.descriptions[0], "unit": source.units[0]}
        return source.read(1), _grid_of(source), tags


def read_grid(path: str | os.PathLike[str]) -> Grid:
    """Return the grid of a raster of a run, without its values.

    Raises
    ------
    InputError
        If the file cannot be opened.
    """
    with _opened(path) as source:
        return _grid_of(source)


def read_cell(path: str | os.PathLike[str], row: int, col: int) -> float:
    """Return one cell of a raster of a run; NaN where there is no data.

    Raises
    ------
    InputError
        If the file cannot be read.
    """
    with _opened(path) as source:
        return float(source.read(1, window=Window(col, row, 1, 1))[0, 0])


@contextmanager
def _opened(path: str | os.PathLike[str]) -> Iterator[DatasetReader]:
    """Open a raster of a run; that it cannot be read is the user's to mend, not a bug."""
    try:
        with rasterio.open(path) as source:
            yield source
    except rasterio.errors.RasterioIOError as error:
        msg = f"this result cannot be read: {error}"
        raise InputError(msg, where=path, fix="run `suitability screen` again") from error


def _grid_of(source: Any) -> Grid:
    """Return the grid of an open raster; by its code, so that a known CRS keeps its name."""
    code = source.crs.to_epsg()
    crs = pyproj.CRS.from_epsg(code) if code else pyproj.CRS.from_wkt(source.crs.to_wkt())
    transform = source.transform
    return Grid(crs, transform.c, transform.f, transform.a, source.height, source.width)


def _require(values: NDArray[Any], grid: Grid, dtype: type) -> None:
    if values.shape != grid.shape or values.dtype != dtype:
        msg = f"expected {np.dtype(dtype)} {grid.shape}, got {values.dtype} {values.shape}"
        raise ValueError(msg)


def _write(
    path: str | os.PathLike[str],
    values: NDArray[Any],
    grid: Grid,
    settings: Mapping[str, Any],
    *,
    name: str,
    unit: str,
    tags: Mapping[str, str],
) -> None:
    place = {
        "height": grid.rows,
        "width": grid.cols,
        "crs": rasterio.CRS.from_wkt(grid.crs.to_wkt()),
        "transform": grid.transform,
    }
    with (
        written(path) as temporary,
        rasterio.open(temporary, "w", **_COG, **settings, **place) as target,
    ):
        target.write(values, 1)
        target.set_band_description(1, name)
        target.units = (unit,)
        target.update_tags(**tags)
