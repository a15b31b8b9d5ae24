"""Boxes and their places from a file, a handheld or a run into a register; moves, and ends."""

from __future__ import annotations

import os
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd
from sqlalchemy import Connection, insert

from suitability.errors import InputError, ResultError
from suitability.finished import FinishedRun
from suitability.follow_up.cells import (
    Cells,
    Rejected,
    Row,
    a_day,
    number_between,
    one_of,
    some_text,
    whole_between,
)
from suitability.follow_up.register import Register
from suitability.follow_up.register_tables import BOXES, PLACEMENTS
from suitability.follow_up.rows import Rows, read_csv_rows, read_layer_rows

_LONGEST_NAME, _LONGEST_TEXT = 80, 2000
_BEARINGS_DEG, _HEIGHTS_M, _FURTHEST_M = (0.0, 360.0), (0.1, 99.0), 1e6
_PARSERS: dict[str, Any] = {
    "box": some_text(_LONGEST_NAME),
    "lon_deg": number_between(-180, 180, "degrees"),
    "lat_deg": number_between(-90, 90, "degrees"),
    "put_up": a_day,
    "taken_down": a_day,
    "why": some_text(_LONGEST_TEXT),
    "kind": one_of(("pole", "wall", "other")),
    "facing_deg": number_between(*_BEARINGS_DEG, "degrees, clockwise from true north"),
    "mount_height_m": number_between(*_HEIGHTS_M, "metres"),
    "run": some_text(_LONGEST_TEXT),
    "site": some_text(_LONGEST_TEXT),
    "score": number_between(0, 1, "score"),
    "direct_sun_h": number_between(0, 24, "hours a day"),
    "water_distance_m": number_between(0, _FURTHEST_M, "metres"),
    "design": some_text(_LONGEST_TEXT),
    "chambers": whole_between(1, 20),
    "colour": some_text(_LONGEST_TEXT),
    "note": some_text(_LONGEST_TEXT),
}
COLUMNS = tuple(_PARSERS)
_NEEDED = {
    "box": "name the box",
    "lon_deg": "write its longitude in degrees, WGS 84; west is negative",
    "lat_deg": "write its latitude in degrees, WGS 84; south is negative",
    "put_up": "write the day on which it was put up, or give --on for all rows",
}
OF_BOXES = ("design", "chambers", "colour", "note")
OF_PLACES = tuple(name for name in COLUMNS if name not in (*OF_BOXES, "lon_deg", "lat_deg"))
_SAME_PLACE_DEG = 1e-6  # 0.1 m; coordinates are written to six decimals
_FOR_EVER = date.max

Placement = dict[str, Any]


@dataclass(frozen=True)
class BoxImport:
    """What came of boxes that were given.

    Parameters
    ----------
    boxes, placements : int
        How many were added, or would be.
    already : int
        Rows that the register has.
    rejected : tuple of Rejected
        Rows that cannot be.
    ignored : tuple of str
        Columns that are not known.
    """

    boxes: int
    placements: int
    already: int
    rejected: tuple[Rejected, ...]
    ignored: tuple[str, ...]


def read_boxes(path: str | os.PathLike[str]) -> Rows:
    """Read boxes from a CSV file, or the waypoints of a GPX file.

    Raises
    ------
    InputError
        If it cannot be read, or lacks a column that is needed.
    """
    if Path(path).suffix.casefold() != ".gpx":
        read = read_csv_rows(path, COLUMNS, ("box", "lon_deg", "lat_deg"))
        if {"rank", "mgrs"} <= set(read.ignored):
            msg = "this is a table of sites; its column `box` says what to put up, not which box"
            raise InputError(msg, where=path, fix="give the folder of the run instead")
        return read
    columns = {"name": "box", "time": "put_up", "lon_deg": "lon_deg", "lat_deg": "lat_deg"}
    read = read_layer_rows(path, "waypoints", tuple(columns), ("name",))
    rows = [
        Row(row.number + 1, {columns[name]: text for name, text in row.cells.items()})
        for row in read.rows
    ]
    return Rows(read.where, tuple(rows))


def rows_of_run(run: FinishedRun, ranks: Collection[int], prefix: str) -> Rows:
    """Return sites of a finished run as boxes to add, called as the sites are.

    Parameters
    ----------
    run : FinishedRun
        Whose sites.
    ranks : collection of int
        Of which sites; none: all.
    prefix : str
        Before the names of sites, to tell those of several runs apart.

    Raises
    ------
    ResultError
        If it has no such site.
    """
    sites = run.sites
    lacking = sorted(set(ranks) - set(sites["rank"]))
    if lacking or sites.empty:
        msg = f"the run has no site {lacking[0]}" if lacking else "the run has no sites"
        raise ResultError(msg, where=run.folder, fix=f"it has {len(sites)} sites; see sites.csv")
    wanted = sites[sites["rank"].isin(ranks)] if ranks else sites
    named = wanted.rename(columns={"box": "design"})
    rows: list[Row] = []
    for site in named[[name for name in COLUMNS if name in named]].to_dict("records"):
        told = {str(name): str(value) for name, value in site.items() if not pd.isna(value)}
        about = {"box": f"{prefix}{site['site']}", "run": run.folder.resolve().name}
        rows.append(Row(len(rows) + 1, {"kind": "pole"} | told | about))  # walls say so
    return Rows(str(run.folder), tuple(rows))


def import_boxes(
    register: Register,
    given: Rows,
    *,
    today: date,
    put_up: date | None = None,
    dry_run: bool = False,
) -> BoxImport:
    """Add boxes and places to a register: all good rows in one transaction, or none.

    Parameters
    ----------
    register : Register
        Into which.
    given : Rows
        As `read_boxes` or `rows_of_run` return them; a row a place, so that a box that was moved
        has several.
    today : datetime.date
        No box was put up later.
    put_up : datetime.date, optional
        On which day, for rows that do not say.
    dry_run : bool
        Change nothing.
    """
    if dry_run:
        with register.reading() as connection:
            return _Sorting(register, connection, today, put_up).sort(given)
    with register.writing() as connection:
        sorting = _Sorting(register, connection, today, put_up)
        found = sorting.sort(given)
        if sorting.new_boxes:
            connection.execute(insert(BOXES), sorting.new_boxes)
        if sorting.new_places:
            connection.execute(insert(PLACEMENTS), sorting.new_places)
        return found


class _Sorting:
    """Sorts rows into new boxes, new places of them, and what cannot be."""

    def __init__(
        self, register: Register, connection: Connection, today: date, put_up: date | None
    ) -> None:
        self._today, self._put_up = today, put_up
        self._boxes = {
            row["box"]: row for row in _records(register.boxes(connection), ("box", *OF_BOXES))
        }
        self._stays: dict[str, list[Placement]] = {}
        places = register.placements(connection)
        for place in _records(places, (*OF_PLACES, "lon_deg", "lat_deg")):
            self._stays.setdefault(place["box"], []).append(place)
        self.new_boxes: list[dict[str, Any]] = []
        self.new_places: list[dict[str, Any]] = []

    def sort(self, given: Rows) -> BoxImport:
        rejected, already = [], 0
        for row in given.rows:
            cells = Cells(row)
            place = checked_place(cells, self._today, self._put_up)
            if not cells.faults and self._is_there(place, cells):
                already += 1
            elif cells.faults:
                rejected.append(Rejected(row, tuple(cells.faults)))
            else:
                self._add(place)
        return BoxImport(
            len(self.new_boxes), len(self.new_places), already, tuple(rejected), given.ignored
        )

    def _is_there(self, place: Placement, cells: Cells) -> bool:
        """Tell whether the register has this row; reject it where the two contradict."""
        box = self._boxes.get(place["box"])
        if box is None:
            return False
        self._reject_changes(place, box, OF_BOXES, cells)
        stays = self._stays.get(place["box"], [])
        same = next((stay for stay in stays if stay["put_up"] == place["put_up"]), None)
        if same is not None:
            self._reject_changes(place, same, OF_PLACES, cells)
            if any(abs(place[name] - same[name]) > _SAME_PLACE_DEG for name in _LON_LAT):
                what = f"the box hung at {same['lon_deg']:.6f}, {same['lat_deg']:.6f} from that day"
                cells.reject("lon_deg", what, "give another box another name, or leave this out")
            return not cells.faults
        for stay in stays:
            if _overlap(stay, place):
                until = stay["taken_down"] or "now"
                what = f"the box was in another place from {stay['put_up']} to {until}"
                fix = "a new box wants a name of its own; move one with `suitability boxes move`"
                cells.reject("put_up", what, fix)
        return False

    def _reject_changes(
        self, given: Placement, there: Placement, names: Sequence[str], cells: Cells
    ) -> None:
        for name in names:
            if given[name] is not None and given[name] != there[name]:
                told = "nothing" if there[name] is None else f"`{there[name]}`"
                what = f"the register has {told} for this box, not `{given[name]}`"
                cells.reject(name, what, "a new box wants a name of its own; else leave this out")

    def _add(self, place: Placement) -> None:
        name = place["box"]
        if name not in self._boxes:
            self._boxes[name] = {"box": name} | {each: place[each] for each in OF_BOXES}
            self.new_boxes.append({"name": name} | {each: place[each] for each in OF_BOXES})
        self._stays.setdefault(name, []).append(place)
        self.new_places.append(
            {each: place[each] for each in OF_PLACES}
            | {"geom": (place["lon_deg"], place["lat_deg"])}
        )


def checked_place(cells: Cells, today: date, put_up_on: date | None) -> Placement:
    """Return a row as a place of a box; what is wrong with it is noted in the cells."""
    place = {
        name: cells.take(
            name,
            parse,
            needed="" if name == "put_up" and put_up_on else _NEEDED.get(name, ""),
        )
        for name, parse in _PARSERS.items()
    }
    if place["put_up"] is None and "put_up" not in cells.row.cells:
        place["put_up"] = put_up_on
    if place["facing_deg"] == _BEARINGS_DEG[1]:
        place["facing_deg"] = _BEARINGS_DEG[0]
    put_up, down = place["put_up"], place["taken_down"]
    for name in ("put_up", "taken_down"):
        if (day := place[name]) is not None and day > today:
            fix = "write the day on which that was done, once it is"
            cells.reject(name, f"{day} is still to come", fix)
    if put_up and down and down <= put_up:
        what = f"it was taken down on {down}, not after it was put up on {put_up}"
        cells.reject("taken_down", what, "see which of the two days is wrong")
    return place


_LON_LAT = ("lon_deg", "lat_deg")


def _overlap(first: Placement, second: Placement) -> bool:
    return bool(
        first["put_up"] < (second["taken_down"] or _FOR_EVER)
        and second["put_up"] < (first["taken_down"] or _FOR_EVER)
    )


def _records(table: pd.DataFrame, names: Sequence[str]) -> list[dict[str, Any]]:
    """Return rows with None for what is not known, and days as days."""
    plain = table[list(names)].copy()
    for name in plain.columns:
        values = plain[name]
        if values.dtype.kind == "M":
            values = values.dt.date
        plain[name] = values.astype(object).where(table[name].notna(), None)
    return [{str(name): value for name, value in row.items()} for row in plain.to_dict("records")]
