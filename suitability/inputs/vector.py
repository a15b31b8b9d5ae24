"""Vector layers onto the grid: chosen, filtered, repaired and moved to its CRS."""

from __future__ import annotations

import warnings
from collections import Counter
from contextlib import suppress
from pathlib import Path
from typing import Any, Literal

import geopandas
import numpy as np
import pandas as pd
import pyogrio
import pyproj
import shapely
from pyogrio.errors import DataLayerError, DataSourceError, FeatureError

from suitability.config.sources import VectorSource
from suitability.errors import InputError
from suitability.grid import Bounds, Grid
from suitability.inputs.datums import doubted_move
from suitability.inputs.elsewhere import require_here
from suitability.inputs.opening import require_on_earth
from suitability.inputs.places import crs_label, grow, place_of, project_bounds
from suitability.inputs.report import InputReport

Kind = Literal["point", "line", "polygon"]
ANY_KIND: frozenset[Kind] = frozenset({"point", "line", "polygon"})

# Below this a layer is read whole, so that all its features can be counted; above it, through
# its spatial index, and only what lies in the area is counted.
READ_WHOLE = 200_000

# In metres, feet or degrees no place on the Earth has such a coordinate; a line to there would keep
# the rasterizer busy for days.
_NOWHERE = 1e9

_KINDS: dict[str, Kind] = {
    "Point": "point",
    "LineString": "line",
    "LinearRing": "line",
    "Polygon": "polygon",
}


def read_features(
    source: VectorSource,
    grid: Grid,
    *,
    buffer_m: float = 0.0,
    kinds: frozenset[Kind] = ANY_KIND,
    role: str = "features",
    place: str | None = None,
) -> tuple[geopandas.GeoDataFrame, InputReport]:
    """Read the features that reach the grid, in its CRS.

    Features are chosen, not cut: a false edge would become a false shore or boundary.

    Parameters
    ----------
    source : VectorSource
        File, layer and attribute filter.
    grid : Grid
        Its CRS and extent are used.
    buffer_m : float
        How far beyond the grid features still count. [m]
    kinds : frozenset of {"point", "line", "polygon"}
        What makes sense here.
    role : str
        What the features are, for report and errors.
    place : str, optional
        The line of the run file that names the source, for errors.

    Returns
    -------
    features : geopandas.GeoDataFrame
        Single valid 2-D points, lines and polygons; maybe none, which the report's warnings say.
    report : InputReport
        What the layer is and what was done to it.

    Raises
    ------
    InputError
        If there is no such file or layer, its CRS is missing, the filter cannot be used, or all
        features are of another kind.
    """
    within = grow(grid.bounds, buffer_m)
    return read_layer(source, grid.crs, within=within, kinds=kinds, role=role, place=place)


def read_layer(
    source: VectorSource,
    crs: pyproj.CRS,
    *,
    within: Bounds | None = None,
    kinds: frozenset[Kind] = ANY_KIND,
    role: str = "features",
    place: str | None = None,
) -> tuple[geopandas.GeoDataFrame, InputReport]:
    """Read the features of a layer that reach a box, in any CRS; see `read_features`."""
    where = place_of(source.path, place)
    layer = _layer_name(source, where)
    info = _info(source, layer, where)
    own_crs = _crs_of(info, source, where)
    box = None
    if within is not None and info["features"] > READ_WHOLE:
        box = project_bounds(within, crs, own_crs)
        if box[0] > box[2]:  # across the antimeridian an index knows no such box
            box = None
    found, said = _read(source, layer, info, box, where)
    whole, repairs = _repaired(found, kinds, role, where)
    moved = _moved(whole, crs, where)
    shown = np.isfinite(moved.bounds).all(axis=1)
    if not shown.all():
        beyond = f"{int((~shown).sum()):,} that reach further than {crs_label(crs)} left out"
        repairs, moved = (*repairs, beyond), moved[shown]
    here = moved if within is None else moved[moved.intersects(shapely.box(*within))]
    facts = (
        f"layer {layer}, {info['features']:,} features ({info['geometry_type']})",
        crs_label(own_crs),
    )
    done = [] if source.where is None else [f"filter {source.where!r}: {len(found):,} kept"]
    if not own_crs.equals(crs, ignore_axis_order=True):
        done.append(f"reprojected to {crs_label(crs)}")
    doubts = () if within is None else doubted_move(own_crs, crs, within)
    report = InputReport(
        role,
        str(source.path),
        facts,
        (*done, *repairs, *said),
        warnings=(*doubts, *_emptiness(source, role, info["features"], len(found), len(here))),
        outside_share=1 - len(here) / len(whole) if len(whole) else 0.0,
    )
    return here.reset_index(drop=True), report


def together(
    frames: list[geopandas.GeoDataFrame], names: list[str], grid: Grid
) -> geopandas.GeoDataFrame:
    """Return all features under one another, with the source that each came from.

    Parameters
    ----------
    frames : list of geopandas.GeoDataFrame
        One or more, in the grid's CRS.
    names : list of str
        The source of each.
    grid : Grid
        Gives the CRS.
    """
    geometry = pd.concat([frame.geometry for frame in frames], ignore_index=True)
    origin = np.repeat(names, [len(frame) for frame in frames])
    return geopandas.GeoDataFrame({"source": origin}, geometry=geometry, crs=grid.crs)


def _layer_name(source: VectorSource, where: str) -> str:
    require_here(source.path, where)
    try:
        listed = pyogrio.list_layers(source.path)
    except (DataSourceError, OSError, UnicodeDecodeError) as exc:
        msg = f"this cannot be opened as a vector file: {_short(exc)}"
        fix = "correct the path, or give a file that OGR reads, such as a GeoPackage"
        raise InputError(msg, where=where, fix=fix) from exc
    names = [str(name) for name, geometry in listed if geometry is not None]
    others = [str(name) for name, geometry in listed if geometry is None]
    if source.layer is not None:
        if source.layer in names:
            return source.layer
        msg = f"there is no layer {source.layer!r} with geometries"
        raise InputError(msg, where=where, fix=f"the file has: {', '.join(names + others)}")
    if len(names) == 1:
        return names[0]
    if not names:
        msg = "the file has no layer with geometries"
        raise InputError(msg, where=where, fix="give a file with points, lines or polygons")
    msg = f"the file has {len(names)} layers, and none is named"
    raise InputError(msg, where=where, fix=f"state one as `layer`: {', '.join(names)}")


def _info(source: VectorSource, layer: str, where: str) -> dict[str, Any]:
    try:
        return dict(pyogrio.read_info(source.path, layer=layer, force_feature_count=True))
    except UnboundLocalError as exc:  # what pyogrio makes of a CRS that GDAL cannot tell
        msg = "its coordinate reference system (CRS) is not understood"
        raise InputError(msg, where=where, fix="assign the CRS in which it was made") from exc
    except (DataSourceError, DataLayerError, UnicodeDecodeError) as exc:
        msg = f"layer {layer!r} cannot be read: {_short(exc)}"
        raise InputError(msg, where=where, fix="fetch or export the file again") from exc


def _crs_of(info: dict[str, Any], source: VectorSource, where: str) -> pyproj.CRS:
    if info["crs"] is None:
        msg = "the layer has no coordinate reference system (CRS)"
        fix = (
            "find out in which CRS it was made and assign it, for example "
            f"`ogr2ogr -a_srs EPSG:26916 assigned.gpkg {Path(source.path).name}`; a shapefile's "
            "belongs in a .prj file beside it"
        )
        raise InputError(msg, where=where, fix=fix)
    return require_on_earth(info["crs"], where)


def _read(
    source: VectorSource, layer: str, info: dict[str, Any], box: Bounds | None, where: str
) -> tuple[geopandas.GeoDataFrame, tuple[str, ...]]:
    """Return the features that pass the filter, and what the reading library remarked."""
    options = {"layer": layer, "where": source.where, "bbox": box, "on_invalid": "ignore"}
    try:
        with warnings.catch_warnings(record=True) as remarks:
            warnings.simplefilter("always")
            try:
                found = pyogrio.read_dataframe(source.path, **options)
            except UnicodeDecodeError:
                found = pyogrio.read_dataframe(source.path, encoding="ISO-8859-1", **options)
    except (ValueError, DataSourceError, DataLayerError, FeatureError) as exc:
        raise _cannot_read(source, layer, info, exc, where) from exc
    return found, tuple(sorted({_short(remark.message) for remark in remarks}))


def _cannot_read(
    source: VectorSource, layer: str, info: dict[str, Any], exc: Exception, where: str
) -> InputError:
    """Return what is at fault: the filter, if a feature comes without it, else the file."""
    if source.where is not None:
        with suppress(ValueError, DataSourceError, DataLayerError, FeatureError):
            pyogrio.read_dataframe(source.path, layer=layer, max_features=1, columns=[])
            fields = ", ".join(str(name) for name in info["fields"])
            # The driver repeats its whole query; what it says of it stands after the filter.
            reason = str(exc).rpartition(f"{source.where}: ")[2]
            msg = f"the filter {source.where!r} cannot be used: {_short(reason)}"
            fix = f"write it as in SQL, such as \"name = 'x'\"; the fields are: {fields}"
            return InputError(msg, where=where, fix=fix)
    msg = f"layer {layer!r} cannot be read to its end: {_short(exc)}"
    return InputError(msg, where=where, fix="fetch or export the file again")


def _repaired(
    found: geopandas.GeoDataFrame, kinds: frozenset[Kind], role: str, where: str
) -> tuple[geopandas.GeoDataFrame, tuple[str, ...]]:
    """Return single valid 2-D features of the wanted kinds, and what was done to get them."""
    done = []
    geometry = found.geometry
    blank = geometry.isna() | geometry.is_empty
    if blank.any():
        done.append(f"{int(blank.sum()):,} without a geometry left out")
    whole = found[~blank].copy()
    flat = shapely.force_2d(whole.geometry.to_numpy())
    places, of = shapely.get_coordinates(flat, return_index=True)
    nowhere = np.unique(of[~(np.abs(places) < _NOWHERE).all(axis=1)])  # nor what is no number
    if nowhere.size:
        msg = f"{nowhere.size:,} of {len(flat):,} features have coordinates that are nowhere"
        raise InputError(msg, where=where, fix="mend or take out these features, or export again")
    broken = ~shapely.is_valid(flat)
    if broken.any():
        flat[broken] = shapely.make_valid(flat[broken])
        done.append(f"{int(broken.sum()):,} invalid geometries repaired")
    whole = whole.set_geometry(geopandas.GeoSeries(flat, index=whole.index, crs=found.crs))
    parts = whole.explode(ignore_index=True)
    while (parts.geom_type == "GeometryCollection").any():
        parts = parts.explode(ignore_index=True)
    met = Counter(_KINDS.get(kind, kind) for kind in parts.geom_type)
    fits = [_KINDS.get(kind) in kinds for kind in parts.geom_type]
    fitting = parts[np.array(fits, dtype=np.bool_)]
    if len(parts) and fitting.empty:
        msg = f"{role} must be {_listed(kinds)}; the layer holds {_listed(set(met))}"
        raise InputError(msg, where=where, fix="name the layer that holds them as `layer`")
    if len(fitting) < len(parts):
        left = ", ".join(f"{n:,} {kind}s" for kind, n in met.items() if kind not in kinds)
        done.append(f"{left} left out")
    return fitting, tuple(done)


def _moved(features: geopandas.GeoDataFrame, crs: pyproj.CRS, where: str) -> geopandas.GeoDataFrame:
    try:
        return features.to_crs(crs)
    except pyproj.exceptions.ProjError as exc:
        msg = f"there is no way from its CRS, {crs_label(features.crs)}, to {crs_label(crs)}"
        raise InputError(msg, where=where, fix="assign the CRS in which it was made") from exc


def _listed(kinds: frozenset[Kind] | set[str]) -> str:
    return " or ".join(sorted(f"{kind}s" for kind in kinds))


def _emptiness(
    source: VectorSource, role: str, total: int, filtered: int, here: int
) -> tuple[str, ...]:
    if here:
        return ()
    name = Path(source.path).name
    if total == 0:
        return (f"{role}: {name} has no features",)
    if filtered == 0:
        return (f"{role}: none of {total:,} features in {name} pass {source.where!r}",)
    return (f"{role}: none of {filtered:,} features in {name} reach this land",)


def _short(exc: object) -> str:
    return str(exc).splitlines()[0][:200] if str(exc) else type(exc).__name__
