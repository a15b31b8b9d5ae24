"""Opening rasters: what cannot be used is refused here, in words, before a value is read."""

from __future__ import annotations

import math
import os
import threading
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pyproj
import rasterio
from affine import Affine
from rasterio.errors import NotGeoreferencedWarning, RasterioIOError
from rasterio.io import DatasetReader

from suitability.config.paths import is_local
from suitability.errors import InputError
from suitability.grid import Bounds, Float64
from suitability.inputs.elsewhere import NOTHING_FETCHED, require_here
from suitability.inputs.places import StrPath, crs_label, horizontal, place_of

_FILTERS = threading.Lock()  # filters of warnings are those of all threads


@contextmanager
def open_raster(
    path: StrPath, *, band: int = 1, place: str | None = None
) -> Iterator[DatasetReader]:
    """Open a raster that has a place on Earth; damage met later is told in words as well.

    Parameters
    ----------
    path : str or path
        Anything GDAL reads.
    band : int
        The band that will be read, from 1.
    place : str, optional
        The line of the run file that names it, for errors.

    Raises
    ------
    InputError
        If it cannot be opened or read to its end, or lacks the band, a CRS or a transform.
    """
    where = place_of(path, place)
    require_here(path, where)
    # On the web, a look into the folder for side files would cost more than the raster.
    on_the_web = {"GDAL_DISABLE_READDIR_ON_OPEN": "EMPTY_DIR"}
    with rasterio.Env(**(NOTHING_FETCHED if is_local(str(path)) else on_the_web)):
        yield from _opened(path, band, where)


def _opened(path: StrPath, band: int, where: str) -> Iterator[DatasetReader]:
    try:
        with _FILTERS, warnings.catch_warnings():
            warnings.simplefilter("ignore", NotGeoreferencedWarning)
            dataset = rasterio.open(path)
    except RasterioIOError as exc:
        raise _cannot_open(path, where, exc) from exc
    with dataset:
        _require_usable(dataset, band, where)
        try:
            yield dataset
        except RasterioIOError as exc:
            msg = "the raster cannot be read to its end: the file is cut off or damaged"
            fix = "fetch or copy the file again, and compare its size with the original"
            raise InputError(msg, where=where, fix=fix) from exc


def crs_of(dataset: DatasetReader) -> pyproj.CRS:
    """Return the horizontal CRS of a raster that has one."""
    return horizontal(full_crs_of(dataset))


def through(turn: Affine, first: Float64, second: Float64) -> tuple[Float64, Float64]:
    """Return points (columns and rows, or x and y) taken through an affine transform."""
    # Written out: affine 3 deprecates `*` for this, affine 2 has no `@`.
    return (
        turn.a * first + turn.b * second + turn.c,
        turn.d * first + turn.e * second + turn.f,
    )


def full_crs_of(dataset: DatasetReader) -> pyproj.CRS:
    """Return the CRS of a raster with its vertical part, if it has one."""
    return pyproj.CRS.from_wkt(dataset.crs.to_wkt())


def bounds_of(dataset: DatasetReader) -> Bounds:
    """Return the box around a raster in its own CRS, whichever way it is turned."""
    cols = np.array([0.0, dataset.width, 0.0, dataset.width])
    rows = np.array([0.0, 0.0, dataset.height, dataset.height])
    xs, ys = through(dataset.transform, cols, rows)
    return float(xs.min()), float(ys.min()), float(xs.max()), float(ys.max())


def is_north_up(dataset: DatasetReader) -> bool:
    """Tell whether rows run north to south and columns west to east."""
    turn = dataset.transform
    return bool(turn.b == 0 and turn.d == 0 and turn.a > 0 and turn.e < 0)


def cell_size(dataset: DatasetReader) -> tuple[float, float]:
    """Return the length of a cell's two edges in the raster's own unit."""
    turn = dataset.transform
    return math.hypot(turn.a, turn.d), math.hypot(turn.b, turn.e)


def describe_raster(path: StrPath, *, band: int = 1, place: str | None = None) -> tuple[str, ...]:
    """Return what a raster is, in short phrases; only its header is read."""
    with open_raster(path, band=band, place=place) as dataset:
        return facts_of(dataset, band)


def facts_of(dataset: DatasetReader, band: int) -> tuple[str, ...]:
    """Return what an open raster is, in short phrases."""
    crs = crs_of(dataset)
    across, along = cell_size(dataset)
    unit = crs.axis_info[0].unit_name if crs.axis_info else "unit"
    facts = [
        f"{dataset.driver}, {dataset.height:,} rows × {dataset.width:,} columns, "
        f"{dataset.dtypes[band - 1]}",
        f"{crs_label(crs)}, cells of {across:g} × {along:g} {unit}",
    ]
    if dataset.nodata is not None:
        facts.append(f"nodata {dataset.nodatavals[band - 1]:g}")
    if dataset.count > 1:
        facts.append(f"band {band} of {dataset.count}")
    return tuple(facts)


def _require_usable(dataset: DatasetReader, band: int, where: str) -> None:
    if band > dataset.count:
        msg = f"there is no band {band}; the raster has {dataset.count}"
        raise InputError(msg, where=where, fix="state the band to read as `band`")
    if np.dtype(dataset.dtypes[band - 1]).kind not in "iuf":
        msg = f"band {band} holds {dataset.dtypes[band - 1]}, not numbers on a line"
        raise InputError(msg, where=where, fix="give a raster of integers or floats")
    if dataset.crs is None:
        msg = "the raster has no coordinate reference system (CRS)"
        raise InputError(msg, where=where, fix=_assign_crs(dataset))
    require_on_earth(dataset.crs.to_wkt(), where)
    if dataset.transform.is_identity or dataset.transform.determinant == 0:
        msg = "the raster does not say where its cells lie (no geotransform)"
        fix = "give the raster its place, for example from its world file, or export it again"
        raise InputError(msg, where=where, fix=fix)
    _require_one_turn(dataset, where)


def _require_one_turn(dataset: DatasetReader, where: str) -> None:
    """Refuse degrees that go on beyond 180: the same place would have two longitudes."""
    if not crs_of(dataset).is_geographic:
        return
    west, _, east, _ = bounds_of(dataset)
    spare = cell_size(dataset)[0]  # rasters of the whole Earth may hang over by half a cell
    if west < -180 - spare or east > 180 + spare:
        msg = f"its longitudes go from {west:g}° to {east:g}°, beyond 180°"
        fix = (
            "move it into a projected CRS of this land first, for example "
            f"`gdalwarp -t_srs EPSG:32701 {Path(dataset.name).name} moved.tif`"
        )
        raise InputError(msg, where=where, fix=fix)


def require_on_earth(definition: str, where: str) -> pyproj.CRS:
    """Return the CRS of an input if it gives places on the Earth.

    Parameters
    ----------
    definition : str
        WKT, or an authority's code.
    where : str
        File and line, for the error.

    Raises
    ------
    InputError
        If it is that of a drawing, of heights alone, or no CRS at all.
    """
    try:
        crs = horizontal(pyproj.CRS.from_user_input(definition))
    except pyproj.exceptions.CRSError:
        msg = "its coordinate reference system (CRS) is not understood"
    else:
        if crs.is_projected or crs.is_geographic:
            return crs
        msg = f"its CRS, {crs.name}, gives no places on the Earth ({crs.type_name})"
    fix = "find out in which CRS of the land it was made, and move or assign it to that"
    raise InputError(msg, where=where, fix=fix)


def _assign_crs(dataset: DatasetReader) -> str:
    name = Path(dataset.name).name
    if dataset.gcps[0]:
        return f"it has ground control points only; warp it first: gdalwarp {name} warped.tif"
    return (
        "find out in which CRS it was made and assign it, for example "
        f"`rio edit-info --crs EPSG:26916 {name}` or `gdal_edit.py -a_srs EPSG:26916 {name}` "
        "(for a text grid such as .asc: a .prj file beside it)"
    )


def _cannot_open(path: StrPath, where: str, exc: RasterioIOError) -> InputError:
    named = os.fspath(path)
    if is_local(named) and not Path(named).exists():
        msg = "there is no such file"
        return InputError(msg, where=where, fix="correct the path; it counts from the run file")
    msg = f"this cannot be opened as a raster: {_short(exc)}"
    return InputError(msg, where=where, fix="give a raster that GDAL reads, such as a GeoTIFF")


def _short(exc: Exception) -> str:
    return str(exc).splitlines()[0][:200] if str(exc) else type(exc).__name__
