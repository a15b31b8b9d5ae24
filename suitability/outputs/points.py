"""The chosen sites for a GIS, a phone and a spreadsheet: GeoPackage, GeoJSON and CSV.

All three hold the same columns and the same rounded numbers. The cautions travel with each in
its own way: as metadata in the GeoPackage (`gpkg_metadata`), as a member of the GeoJSON, and as
the last column of the CSV. CSV knows no comments: lines above the header would break every
reader, while a column stays with a row that is sorted, filtered or copied out.
"""

from __future__ import annotations

import json
import math
import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import geopandas
import mgrs
import numpy as np
import pandas as pd

from suitability.grid import Grid
from suitability.outputs.atomic import write_text
from suitability.outputs.cautions import short_caution
from suitability.outputs.geopackage import write_geopackage
from suitability.outputs.spreadsheet import harmless, write_csv_text

FIRST_COLUMNS = (
    "rank", "site", "kind", "group", "role", "score", "group_score", "x_m", "y_m", "lon_deg",
    "lat_deg", "mgrs", "ground_elevation_m", "limiting", "facing_deg", "facing_magnetic_deg",
    "building", "material", "box", "chambers", "colour", "mount_height_m", "heed",
)  # fmt: skip
_TEXT_COLUMNS = (
    "site", "kind", "role", "mgrs", "limiting", "building", "material", "box", "colour",
    "heed",
)  # fmt: skip
_NUMBER_COLUMNS = ("rank", "group")
_DECIMALS = {"lon_deg": 6, "lat_deg": 6}  # 0.11 m at most
_METRIC_DECIMALS = {"_m": 2, "_h": 2, "_deg": 2, "_c": 2}
_OTHER_DECIMALS = 4


def add_coordinates(sites: pd.DataFrame, grid: Grid) -> geopandas.GeoDataFrame:
    """Return sites with a name, their coordinates in WGS 84 and MGRS, and point geometry.

    Parameters
    ----------
    sites : pandas.DataFrame
        One row a site with at least `rank` and, in the grid's CRS, `x_m` and `y_m`. [m]
    grid : Grid
        Gives the CRS.

    Returns
    -------
    geopandas.GeoDataFrame
        The same rows with `site` ("Site 1"), `lon_deg`, `lat_deg` and `mgrs` (the 1 m square
        that holds the point: digits are cut off, not rounded, as the standard wants).
    """
    x_m, y_m = (sites[name].to_numpy(dtype=np.float64) for name in ("x_m", "y_m"))
    lon, lat = grid.lonlat(x_m, y_m)
    square = mgrs.MGRS()
    added = sites.assign(
        site=[f"Site {rank}" for rank in sites["rank"]],
        lon_deg=lon,
        lat_deg=lat,
        mgrs=[square.toMGRS(*place, MGRSPrecision=5) for place in zip(lat, lon, strict=True)],
    )
    points = geopandas.points_from_xy(x_m.round(2), y_m.round(2))
    return geopandas.GeoDataFrame(added, geometry=points, crs=grid.crs)


def write_sites(
    folder: str | os.PathLike[str],
    sites: geopandas.GeoDataFrame,
    *,
    cautions: Sequence[str],
    title: str,
) -> tuple[Path, Path, Path]:
    """Write `sites.gpkg`, `sites.geojson` and `sites.csv`; no sites make valid empty files.

    Parameters
    ----------
    folder : path
        Where to.
    sites : geopandas.GeoDataFrame
        One row a site, as `add_coordinates` returns them, with any further columns.
    cautions : sequence of str
        What to heed, a paragraph each.
    title : str
        What these sites are.

    Returns
    -------
    tuple of pathlib.Path
        The three files.
    """
    table = tidy(sites)
    places = tuple(Path(folder) / f"sites.{suffix}" for suffix in ("gpkg", "geojson", "csv"))
    _write_gpkg(places[0], table, cautions, title)
    write_text(places[1], _geojson(table, cautions, title))
    write_csv_text(places[2], _csv(table))
    return places[0], places[1], places[2]


def tidy(sites: geopandas.GeoDataFrame) -> geopandas.GeoDataFrame:
    """Return the sites by rank, columns in order, numbers rounded to what they can mean.

    Parameters
    ----------
    sites : geopandas.GeoDataFrame
        As for `write_sites`.

    Returns
    -------
    geopandas.GeoDataFrame
        Lon/lat to 6 decimals, metres, hours, degrees and °C to 2, scores and shares to 4.
    """
    first = [name for name in FIRST_COLUMNS if name in sites.columns]
    rest = [name for name in sites.columns if name not in first and name != sites.geometry.name]
    table = sites.sort_values("rank", kind="stable")[[*first, *rest, sites.geometry.name]]
    kinds = {name: _kind(table[name]) for name in (*first, *rest)}
    table = table.astype({name: kind for name, kind in kinds.items() if kind})
    floats = [name for name, kind in kinds.items() if kind == "float64"]
    return table.round({name: _decimals(name) for name in floats}).reset_index(drop=True)


def _kind(column: pd.Series) -> str | None:
    """Return the type to store: a table without rows does not know its own."""
    if column.name in _TEXT_COLUMNS:
        return "str"
    if column.name in _NUMBER_COLUMNS:
        return "int64"
    unknown = column.empty and column.dtype == object
    return "float64" if unknown or pd.api.types.is_float_dtype(column.dtype) else None


def _decimals(column: str) -> int:
    if column in _DECIMALS:
        return _DECIMALS[column]
    endings = (digits for ending, digits in _METRIC_DECIMALS.items() if column.endswith(ending))
    return next(endings, _OTHER_DECIMALS)


def _write_gpkg(
    path: Path, table: geopandas.GeoDataFrame, cautions: Sequence[str], title: str
) -> None:
    numbered = {f"CAUTION_{number:02}": text for number, text in enumerate(cautions, start=1)}
    write_geopackage(
        path,
        table,
        layer="sites",
        geometry_type="Point",
        title=title,
        description=short_caution(),
        file_metadata={"TITLE": title, **numbered},
    )


def _geojson(table: geopandas.GeoDataFrame, cautions: Sequence[str], title: str) -> str:
    """Return RFC 7946 text, a site a line; WGS 84 longitude first, and no `crs` member."""
    columns = table.drop(columns=table.geometry.name)
    features = [
        {
            "type": "Feature",
            "id": row["rank"],
            "geometry": {"type": "Point", "coordinates": [row["lon_deg"], row["lat_deg"]]},
            "properties": row,
        }
        for row in (_with_nulls(row) for row in columns.to_dict("records"))
    ]
    head: dict[str, Any] = {"type": "FeatureCollection", "title": title, "cautions": list(cautions)}
    if features:
        head["bbox"] = _bbox(table["lon_deg"].to_list(), table["lat_deg"].to_list())
    lines = ",\n".join(_json(feature) for feature in features)
    return f'{_json(head)[:-1]}, "features": [\n{lines}\n]}}\n'


def _bbox(lon: list[float], lat: list[float]) -> list[float]:
    """Return west, south, east, north; west is the larger where it spans the antimeridian."""
    west, east = min(lon), max(lon)
    if east - west > 180:  # RFC 7946, section 5.2
        west, east = min(x for x in lon if x > 0), max(x for x in lon if x <= 0)
    return [west, min(lat), east, max(lat)]


def _with_nulls(row: dict[Any, Any]) -> dict[str, Any]:
    """Return a row with null for what is missing."""
    return {str(name): None if _is_missing(value) else value for name, value in row.items()}


def _is_missing(value: Any) -> bool:
    return value is None or value is pd.NA or (isinstance(value, float) and math.isnan(value))


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def shown_values(table: geopandas.GeoDataFrame | pd.DataFrame) -> list[dict[str, str]]:
    """Return a tidy table's rows as texts: decimals written out, nothing for what is missing."""
    columns = {name: _shown_column(table[name]) for name in table.columns}
    return [
        {name: texts[row] for name, texts in columns.items()} for row in range(len(table.index))
    ]


def _shown_column(column: pd.Series) -> list[str]:
    if pd.api.types.is_float_dtype(column.dtype):
        digits = _decimals(str(column.name))
        return ["" if math.isnan(value) else f"{value:.{digits}f}" for value in column]
    return ["" if _is_missing(value) else str(value) for value in column]


def _csv(table: geopandas.GeoDataFrame) -> str:
    """Return CSV after RFC 4180: commas, quotes where needed, CRLF; decimals written out."""
    columns = pd.DataFrame(table.drop(columns=table.geometry.name))
    for name in columns.columns:
        if not pd.api.types.is_integer_dtype(columns[name].dtype):
            texts = _shown_column(columns[name])
            is_text = not pd.api.types.is_numeric_dtype(columns[name].dtype)
            columns[name] = pd.Series(
                [harmless(t) for t in texts] if is_text else texts, dtype="str"
            )
    columns = columns.rename(columns=harmless)
    columns["caution"] = short_caution()
    return columns.to_csv(index=False, lineterminator="\r\n")
