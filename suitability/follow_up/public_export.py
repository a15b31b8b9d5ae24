"""Boxes for the public: how many are in a square or a parcel, and nothing that leads to one.

No name, note, day or observer goes out, and no row is of one box alone: names and days tell boxes
apart, and whoever can follow one box from file to file sees when it moves.
"""

from __future__ import annotations

import json
import os
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import geopandas
import pandas as pd
import pyproj
import shapely
import shapely.affinity
from shapely.geometry import mapping
from shapely.geometry.polygon import orient

from suitability.errors import InputError, ResultError
from suitability.follow_up.privacy import CoarsePlace, coarse_place
from suitability.follow_up.visit_form import EMPTY, IN_USE
from suitability.grid import WGS84
from suitability.outputs.atomic import write_text
from suitability.outputs.spreadsheet import harmless, write_table
from suitability.parcels import all_parcels

# Of fewer boxes in a parcel neither number nor use is told: common practice of statistics.
LEAST_IN_PARCEL = 3

_COUNTS = ("boxes", "looked_at", "with_bats")
_LEFT_OUT = "names, days, notes and observers are left out"


@dataclass(frozen=True)
class PublicCounts:
    """Boxes that are up, counted for the public.

    Parameters
    ----------
    by : tuple of str
        Columns that say where.
    rows : tuple of dict
        By place: `by`, `boxes`, `looked_at` (of those, ever) and `with_bats` (of those, ever), all
        three None where boxes are too few to tell.
    shapes : tuple of shapely geometry
        Of the places, WGS 84.
    told : str
        How coarse it is, and what is left out.
    warnings : tuple of str
        What whoever gives it out has to know.
    """

    by: tuple[str, ...]
    rows: tuple[dict[str, Any], ...]
    shapes: tuple[Any, ...]
    told: str
    warnings: tuple[str, ...] = ()


def by_square(placements: pd.DataFrame, visits: pd.DataFrame, side_m: int) -> PublicCounts:
    """Count boxes by squares of the Military Grid Reference System.

    Parameters
    ----------
    placements, visits : pandas.DataFrame
        As `Register.placements` and `Register.visits` give them.
    side_m : {1000, 10000, 100000}
        Of the squares. [m]

    Raises
    ------
    ResultError
        If a box is where that grid is not.
    """
    try:
        places = [
            coarse_place(lon, lat, side_m)
            for lon, lat in zip(placements["lon_deg"], placements["lat_deg"], strict=True)
        ]
    except ValueError as exc:
        fix = "give out counts by parcel, with --by"
        raise ResultError(str(exc), where="boxes export --public", fix=fix) from exc
    counts = _counted(placements, visits, [place.square for place in places])
    by_name = {place.square: place for place in places}
    rows = [
        {
            "square": name,
            "middle_lon_deg": by_name[name].lon_deg,
            "middle_lat_deg": by_name[name].lat_deg,
            "square_side_m": side_m,
        }
        | count
        for name, count in counts.items()
    ]
    told = (
        f"Bat boxes by squares of {side_m // 1000} km of the Military Grid Reference System, the "
        f"same in every export; {_LEFT_OUT}. Where zones of the grid meet, a box may lie in the "
        "square beside."
    )
    names = ("square", "middle_lon_deg", "middle_lat_deg", "square_side_m")
    shapes = tuple(_outline(by_name[name]) for name in counts)
    return PublicCounts(names, tuple(rows), shapes, told)


def by_parcel(
    placements: pd.DataFrame,
    visits: pd.DataFrame,
    parcels: str | os.PathLike[str],
    *,
    layer: str | None = None,
    name_field: str | None = None,
) -> PublicCounts:
    """Count boxes by parcels; of a parcel with fewer than three it only says that.

    Parameters
    ----------
    placements, visits : pandas.DataFrame
        As `Register.placements` and `Register.visits` give them.
    parcels : path
        File of polygons.
    layer : str, optional
        Layer of that file, if it has several.
    name_field : str, optional
        Attribute that names a parcel; parcels of one name are one.

    Raises
    ------
    InputError
        If the parcels cannot be read.
    ResultError
        If no box is in a parcel.
    """
    shapes, names, warnings = all_parcels(parcels, layer, name_field, WGS84)
    points = geopandas.points_from_xy(placements["lon_deg"], placements["lat_deg"])
    box, parcel = shapely.STRtree(shapes.geometry.to_numpy()).query(
        points.to_numpy(), predicate="intersects"
    )
    # Where parcels lie over each other, the first of the file.
    first = pd.Series(parcel, index=box).groupby(level=0).min()
    held = [None if number is None else names[number] for number in _in_order(first, placements)]
    counts = _counted(placements, visits, held)
    if not counts:
        msg = "no box that is up is in one of the parcels"
        raise ResultError(msg, where=parcels, fix="give parcels of the land that boxes are on")
    outside = sum(
        name is None and pd.isna(down)
        for name, down in zip(held, placements["taken_down"], strict=True)
    )
    if outside:
        warnings += (f"{outside} of the boxes that are up are in no parcel, and left out",)
    outlines = {name: _together(shapes, names, name) for name in counts}
    smallest_m2 = min(_area_m2(outline) for outline in outlines.values())
    warnings += (
        f"whoever reads this knows of boxes on the smallest parcel told, of "
        f"{smallest_m2 / 10_000:,.1f} ha: ask owners first",
    )
    told = (
        f"Bat boxes by parcel; {_LEFT_OUT}. Where numbers are empty there are fewer than "
        f"{LEAST_IN_PARCEL} boxes."
    )
    rows = tuple({"parcel": name} | _masked(count) for name, count in counts.items())
    return PublicCounts(("parcel",), rows, tuple(outlines.values()), told, warnings)


def write_public(path: str | os.PathLike[str], counts: PublicCounts) -> None:
    """Write counts as a table (`.csv`) or as areas (`.geojson`).

    Raises
    ------
    InputError
        If the file's name ends otherwise, or it cannot be written.
    """
    suffix = Path(path).suffix.casefold()
    try:
        if suffix == ".csv":
            header = (*counts.by, *_COUNTS, "about")
            rows = [[*map(_cell, row.values()), counts.told] for row in counts.rows]
            write_table(path, header, rows)
        elif suffix in (".geojson", ".json"):
            write_text(path, _geojson(counts))
        else:
            msg = f"counts are not written as `{suffix or 'a file without an ending'}`"
            raise InputError(msg, where=path, fix="name a file that ends in .csv or .geojson")
    except OSError as exc:
        msg = f"this cannot be written: {exc.strerror}"
        raise InputError(msg, where=path, fix="name another file") from exc


def _counted(
    placements: pd.DataFrame, visits: pd.DataFrame, areas: Sequence[str | None]
) -> dict[str, dict[str, Any]]:
    """Count by area boxes that are up; looks and bats from any of their places in that area.

    So a box that moves within its area leaves no trace.
    """
    telling = visits[visits["state"].isin((*IN_USE, *EMPTY))]
    placed = placements.assign(
        area=pd.Series(areas, placements.index, dtype="object"),
        looked=placements["placement"].isin(telling["placement"]),
        bats=placements["placement"].isin(telling.loc[telling["state"].isin(IN_USE), "placement"]),
    ).dropna(subset="area")
    up = placed[placed["taken_down"].isna()][["box", "area"]].drop_duplicates()
    found = placed.groupby(["box", "area"], as_index=False)[["looked", "bats"]].any()
    told = up.merge(found, on=["box", "area"]).groupby("area")
    return {
        str(area): {
            "boxes": len(group),
            "looked_at": int(group["looked"].sum()),
            "with_bats": int(group["bats"].sum()),
        }
        for area, group in told
    }


def _in_order(numbers: pd.Series, placements: pd.DataFrame) -> list[int | None]:
    found: dict[Hashable, Any] = numbers.to_dict()
    return [found.get(row) for row in range(len(placements))]


def _masked(count: dict[str, Any]) -> dict[str, Any]:
    if count["boxes"] >= LEAST_IN_PARCEL:
        return count
    return dict.fromkeys(count)


def _together(shapes: geopandas.GeoDataFrame, names: Sequence[str], name: str) -> Any:
    return shapely.union_all(shapes.geometry.to_numpy()[[each == name for each in names]])


def _area_m2(outline: Any) -> float:
    area_m2, _ = pyproj.Geod(ellps="WGS84").geometry_area_perimeter(outline)
    return abs(float(area_m2))


def _counter_clockwise(shape: Any) -> Any:
    parts = [orient(part) for part in getattr(shape, "geoms", (shape,))]
    return parts[0] if len(parts) == 1 else shapely.MultiPolygon(parts)


def _outline(place: CoarsePlace) -> Any:
    """Return a square; one across the antimeridian in two parts (RFC 7946, section 3.1.9)."""
    square = shapely.Polygon(place.corners_deg)
    parts = [
        shapely.affinity.translate(square & shapely.box(west, -90, west + 360, 90), -180 - west)
        for west in (-540, -180, 180)
    ]
    return shapely.union_all([part for part in parts if not part.is_empty])


def _cell(value: Any) -> str:
    if value is None:
        return ""
    return f"{value:.4f}" if isinstance(value, float) else harmless(str(value))


def _geojson(counts: PublicCounts) -> str:
    """Return RFC 7946 text, an area a line."""
    lines = ",\n".join(
        json.dumps(
            {
                "type": "Feature",
                "geometry": mapping(_counter_clockwise(shape)),
                "properties": row,
            },
            ensure_ascii=False,
            allow_nan=False,
        )
        for row, shape in zip(counts.rows, counts.shapes, strict=True)
    )
    head = json.dumps({"type": "FeatureCollection", "about": counts.told}, ensure_ascii=False)
    return f'{head[:-1]}, "features": [\n{lines}\n]}}\n'
