"""Rasters onto the grid: heights in metres, land-cover codes, and any other measure."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from rasterio.io import DatasetReader

from suitability.config.layers import RasterValue
from suitability.config.sources import ClassSource, HeightSource, VerticalUnit
from suitability.errors import InputError
from suitability.grid import Float32, Grid
from suitability.inputs.cells import GROUND_RANGE_M, ClassCells, HeightCells, ValueCells
from suitability.inputs.datums import doubted_move
from suitability.inputs.legend import NO_CLASS, Codes
from suitability.inputs.opening import bounds_of, crs_of, facts_of, is_north_up, open_raster
from suitability.inputs.places import intersect, lonlat_text, place_of, project_bounds
from suitability.inputs.report import InputReport
from suitability.inputs.vertical import vertical_unit
from suitability.inputs.warp import Target, onto_grid


def read_heights(
    source: HeightSource,
    grid: Grid,
    *,
    role: str = "elevation",
    range_m: tuple[float, float] = GROUND_RANGE_M,
    assumed_unit: VerticalUnit | None = None,
    place: str | None = None,
    part: bool = False,
) -> tuple[Float32, InputReport]:
    """Read heights onto the grid: bilinear, or averaged where the raster is much finer.

    Parameters
    ----------
    source : HeightSource
        The raster, its band and its vertical unit.
    grid : Grid
        Where the values go.
    role : str
        What the raster is, for report and errors.
    range_m : tuple of float
        Lowest and highest height that can be. [m]
    assumed_unit : {"m", "ft", "us_survey_ft"}, optional
        Used where neither the file nor the source states a unit; then marked as assumed.
    place : str, optional
        The line of the run file that names the raster, for errors.
    part : bool
        The grid is a part of a run's: it may hold nothing of the raster.

    Returns
    -------
    heights : numpy.ndarray
        (rows, cols) float32, NaN where there are none. [m]
    report : InputReport
        What the raster is and what was done to it.

    Raises
    ------
    InputError
        If it cannot be read, has no CRS or unit, holds impossible heights, or none here.
    """
    with open_raster(source.path, band=source.band, place=place) as dataset:
        where = place_of(source.path, place)
        cells = height_cells(dataset, source, range_m, assumed_unit, where)
        if not part:
            require_overlap(dataset, grid, role, where)
        target = Target(grid, "heights", np.full(grid.shape, np.nan, dtype=np.float32), np.nan)
        how = onto_grid(dataset, target, cells)
        heights: Float32 = target.values
        missing = np.isnan(heights)
        if not part:
            _require_some(missing, role, where)
        return heights, report_heights(cells, role, grid, missing=missing, how=how)


def read_classes(
    source: ClassSource,
    grid: Grid,
    *,
    nodata: tuple[int, ...] = (),
    role: str = "land cover",
    place: str | None = None,
    part: bool = False,
) -> tuple[Codes, InputReport]:
    """Read land-cover codes onto the grid: the nearest, or the commonest of a finer raster.

    Parameters
    ----------
    source : ClassSource
        The raster and its band.
    grid : Grid
        Where the codes go.
    nodata : tuple of int
        Codes that mean "no data", besides the raster's own.
    role : str
        What the raster is, for report and errors.
    place : str, optional
        The line of the run file that names the raster, for errors.
    part : bool
        The grid is a part of a run's: it may hold nothing of the raster.

    Returns
    -------
    codes : numpy.ndarray
        (rows, cols) int16, `NO_CLASS` where there are none.
    report : InputReport
        What the raster is and what was done to it.

    Raises
    ------
    InputError
        If it cannot be read, has no CRS, holds other than codes, or none here.
    """
    with open_raster(source.path, band=source.band, place=place) as dataset:
        where = place_of(source.path, place)
        if not part:
            require_overlap(dataset, grid, role, where)
        cells = ClassCells(dataset, source.band, nodata, where)
        target = Target(grid, "classes", np.full(grid.shape, NO_CLASS, dtype=np.int16), NO_CLASS)
        how = onto_grid(dataset, target, cells)
        codes: Codes = target.values
        missing = codes == NO_CLASS
        if not part:
            _require_some(missing, role, where)
        return codes, report_classes(cells, role, grid, missing=missing, how=how)


def read_values(
    source: RasterValue, grid: Grid, *, role: str, place: str | None = None
) -> tuple[Float32, InputReport]:
    """Read a raster of any measure onto the grid; a piece of a grid may lie beyond it.

    Parameters
    ----------
    source : RasterValue
        The raster, its band and how it is resampled.
    grid : Grid
        Where the values go.
    role : str
        The layer's name, for report and errors.
    place : str, optional
        The line of the run file that names the raster, for errors.

    Returns
    -------
    values : numpy.ndarray
        (rows, cols) float32, NaN where there are none; in the raster's own unit.
    report : InputReport
        What the raster is and what was done to it.

    Raises
    ------
    InputError
        If it cannot be read, or has no CRS.
    """
    with open_raster(source.path, band=source.band, place=place) as dataset:
        cells = ValueCells(dataset, source.band)
        kind: Literal["heights", "nearest"] = (
            "nearest" if source.resampling == "nearest" else "heights"
        )
        target = Target(grid, kind, np.full(grid.shape, np.nan, dtype=np.float32), np.nan)
        how = onto_grid(dataset, target, cells)
        values: Float32 = target.values
        return values, report_values(cells, role, grid, missing=np.isnan(values), how=how)


def report_values(
    cells: ValueCells, role: str, grid: Grid, *, missing: NDArray[np.bool_], how: str
) -> InputReport:
    """Return what is told about a raster of a measure once (some of) it was read."""
    dataset = cells.dataset
    warnings = doubted_move(crs_of(dataset), grid.crs, grid.bounds)
    if cells.sentinels_met:
        listed = ", ".join(f"{value:g}" for value in sorted(cells.sentinels_met))
        warnings += (
            f"{role}: {listed} is not declared as nodata and is taken as a measure; if it means "
            "no data, declare it in the raster",
        )
    facts, done = facts_of(dataset, cells.band), (how, *_turned(dataset))
    outside = float(missing.mean())
    return InputReport(role, dataset.name, facts, done, warnings=warnings, outside_share=outside)


def height_cells(
    dataset: DatasetReader,
    source: HeightSource,
    range_m: tuple[float, float],
    assumed_unit: VerticalUnit | None,
    where: str,
) -> HeightCells:
    """Return the reader of a raster's heights; see `read_heights`."""
    unit = vertical_unit(dataset, source.unit, band=source.band, assumed=assumed_unit, where=where)
    return HeightCells(dataset, source.band, unit, range_m, where)


def report_heights(
    cells: HeightCells, role: str, grid: Grid, *, missing: NDArray[np.bool_], how: str
) -> InputReport:
    """Return what is told about a raster of heights once (some of) it was read."""
    dataset, unit = cells.dataset, cells.unit
    scale, offset = cells.scaling
    done = [how, *_turned(dataset)]
    if (scale, offset) != (1, 0):
        done.append(f"stored numbers × {scale:g} + {offset:g}, as the raster declares")
    warnings = [
        *doubted_move(crs_of(dataset), grid.crs, grid.bounds),
        *([unit.conflict] if unit.conflict else []),
    ]
    if cells.sentinels_met:
        values = ", ".join(f"{value:g}" for value in sorted(cells.sentinels_met))
        warnings.append(f"{values} is not declared as nodata, yet no height; taken as nodata")
    assumed = (f"heights in {unit.unit}: neither the file nor the run file says",)
    known = (f"heights in {unit.unit}, {unit.how_known}",)
    return InputReport(
        role,
        dataset.name,
        facts_of(dataset, cells.band) + (() if unit.is_assumed else known),
        tuple(done),
        assumed if unit.is_assumed else (),
        tuple(warnings),
        float(missing.mean()),
    )


def report_classes(
    cells: ClassCells, role: str, grid: Grid, *, missing: NDArray[np.bool_], how: str
) -> InputReport:
    """Return what is told about a raster of classes once (some of) it was read."""
    dataset = cells.dataset
    facts, done = facts_of(dataset, cells.band), (how, *_turned(dataset))
    warnings, outside = doubted_move(crs_of(dataset), grid.crs, grid.bounds), float(missing.mean())
    return InputReport(role, dataset.name, facts, done, warnings=warnings, outside_share=outside)


def require_overlap(dataset: DatasetReader, grid: Grid, role: str, where: str) -> None:
    """Refuse a raster that lies elsewhere.

    Raises
    ------
    InputError
        If raster and grid share no land: both extents.
    """
    crs, bounds = crs_of(dataset), bounds_of(dataset)
    if intersect(project_bounds(grid.bounds, grid.crs, crs), bounds) is None:
        msg = (
            f"the {role} raster does not reach the grid: it covers {lonlat_text(bounds, crs)}, "
            f"the grid {lonlat_text(grid.bounds, grid.crs)}"
        )
        fix = "give a raster of the same land, or correct the CRS of the one that lies elsewhere"
        raise InputError(msg, where=where, fix=fix)


def _require_some(missing: NDArray[np.bool_], role: str, where: str) -> None:
    if missing.all():
        msg = f"the {role} raster reaches the grid, but holds no data there"
        raise InputError(msg, where=where, fix="give a raster with data on this land")


def _turned(dataset: DatasetReader) -> tuple[str, ...]:
    if is_north_up(dataset):
        return ()
    turn = dataset.transform
    if turn.b == 0 and turn.d == 0:
        return ("its rows run south to north (or columns east to west): turned",)
    angle_deg = math.degrees(math.atan2(turn.d, turn.a))
    return (f"its rows are rotated by {angle_deg:.2f}°: straightened",)
