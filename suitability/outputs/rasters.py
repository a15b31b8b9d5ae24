"""Rasters of a run as Cloud Optimized GeoTIFFs: scores and layers, and why a cell is out.

DEFLATE is read by every GIS, old ones too. At level 1 the fifteen rasters of 4000 × 4000 cells of a
run take 60 % of the time of level 6 and 5 % more room; ZSTD gained little of either.
"""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Literal
from xml.etree.ElementTree import Element, SubElement, tostring

import numpy as np
import pyproj
import rasterio
import rasterio.shutil
from affine import Affine
from numpy.typing import NDArray
from rasterio.enums import Resampling
from rasterio.io import DatasetReader

from suitability.errors import InputError
from suitability.grid import Float32, Float64, Grid, Window
from suitability.outputs.atomic import written

Index = NDArray[np.int64]

# The COG driver lays down tiles of 512 cells, overviews first. One thread a file: most of its time
# goes into overviews, which one thread makes; a run writes several files at once instead.
_COG = {
    "driver": "COG",
    "blocksize": 512,
    "compress": "DEFLATE",
    "level": 1,
    "predictor": "YES",
    "bigtiff": "IF_SAFER",
    "num_threads": 1,
}
# GDAL takes 5 % of the machine's memory for its cache if it is not told; a row of blocks and its
# overviews need less. In bytes: GDAL took 128 for 128 bytes, and its rasterizer, which parts its
# work by the cache, then wrote beyond its memory.
CACHE_BYTES = 128 * 1024**2

# Overviews lie in a file of their own until they are put before the cells. Packed in the meantime,
# as GDAL does of itself, they take half as long again; the result is the same to the byte.
_WORKING = {"GDAL_CACHEMAX": CACHE_BYTES, "COG_TMP_COMPRESSION": "NONE"}

RELIEF = "relief.tif"  # the ground of pictures, coarser than the layers

Parts = Mapping[Window, Path]
Kind = Literal["Float32", "UInt16", "UInt32"]  # as GDAL calls them


def write_part(path: str | os.PathLike[str], values: NDArray[Any]) -> None:
    """Write a part of a raster as it is, to be assembled later: no compression, no place.

    Parameters
    ----------
    path : path
        Where to; ends in `.tif`.
    values : numpy.ndarray
        (rows, cols) float32, uint16 or uint32.

    Raises
    ------
    ValueError
        If they are of another type.
    """
    if values.dtype not in (np.float32, np.uint16, np.uint32):
        msg = f"a part is float32, uint16 or uint32, not {values.dtype}"
        raise ValueError(msg)
    profile = {
        "driver": "GTiff",
        "count": 1,
        "height": values.shape[0],
        "width": values.shape[1],
        "dtype": values.dtype,
        "bigtiff": "IF_SAFER",
        # It has no place on Earth until it is assembled; any but none keeps a warning away, which
        # could not be silenced here: filters of warnings are those of all threads.
        "transform": Affine(2.0, 0.0, 0.0, 0.0, -2.0, 0.0),
    }
    with written(path, durable=False) as temporary:
        with rasterio.open(temporary, "w", **profile) as to:
            to.write(values, 1)
        if (
            temporary.stat().st_size < values.nbytes
        ):  # GDAL says nothing of a last block that failed
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), os.fspath(path))


def assemble_raster(
    path: str | os.PathLike[str],
    parts: Parts,
    grid: Grid,
    *,
    name: str,
    unit: str,
    description: str,
    tags: Mapping[str, str] | None = None,
) -> None:
    """Put a measured quantity or a score together from its parts; its overviews are means.

    Parameters
    ----------
    path : path
        Where to; ends in `.tif`.
    parts : mapping of Window to path
        Files of `write_part`, float32 with NaN as nodata, that cover the grid.
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
    """
    facts = {"TITLE": name, "DESCRIPTION": description, **(tags or {})}
    _assemble(path, parts, grid, name=name, unit=unit, facts=facts, kind="Float32")


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
    """Write a quantity that is at hand as a whole; the rest as for `assemble_raster`.

    Parameters
    ----------
    values : numpy.ndarray
        (rows, cols) float32, NaN as nodata.
    """
    with TemporaryDirectory(dir=Path(path).parent, prefix=".part-") as scratch:
        part = Path(scratch) / "whole.tif"
        write_part(part, values)
        assemble_raster(
            path, {grid.whole: part}, grid, name=name, unit=unit, description=description, tags=tags
        )


def unassembled(parts: Parts, grid: Grid, kind: Kind = "Float32") -> str:
    """Return what `read_window` and `read_cells` read parts by, before they are one."""
    return _mosaic(parts, grid, name="", unit="", facts={}, kind=kind)


def assemble_exclusions(
    path: str | os.PathLike[str],
    parts: Parts,
    grid: Grid,
    reasons: Mapping[int, str],
    *,
    name: str = "excluded",
    description: str = "Why a cell is no candidate: the sum of the values of all reasons, 0 = none",
    tags: Mapping[str, str] | None = None,
) -> None:
    """Put the reasons why cells are out together, as bits; the legend goes into the file's tags.

    An overview cell holds the commonest value below it, for a mean of bits means nothing.

    Parameters
    ----------
    path : path
        Where to; ends in `.tif`.
    parts : mapping of Window to path
        Files of `write_part`, uint16 or, with more than 16 reasons, uint32; 0 where a
        cell is a candidate. There is no nodata.
    grid : Grid
        Where the bits lie.
    reasons : mapping of int to str
        Bit number (0 is the lowest) to the reason in words.
    name, description : str
        As for `assemble_raster`.
    tags : mapping of str to str, optional
        More facts to keep in the file.
    """
    kind: Kind = "UInt16" if max(reasons) < 16 else "UInt32"
    legend = {f"BIT_{bit}": f"{1 << bit}: {reasons[bit]}" for bit in sorted(reasons)}
    facts = {"TITLE": name, "DESCRIPTION": description, **legend, **(tags or {})}
    _assemble(path, parts, grid, name=name, unit="bits", facts=facts, kind=kind)


def read_raster(path: str | os.PathLike[str]) -> tuple[NDArray[Any], Grid, dict[str, str]]:
    """Read back what `assemble_raster` or `assemble_exclusions` wrote.

    Parameters
    ----------
    path : path
        The file.

    Returns
    -------
    values : numpy.ndarray
        (rows, cols) float32, NaN where there is no data, or bits.
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


def read_tags(path: str | os.PathLike[str]) -> dict[str, str]:
    """Return the tags of a raster of a run.

    Raises
    ------
    InputError
        If the file cannot be opened.
    """
    with _opened(path) as source:
        tags: dict[str, str] = source.tags()
        return tags


def read_window(path: str | os.PathLike[str], window: Window) -> NDArray[Any]:
    """Return a window of a raster of a run, (rows, cols).

    Raises
    ------
    InputError
        If the file cannot be read.
    """
    with _opened(path) as source:
        there = rasterio.windows.Window(window.col, window.row, window.cols, window.rows)
        values: NDArray[Any] = source.read(1, window=there)
        return values


def read_small(path: str | os.PathLike[str], step: int) -> NDArray[Any]:
    """Return a raster of a run with squares of `step` cells made one, from its overviews.

    Raises
    ------
    InputError
        If the file cannot be read.
    """
    with _opened(path) as source:
        shape = -(-source.height // step), -(-source.width // step)
        how = Resampling.mode if source.dtypes[0].startswith("uint") else Resampling.average
        values: NDArray[Any] = source.read(1, out_shape=shape, resampling=how)
        return values


def read_thinned(path: str | os.PathLike[str], step: int) -> NDArray[Any]:
    """Return each `step`th cell of a raster of a run, as it is: some measures have no mean.

    Raises
    ------
    InputError
        If the file cannot be read.
    """
    with _opened(path, overview_level="NONE") as source:
        shape = -(-source.height // step), -(-source.width // step)
        values: NDArray[Any] = source.read(1, out_shape=shape, resampling=Resampling.nearest)
        return values


def read_cells(path: str | os.PathLike[str], rows: Index, cols: Index) -> Float64:
    """Return single cells of a raster of a run, (n,); NaN where there is no data.

    Raises
    ------
    InputError
        If the file cannot be read.
    """
    found = np.empty(rows.size, np.float64)
    with _opened(path) as source:
        for k in np.lexsort((cols // 512, rows // 512)):  # block by block
            there = rasterio.windows.Window(int(cols[k]), int(rows[k]), 1, 1)
            with np.errstate(invalid="ignore"):  # a damaged NaN is NaN
                found[k] = source.read(1, window=there)[0, 0]
    return found


@contextmanager
def _opened(path: str | os.PathLike[str], **options: str) -> Iterator[DatasetReader]:
    """Open a raster of a run; that it cannot be read is the user's to mend, not a bug."""
    try:
        with rasterio.open(path, **options) as source:
            yield source
    except rasterio.errors.RasterioIOError as error:
        # What is not one file yet is opened by its parts, spelled out in XML.
        is_file = not os.fspath(path).startswith("<")
        msg = f"this result cannot be read: {error}" if is_file else "parts of a layer are damaged"
        where = path if is_file else "the run's folder"
        fix = "run `suitability screen` again, with room on the disk"
        raise InputError(msg, where=where, fix=fix) from error


def _grid_of(source: Any) -> Grid:
    """Return the grid of an open raster; by its code, so that a known CRS keeps its name."""
    if source.crs is None:
        msg = "this result does not say where it lies, as every run's does"
        raise InputError(msg, where=source.name, fix="run `suitability screen` again")
    code = source.crs.to_epsg()
    crs = pyproj.CRS.from_epsg(code) if code else pyproj.CRS.from_wkt(source.crs.to_wkt())
    transform = source.transform
    return Grid(crs, transform.c, transform.f, transform.a, source.height, source.width)


def _assemble(
    path: str | os.PathLike[str],
    parts: Parts,
    grid: Grid,
    *,
    name: str,
    unit: str,
    facts: Mapping[str, str],
    kind: Kind,
) -> None:
    mosaic = _mosaic(parts, grid, name=name, unit=unit, facts=facts, kind=kind)
    how = "AVERAGE" if kind == "Float32" else "MODE"
    with rasterio.Env(**_WORKING), written(path) as temporary:
        rasterio.shutil.copy(mosaic, temporary, **_COG, overview_resampling=how)


def _mosaic(
    parts: Parts,
    grid: Grid,
    *,
    name: str,
    unit: str,
    facts: Mapping[str, str],
    kind: Kind,
) -> str:
    """Return the parts as one raster in GDAL's own words, a virtual raster."""
    if sum(window.cells for window in parts) != grid.rows * grid.cols:
        msg = "the parts do not cover the grid"  # what they leave open would pass for nodata
        raise ValueError(msg)
    place = grid.transform.to_gdal()
    root = Element("VRTDataset", {"rasterXSize": str(grid.cols), "rasterYSize": str(grid.rows)})
    SubElement(root, "SRS").text = grid.crs.to_wkt()
    SubElement(root, "GeoTransform").text = ", ".join(repr(float(term)) for term in place)
    notes = SubElement(root, "Metadata")
    for key, text in facts.items():
        SubElement(notes, "MDI", {"key": key}).text = text
    band = SubElement(root, "VRTRasterBand", {"dataType": kind, "band": "1"})
    SubElement(band, "Description").text = name
    SubElement(band, "UnitType").text = unit
    if kind == "Float32":
        SubElement(band, "NoDataValue").text = "nan"
    for window in sorted(parts):
        source = SubElement(band, "SimpleSource")
        file = SubElement(source, "SourceFilename", {"relativeToVRT": "0"})
        file.text = os.fspath(Path(parts[window]).absolute())
        SubElement(source, "SourceBand").text = "1"
        size = {"xSize": str(window.cols), "ySize": str(window.rows)}
        SubElement(source, "SrcRect", {"xOff": "0", "yOff": "0", **size})
        SubElement(source, "DstRect", {"xOff": str(window.col), "yOff": str(window.row), **size})
    return tostring(root, encoding="unicode")
