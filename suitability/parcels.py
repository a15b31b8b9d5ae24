"""Parcels of land: polygons with names, from a file of the user's."""

from __future__ import annotations

import os

import geopandas
import pyproj

from suitability.config.sources import VectorSource
from suitability.errors import InputError, ResultError
from suitability.grid import Bounds, Grid
from suitability.inputs.vector import read_layer

TOGETHER, UNNAMED = "all parcels", "unnamed"


def read_parcels(
    path: str | os.PathLike[str], layer: str | None, field: str | None, grid: Grid
) -> tuple[geopandas.GeoDataFrame, list[str], tuple[str, ...]]:
    """Return the parcels on a run's land, what each is called, and what is to be said of them.

    Parameters
    ----------
    path : path
        Polygons in a file.
    layer : str or None
        Its layer, if it has several.
    field : str or None
        Attribute that names a parcel; parcels of one name are one. None: all are one.
    grid : Grid
        Of the run.

    Raises
    ------
    InputError
        If they cannot be read, or have no such field.
    ResultError
        If none lies on the land.
    """
    features, names, warnings = all_parcels(path, layer, field, grid.crs, within=grid.bounds)
    if features.empty:
        msg = "no parcel lies on the run's land"
        raise ResultError(msg, where=path, fix="give parcels of the land that was screened")
    return features, names, warnings


def all_parcels(
    path: str | os.PathLike[str],
    layer: str | None,
    field: str | None,
    crs: pyproj.CRS,
    *,
    within: Bounds | None = None,
) -> tuple[geopandas.GeoDataFrame, list[str], tuple[str, ...]]:
    """Return parcels wherever they lie, maybe none; see `read_parcels`.

    Parameters
    ----------
    path, layer, field
        As for `read_parcels`.
    crs : pyproj.CRS
        To move them to.
    within : tuple of float, optional
        Only those that reach this box of `crs`: west, south, east, north.

    Raises
    ------
    InputError
        If they cannot be read, or have no such field.
    """
    source = VectorSource(path=os.fspath(path), layer=layer)
    features, report = read_layer(
        source, crs, within=within, kinds=frozenset({"polygon"}), role="the parcels", place="--by"
    )
    if field is None or features.empty:
        return features, [TOGETHER] * len(features), report.warnings
    if field not in features.columns:
        fields = ", ".join(str(name) for name in features.columns if name != "geometry")
        msg = f"the parcels have no field {field!r}"
        raise InputError(msg, where=path, fix=f"name with --name one of: {fields or 'none'}")
    named = features[field].astype(object)
    names = [UNNAMED if text in ("", "None", "nan", "<NA>") else text for text in map(str, named)]
    return features, names, report.warnings
