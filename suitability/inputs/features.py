"""The vectors of a run by what they are for: buildings, boundary, keep-outs, boxes."""

from __future__ import annotations

from dataclasses import replace

import geopandas
import numpy as np
import shapely

from suitability.config import RunSettings
from suitability.config.sources import VectorSource
from suitability.errors import InputError
from suitability.grid import Float32, Grid
from suitability.inputs.burn import building_heights, heights_of
from suitability.inputs.places import Locate, place_of
from suitability.inputs.report import InputReport
from suitability.inputs.vector import ANY_KIND, Kind, read_features, together

Found = tuple[geopandas.GeoDataFrame, tuple[InputReport, ...]]

_POLYGON: frozenset[Kind] = frozenset({"polygon"})
_POINT: frozenset[Kind] = frozenset({"point"})


def read_boundary(settings: RunSettings, grid: Grid, locate: Locate) -> Found | None:
    """Read the polygons of the land on which sites may lie.

    Raises
    ------
    InputError
        If none reaches the grid.
    """
    source = settings.inputs.boundary
    if source is None:
        return None
    place = locate("inputs.boundary")
    features, report = read_features(source, grid, kinds=_POLYGON, role="boundary", place=place)
    if features.empty:
        msg = f"no land to look at: {'; '.join(report.warnings)}"
        fix = "correct the boundary's filter or file, or leave `boundary` out"
        raise InputError(msg, where=place_of(source.path, place), fix=fix)
    return features, (report,)


def read_keep_outs(settings: RunSettings, grid: Grid, locate: Locate) -> Found | None:
    """Read what no box may stand on: polygons, lines or points."""
    sources = settings.inputs.keep_outs
    return None if sources is None else _read_many(sources, grid, "keep_outs", ANY_KIND, locate)


def read_keep_clear(settings: RunSettings, grid: Grid, locate: Locate) -> Found | None:
    """Read what boxes keep away from, as the areas around it."""
    sources = settings.inputs.keep_clear
    if sources is None:
        return None
    frames, reports = [], []
    for number, source in enumerate(sources):
        features, report = read_features(
            source,
            grid,
            buffer_m=source.distance,
            role="keep clear",
            place=locate(f"inputs.keep_clear[{number}]"),
        )
        around = widened(features, source.distance)
        frames.append(around[around.area.to_numpy() > 0])
        done = f"{source.distance:g} m around each is kept clear"
        reports.append(replace(report, done=(*report.done, done)))
    return together(frames, [source.path for source in sources], grid), tuple(reports)


def widened(features: geopandas.GeoDataFrame, distance_m: float) -> geopandas.GeoDataFrame:
    """Return features as the areas that reach so far around each of them.

    Parameters
    ----------
    features : geopandas.GeoDataFrame
        Shapes of any kind, in a CRS in metres.
    distance_m : float
        How far. [m]
    """
    # 360 corners lie within 0.004 % of a circle. GeoPandas has two names for their number.
    around = shapely.buffer(features.geometry.to_numpy(), distance_m, quad_segs=90)
    return features.set_geometry(
        geopandas.GeoSeries(around, index=features.index, crs=features.crs)
    )


def read_existing_boxes(settings: RunSettings, grid: Grid, locate: Locate) -> Found | None:
    """Read the points of boxes that are already up."""
    sources = settings.inputs.existing_boxes
    return None if sources is None else _read_many(sources, grid, "existing_boxes", _POINT, locate)


def read_wires(settings: RunSettings, grid: Grid, locate: Locate) -> Found | None:
    """Read overhead lines: no pole may fall on them."""
    sources = settings.inputs.wires
    return None if sources is None else _read_many(sources, grid, "wires", ANY_KIND, locate)


def read_buildings(
    settings: RunSettings, grid: Grid, locate: Locate
) -> tuple[geopandas.GeoDataFrame, InputReport] | None:
    """Read the footprints of buildings.

    Raises
    ------
    InputError
        If the layer lacks the stated field of heights.
    """
    source = settings.inputs.buildings
    if source is None:
        return None
    place = locate("inputs.buildings")
    features, report = read_features(source, grid, kinds=_POLYGON, role="buildings", place=place)
    field = source.height_field
    lacks = field is not None and field not in features.columns
    if lacks and "height_field" in source.model_fields_set:
        fields = ", ".join(str(name) for name in features.columns if name != "geometry")
        msg = f"the buildings have no field {field!r}"
        fix = f"state one of: {fields or 'none'}; or `height_field: null` for the default height"
        raise InputError(msg, where=place_of(source.path, place), fix=fix)
    for key, name in (("id_field", source.id_field), ("material_field", source.material_field)):
        if name is not None and name not in features.columns:
            msg = f"the buildings have no field {name!r}"
            fix = f"correct {key}, or leave it out"
            raise InputError(msg, where=place_of(source.path, place), fix=fix)
    _, known = heights_of(features, height_field=field, unit=source.height_unit)
    assumed = int((~known).sum())
    if assumed:
        of = f"{assumed:,} of {len(features):,} buildings"
        words = f"{source.default_height:g} m for {of}, whose height is not given"
        report = replace(report, assumed=(*report.assumed, words))
    area_m2 = grid.cell_m**2
    small = int((features.area < area_m2).sum())
    if small:
        words = f"{small:,} buildings are smaller than a cell and may cast no shadow"
        report = replace(report, warnings=(*report.warnings, words))
    return features, report


def stand_buildings(
    settings: RunSettings, features: geopandas.GeoDataFrame | None, grid: Grid
) -> Float32:
    """Return the height of the building over each cell, 0 where there is none. [m]."""
    source = settings.inputs.buildings
    if source is None or features is None:
        return np.zeros(grid.shape, dtype=np.float32)
    return building_heights(
        features,
        grid,
        height_field=source.height_field,
        unit=source.height_unit,
        default_m=source.default_height,
    )


def _read_many(
    sources: tuple[VectorSource, ...],
    grid: Grid,
    key: str,
    kinds: frozenset[Kind],
    locate: Locate,
) -> Found:
    role = key.replace("_", " ")
    frames, reports = [], []
    for number, source in enumerate(sources):
        features, report = read_features(
            source, grid, kinds=kinds, role=role, place=locate(f"inputs.{key}[{number}]")
        )
        reports.append(report)
        frames.append(features)
    return together(frames, [source.path for source in sources], grid), tuple(reports)
