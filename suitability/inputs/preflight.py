"""Looking at every input before a run: headers, samples and features, no full computation."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
from rasterio.io import DatasetReader
from rasterio.windows import Window

from suitability.config import RunSettings
from suitability.config.sources import HeightSource
from suitability.grid import Float64, Grid
from suitability.inputs.cells import CANOPY_RANGE_M, GROUND_RANGE_M, ClassCells
from suitability.inputs.common import choose_grid
from suitability.inputs.features import (
    read_boundary,
    read_buildings,
    read_existing_boxes,
    read_keep_outs,
)
from suitability.inputs.land import canopy_warnings
from suitability.inputs.legend import NO_CLASS, load_legend
from suitability.inputs.opening import crs_of, open_raster, through
from suitability.inputs.places import Locate, place_of, project_bounds
from suitability.inputs.raster import (
    height_cells,
    report_classes,
    report_heights,
    require_overlap,
)
from suitability.inputs.report import InputReport
from suitability.inputs.water import read_water

SAMPLES = 5  # windows across and down
SAMPLE_PX = 64  # cells of a window's edge


def preflight(settings: RunSettings, locate: Locate) -> tuple[Grid, list[InputReport]]:
    """Look at every input of a run without reading its rasters whole.

    Parameters
    ----------
    settings : RunSettings
        The run.
    locate : callable
        Gives the line of the run file for a key, for errors.

    Returns
    -------
    grid : Grid
        The grid the run would have.
    reports : list of InputReport
        The grid and every input. The share without data is that of the samples.

    Raises
    ------
    InputError, GridError
        As the run itself would, where that shows in headers, samples or features.
    """
    grid, notes = choose_grid(settings, locate)
    inputs = settings.inputs
    reports = [InputReport("grid", "", facts=notes)]
    reports.append(_heights(inputs.elevation, grid, "elevation", locate("inputs.elevation")))
    reports.append(_classes(settings, grid, locate))
    reports += read_water(settings, grid, locate).reports
    if inputs.canopy_height is None:
        words = "canopy heights by land-cover class, common practice"
        reports.append(InputReport("canopy height", "none given", assumed=(words,)))
    else:
        place = locate("inputs.canopy_height")
        reports.append(_heights(inputs.canopy_height, grid, "canopy height", place))
    buildings = read_buildings(settings, grid, locate)
    reports += [buildings[1]] if buildings else []
    for read in (read_boundary, read_keep_outs, read_existing_boxes):
        found = read(settings, grid, locate)
        reports += found[1] if found else ()
    return grid, reports


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


def _heights(source: HeightSource, grid: Grid, role: str, place: str) -> InputReport:
    is_canopy = role == "canopy height"
    where = place_of(source.path, place)
    with open_raster(source.path, band=source.band, place=place) as dataset:
        range_m = CANOPY_RANGE_M if is_canopy else GROUND_RANGE_M
        cells = height_cells(dataset, source, range_m, "m" if is_canopy else None, where)
        require_overlap(dataset, grid, role, where)
        found = [cells(window).ravel() for window in sample_windows(dataset, grid)]
        heights = np.concatenate(found)
        missing = np.isnan(heights)
        how = f"{heights.size:,} cells sampled"
        report = report_heights(cells, role, missing=missing, how=how)
    if missing.all():
        return replace(report, warnings=(*report.warnings, f"{role}: no data in any sampled cell"))
    return replace(
        report,
        facts=(*report.facts, f"{np.nanmin(heights):.1f} to {np.nanmax(heights):.1f} m seen"),
        warnings=report.warnings + (canopy_warnings(heights) if is_canopy else ()),
    )


def _classes(settings: RunSettings, grid: Grid, locate: Locate) -> InputReport:
    source, place = settings.inputs.land_cover, locate("inputs.land_cover")
    legend = load_legend(source.legend, locate("inputs.land_cover.legend"))
    where = place_of(source.path, place)
    with open_raster(source.path, band=source.band, place=place) as dataset:
        require_overlap(dataset, grid, "land cover", where)
        cells = ClassCells(dataset, source.band, legend.nodata, where)
        found = [cells(window).ravel() for window in sample_windows(dataset, grid)]
        codes = np.concatenate(found)
        how = f"{codes.size:,} cells sampled"
        report = report_classes(cells, "land cover", missing=codes == NO_CLASS, how=how)
    legend.require_known(Counter(codes.tolist()), where=where)
    return replace(report, facts=(*report.facts, f"legend {legend.name}"))
