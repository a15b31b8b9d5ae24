"""Every input of a run on its grid."""

from __future__ import annotations

from dataclasses import dataclass, replace

import geopandas
import numpy as np
from numpy.typing import NDArray

from suitability.config import RunSettings
from suitability.grid import Float32, Grid
from suitability.inputs.burn import burn
from suitability.inputs.features import (
    read_boundary,
    read_buildings,
    read_existing_boxes,
    read_keep_outs,
    read_water,
)
from suitability.inputs.land import assume_canopy, read_canopy, read_land_cover
from suitability.inputs.legend import Codes, Legend
from suitability.inputs.places import Locate
from suitability.inputs.raster import read_heights
from suitability.inputs.report import InputReport

Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Gathered:
    """The inputs of a run, on its grid; arrays are (rows, cols).

    Parameters
    ----------
    ground : numpy.ndarray
        Height of the ground, float32, NaN where unknown. [m]
    canopy : numpy.ndarray
        Height of the canopy above the ground, float32, NaN where unknown. [m]
    canopy_assumed : bool
        The canopy comes from the land-cover classes.
    land_cover : numpy.ndarray
        Codes, int16, `NO_CLASS` where unknown.
    legend : Legend
        What the codes mean.
    building_height : numpy.ndarray
        Height of buildings above the ground, float32, 0 where there is none. [m]
    water : numpy.ndarray
        Water, from streams, ponds and land cover, bool.
    water_features : geopandas.GeoDataFrame
        Lines and polygons of water.
    buildings : geopandas.GeoDataFrame or None
        Footprints.
    boundary : numpy.ndarray or None
        Land on which sites may lie, bool.
    boundary_features : geopandas.GeoDataFrame or None
        Its polygons.
    keep_out : numpy.ndarray or None
        Land on which no site may lie, bool.
    existing_boxes : geopandas.GeoDataFrame or None
        Points of boxes already up.
    report : tuple of InputReport
        What each input is, and what was done to it.
    """

    ground: Float32
    canopy: Float32
    canopy_assumed: bool
    land_cover: Codes
    legend: Legend
    building_height: Float32
    water: Mask
    water_features: geopandas.GeoDataFrame
    buildings: geopandas.GeoDataFrame | None
    boundary: Mask | None
    boundary_features: geopandas.GeoDataFrame | None
    keep_out: Mask | None
    existing_boxes: geopandas.GeoDataFrame | None
    report: tuple[InputReport, ...]

    @property
    def warnings(self) -> tuple[str, ...]:
        """All warnings, in the order of the inputs."""
        return tuple(warning for report in self.report for warning in report.warnings)


def gather(settings: RunSettings, grid: Grid, locate: Locate) -> Gathered:
    """Read every input of a run onto its grid.

    Parameters
    ----------
    settings : RunSettings
        The run.
    grid : Grid
        Its grid; see `choose_grid`.
    locate : callable
        Gives the line of the run file for a key, for errors.

    Raises
    ------
    InputError
        If an input cannot be used.
    """
    inputs = settings.inputs
    ground, ground_report = read_heights(inputs.elevation, grid, place=locate("inputs.elevation"))
    codes, legend, cover_report = read_land_cover(settings, grid, locate)
    water_features, water_reports = read_water(settings, grid, locate)
    water, cover_report = _all_water(water_features, codes, legend, grid, cover_report)
    if inputs.canopy_height is None:
        canopy, canopy_report = assume_canopy(codes, legend)
    else:
        place = locate("inputs.canopy_height")
        canopy, canopy_report = read_canopy(inputs.canopy_height, grid, place)
    buildings = read_buildings(settings, grid, locate)
    boundary = read_boundary(settings, grid, locate)
    keep_outs = read_keep_outs(settings, grid, locate)
    boxes = read_existing_boxes(settings, grid, locate)
    reports = [ground_report, cover_report, *water_reports, canopy_report]
    reports += [buildings[2]] if buildings else []
    for found in (boundary, keep_outs, boxes):
        reports += found[1] if found else ()
    return Gathered(
        ground=ground,
        canopy=canopy,
        canopy_assumed=inputs.canopy_height is None,
        land_cover=codes,
        legend=legend,
        building_height=buildings[1] if buildings else np.zeros(grid.shape, dtype=np.float32),
        water=water,
        water_features=water_features,
        buildings=buildings[0] if buildings else None,
        boundary=burn(boundary[0], grid, all_touched=False) if boundary else None,
        boundary_features=boundary[0] if boundary else None,
        # A cell that a keep-out only touches is kept out as well.
        keep_out=burn(keep_outs[0], grid, all_touched=True) if keep_outs else None,
        existing_boxes=boxes[0] if boxes else None,
        report=tuple(reports),
    )


def _all_water(
    features: geopandas.GeoDataFrame, codes: Codes, legend: Legend, grid: Grid, report: InputReport
) -> tuple[Mask, InputReport]:
    """Return water from features and land cover, and a report that says so."""
    # Touched cells count, so that neither a stream nor a pond smaller than a cell is lost.
    drawn = burn(features, grid, all_touched=True)
    covered = legend.mask_of(codes, "water")
    extra = int((covered & ~drawn).sum())
    words = f"its water counts as water: {extra:,} cells besides those of the streams"
    return drawn | covered, replace(report, done=(*report.done, words))
