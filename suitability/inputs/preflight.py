"""Looking at every input before a run: headers, samples and features, no full computation."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from suitability.config import RunSettings
from suitability.config.sources import HeightSource
from suitability.grid import Grid
from suitability.inputs.cells import CANOPY_RANGE_M, GROUND_RANGE_M, ClassCells
from suitability.inputs.common import choose_grid
from suitability.inputs.features import (
    read_boundary,
    read_buildings,
    read_existing_boxes,
    read_keep_clear,
    read_keep_outs,
    read_wires,
)
from suitability.inputs.land import canopy_warnings
from suitability.inputs.legend import NO_CLASS, load_legend
from suitability.inputs.measured import look_at_layers, read_layer_features
from suitability.inputs.opening import open_raster
from suitability.inputs.places import Locate, place_of
from suitability.inputs.raster import (
    height_cells,
    report_classes,
    report_heights,
    require_overlap,
)
from suitability.inputs.report import NONE_GIVEN, InputReport
from suitability.inputs.sampling import sample_windows
from suitability.inputs.water import read_water


def preflight(
    settings: RunSettings, locate: Locate, reach_m: Mapping[str, float]
) -> tuple[Grid, list[InputReport]]:
    """Look at every input of a run without reading its rasters whole.

    Parameters
    ----------
    settings : RunSettings
        The run.
    locate : callable
        Gives the line of the run file for a key, for errors.
    reach_m : mapping
        By layer: how far it reaches. [m]

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
    reports += read_water(settings, grid, locate, reach_m).reports
    if inputs.canopy_height is None:
        words = "canopy heights by land-cover class, common practice"
        reports.append(InputReport("canopy height", NONE_GIVEN, assumed=(words,)))
    else:
        place = locate("inputs.canopy_height")
        reports.append(_heights(inputs.canopy_height, grid, "canopy height", place))
    buildings = read_buildings(settings, grid, locate)
    reports += [buildings[1]] if buildings else []
    for read in (
        read_boundary,
        read_keep_outs,
        read_keep_clear,
        read_existing_boxes,
        read_wires,
    ):
        found = read(settings, grid, locate)
        reports += found[1] if found else ()
    reports += read_layer_features(settings, grid, locate, reach_m)[1]
    reports += look_at_layers(settings, grid, locate)
    return grid, reports


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
        report = report_heights(cells, role, grid, missing=missing, how=how)
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
        report = report_classes(cells, "land cover", grid, missing=codes == NO_CLASS, how=how)
    legend.require_known(Counter(codes.tolist()), where=where)
    return replace(report, facts=(*report.facts, f"legend {legend.name}"))
