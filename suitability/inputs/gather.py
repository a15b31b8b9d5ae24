"""Every input of a run on its grid."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import geopandas
import pandas as pd

from suitability.config import RunSettings
from suitability.grid import Float32, Grid
from suitability.inputs.features import (
    read_boundary,
    read_buildings,
    read_existing_boxes,
    read_keep_clear,
    read_keep_outs,
    read_wires,
    stand_buildings,
)
from suitability.inputs.land import (
    assume_canopy,
    doubted_ground,
    doubted_spikes,
    doubted_steepness,
    read_canopy,
    read_land_cover,
)
from suitability.inputs.measured import read_layer_features, require_usable
from suitability.inputs.places import Locate
from suitability.inputs.raster import read_heights
from suitability.inputs.report import InputReport
from suitability.inputs.water import read_water


@dataclass(frozen=True)
class Features:
    """The vectors of a run, in the grid's CRS; read once for the whole grid.

    Parameters
    ----------
    water : geopandas.GeoDataFrame
        Lines and polygons of water that counts.
    dry_beds : geopandas.GeoDataFrame or None
        Those of water that may be gone in the season; no box stands in them all the same.
    buildings, boundary, keep_outs, existing_boxes : geopandas.GeoDataFrame or None
        Footprints; land on which sites may lie; land on which none may, with what is kept clear
        around doors and the like; points of boxes.
    reports : tuple of InputReport
        What each is, and what was done to it.
    layers : mapping
        By layer of the run's own, what it is measured from.
    wires : geopandas.GeoDataFrame or None
        Overhead lines.
    keep_clear : geopandas.GeoDataFrame or None
        The part of `keep_outs` that lies around doors and the like.
    """

    water: geopandas.GeoDataFrame
    dry_beds: geopandas.GeoDataFrame | None
    buildings: geopandas.GeoDataFrame | None
    boundary: geopandas.GeoDataFrame | None
    keep_outs: geopandas.GeoDataFrame | None
    existing_boxes: geopandas.GeoDataFrame | None
    reports: tuple[InputReport, ...]
    layers: Mapping[str, geopandas.GeoDataFrame] = field(default_factory=dict)
    wires: geopandas.GeoDataFrame | None = None
    keep_clear: geopandas.GeoDataFrame | None = None

    def telling(self, report: InputReport) -> Features:
        """Return the same with another report on an input."""
        told = (report if each.role == report.role else each for each in self.reports)
        return replace(self, reports=tuple(told))


@dataclass(frozen=True)
class Rasters:
    """The rasters of a run on a grid, (rows, cols), with the buildings that stand on it.

    Parameters
    ----------
    ground : numpy.ndarray
        Height of the ground, float32, NaN where unknown. [m]
    canopy : numpy.ndarray
        Height of the canopy above the ground, float32, NaN where unknown. [m]
    buildings : numpy.ndarray
        Height of buildings above the ground, float32, 0 where there is none. [m]
    reports : tuple of InputReport
        What each input is, and what was done to it.
    """

    ground: Float32
    canopy: Float32
    buildings: Float32
    reports: tuple[InputReport, ...]

    @property
    def warnings(self) -> tuple[str, ...]:
        """All warnings, in the order of the inputs."""
        return tuple(warning for report in self.reports for warning in report.warnings)


def gather_features(
    settings: RunSettings, grid: Grid, locate: Locate, reach_m: Mapping[str, float]
) -> Features:
    """Read every vector input of a run.

    Parameters
    ----------
    settings : RunSettings
        The run.
    grid : Grid
        Its grid; see `choose_grid`.
    locate : callable
        Gives the line of the run file for a key, for errors.
    reach_m : mapping
        By layer: how far beyond the grid a feature counts. [m]

    Raises
    ------
    InputError
        If an input cannot be used.
    """
    water = read_water(settings, grid, locate, reach_m)
    reports = water.reports
    buildings = read_buildings(settings, grid, locate)
    reports += (buildings[1],) if buildings else ()
    others = [
        read(settings, grid, locate)
        for read in (
            read_boundary,
            read_keep_outs,
            read_keep_clear,
            read_existing_boxes,
            read_wires,
        )
    ]
    for found in others:
        reports += found[1] if found else ()
    boundary, keep_outs, keep_clear, boxes, wires = (
        found[0] if found else None for found in others
    )
    kept_out = [frame for frame in (keep_outs, keep_clear) if frame is not None]
    require_usable(settings, grid, locate)
    layers, told = read_layer_features(settings, grid, locate, reach_m)
    return Features(
        water.counting,
        water.dry_beds,
        buildings[0] if buildings else None,
        boundary,
        pd.concat(kept_out, ignore_index=True) if kept_out else None,
        boxes,
        (*reports, *told),
        layers,
        wires,
        keep_clear,
    )


def gather_rasters(
    settings: RunSettings, grid: Grid, locate: Locate, features: Features, *, part: bool = False
) -> Rasters:
    """Read ground and canopy onto a grid, and stand the buildings on it; see also `doubted`.

    Parameters
    ----------
    settings : RunSettings
        The run.
    grid : Grid
        The run's grid or a window of it.
    locate : callable
        Gives the line of the run file for a key, for errors.
    features : Features
        What `gather_features` read.
    part : bool
        The grid is a part of the run's: it may hold nothing of an input.

    Raises
    ------
    InputError
        If an input cannot be used.
    """
    inputs = settings.inputs
    reports: tuple[InputReport, ...]
    place = locate("inputs.elevation")
    ground, ground_report = read_heights(inputs.elevation, grid, place=place, part=part)
    if inputs.canopy_height is None:
        codes, legend, cover_report = read_land_cover(settings, grid, locate, part=part)
        canopy, canopy_report = assume_canopy(codes, legend)
        reports = (ground_report, cover_report, canopy_report)
    else:
        place = locate("inputs.canopy_height")
        canopy, canopy_report = read_canopy(inputs.canopy_height, grid, place, part=part)
        reports = (ground_report, canopy_report)
    buildings = stand_buildings(settings, features.buildings, grid)
    return Rasters(ground, canopy, buildings, reports)


def doubted(settings: RunSettings, grid: Grid, rasters: Rasters) -> Rasters:
    """Return rasters with warnings of what the elevation seems to be in place of bare ground.

    Parameters
    ----------
    settings : RunSettings
        The run.
    grid : Grid
        Of the rasters.
    rasters : Rasters
        What `gather_rasters` read.
    """
    report, *others = rasters.reports
    report = doubted_steepness(doubted_spikes(report, rasters.ground, grid), rasters.ground, grid)
    if settings.inputs.canopy_height is not None:  # what is assumed lies where land cover has it
        report = doubted_ground(report, rasters.ground, rasters.canopy)
    return replace(rasters, reports=(report, *others))
