"""Visits from a file into a register: what is new, what is there already, what cannot be."""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd
from sqlalchemy import Connection, insert, update

from suitability.errors import ResultError
from suitability.follow_up.cells import (
    Cells,
    Fault,
    Rejected,
    Row,
    UnfitCellError,
    a_day,
    nearest_name,
    one_of,
    some_text,
    whole_between,
    yes_or_no,
)
from suitability.follow_up.register import Register
from suitability.follow_up.register_tables import VISITS
from suitability.follow_up.rows import Rows, read_csv_rows, read_layer_rows
from suitability.follow_up.visit_form import (
    CONDITIONS,
    LONGEST_INITIALS,
    METHODS,
    MOST_BATS,
    NO_METHOD,
    NOT_CHECKED,
    NOT_OCCUPIED,
    OCCUPIED,
    STATES,
    visit_fields,
)
from suitability.follow_up.visit_form import VISITS as LAYER

FIELDS = visit_fields(())
COLUMNS = tuple(each.name for each in FIELDS)
_NEEDED = tuple(each.name for each in FIELDS if each.needed)
_KEY = ("box", "date", "observer", "method")
_CONTENT = tuple(name for name in COLUMNS if name not in _KEY)
_LONGEST_TEXT = 2000
_PARSERS = {
    "box": some_text(200),
    "date": a_day,
    "method": one_of(word for word, _ in METHODS),
    "count": whole_between(0, MOST_BATS),
    "state": one_of(word for word, _ in STATES),
    "condition": one_of(word for word, _ in CONDITIONS),
    "wasps": yes_or_no,
    "repair": some_text(_LONGEST_TEXT),
    "note": some_text(_LONGEST_TEXT),
}

Visit = dict[str, Any]


@dataclass(frozen=True)
class VisitImport:
    """What came of a file of visits.

    Parameters
    ----------
    new : tuple of dict
        Visits that were added, or would be.
    already : int
        Rows that the register has.
    rejected : tuple of Rejected
        Rows that cannot be.
    ignored : tuple of str
        Columns that are not known.
    """

    new: tuple[Visit, ...]
    already: int
    rejected: tuple[Rejected, ...]
    ignored: tuple[str, ...]


@dataclass(frozen=True)
class Known:
    """What a register has, by what rows are looked up by.

    Parameters
    ----------
    stays : mapping
        By box: its places as (number, first day, last day or None), by day.
    visits : mapping
        Content of visits by box, day, observer and method; withdrawn ones are in a list with it.
    """

    stays: Mapping[str, Sequence[tuple[int, date, date | None]]]
    visits: dict[tuple[Any, ...], list[tuple[Any, ...]]]
    withdrawn: Mapping[tuple[Any, ...], Sequence[tuple[Any, ...]]]


def read_visits(path: str | os.PathLike[str]) -> Rows:
    """Read visits from a CSV file, or from the layer `visits` of a form that was filled in.

    Raises
    ------
    InputError
        If it cannot be read, or lacks a column that is needed.
    """
    if Path(path).suffix.casefold() in (".csv", ".txt", ".tsv"):
        return read_csv_rows(path, COLUMNS, _NEEDED)
    return read_layer_rows(path, LAYER, COLUMNS, _NEEDED)


def import_visits(
    register: Register, given: Rows, *, today: date, dry_run: bool = False
) -> VisitImport:
    """Add visits to a register: all good rows in one transaction, or none.

    Parameters
    ----------
    register : Register
        Into which.
    given : Rows
        As `read_visits` returns them.
    today : datetime.date
        No visit is of a later day.
    dry_run : bool
        Change nothing.
    """
    if dry_run:
        with register.reading() as connection:
            return sort_visits(given, known_of(register, connection), today)
    with register.writing() as connection:
        found = sort_visits(given, known_of(register, connection), today)
        if found.new:
            connection.execute(insert(VISITS), list(found.new))
        return found


def withdraw_visit(
    register: Register, box: str, on: date, because: str, *, today: date, observer: str = ""
) -> int:
    """Withdraw visits of a box on a day, as wrong; they stay in the register. Return how many.

    Raises
    ------
    ResultError
        If there are none.
    """
    these = (VISITS.c.box == box) & (VISITS.c.date == on) & VISITS.c.withdrawn_on.is_(None)
    if observer:
        these &= VISITS.c.observer == observer
    with register.writing() as connection:
        change = update(VISITS).where(these)
        done = connection.execute(
            change.values(withdrawn_on=today, withdrawn_because=because)
        ).rowcount
    if not done:
        msg = f"there is no visit of `{box}` on {on}"
        raise ResultError(msg, where=register.where, fix="see `suitability visits list`")
    return done


def known_of(register: Register, connection: Connection) -> Known:
    """Return what a register has."""
    stays: dict[str, list[tuple[int, date, date | None]]] = defaultdict(list)
    places = register.placements(connection)
    for number, box, put_up, down in zip(
        places["placement"], places["box"], places["put_up"], places["taken_down"], strict=True
    ):
        stays[box].append((number, put_up.date(), None if pd.isna(down) else down.date()))
    return Known(
        stays,
        _contents(register.visits(connection)),
        _contents(register.visits(connection, withdrawn=True)),
    )


def _contents(visits: pd.DataFrame) -> dict[tuple[Any, ...], list[tuple[Any, ...]]]:
    plain = visits[list(COLUMNS)].astype(object).where(visits[list(COLUMNS)].notna(), None)
    plain["date"] = visits["date"].dt.date
    found: dict[tuple[Any, ...], list[tuple[Any, ...]]] = defaultdict(list)
    keys = plain[list(_KEY)].itertuples(index=False, name=None)
    for key, content in zip(
        keys, plain[list(_CONTENT)].itertuples(index=False, name=None), strict=True
    ):
        found[key].append(content)
    return found


def sort_visits(given: Rows, known: Known, today: date) -> VisitImport:
    """Sort rows into new ones, ones that are there already, and ones that cannot be."""
    new: list[Visit] = []
    rejected: list[Rejected] = []
    already = 0
    for row in given.rows:
        visit, faults = checked_visit(row, known, today)
        if visit is None:
            rejected.append(Rejected(row, tuple(faults)))
            continue
        key = tuple(visit[name] for name in _KEY)
        content = tuple(visit[name] for name in _CONTENT)
        if content in (*known.visits.get(key, ()), *known.withdrawn.get(key, ())):
            already += 1
        elif key in known.visits:
            rejected.append(_contradicting(row, known.visits[key][0], content))
        else:
            known.visits[key] = [content]
            new.append(visit)
    return VisitImport(tuple(new), already, tuple(rejected), given.ignored)


def checked_visit(row: Row, known: Known, today: date) -> tuple[Visit | None, list[Fault]]:
    """Return a row as a visit of the register, or what is wrong with it."""
    cells = Cells(row)
    visit: Visit = {
        each.name: cells.take(
            each.name,
            _PARSERS.get(each.name, _initials),
            needed=each.description if each.needed else "",
        )
        for each in FIELDS
    }
    _reject_contradictions(visit, cells)
    visit["placement"] = _placement(visit, known, today, cells)
    return (None if cells.faults else visit), cells.faults


def _reject_contradictions(visit: Visit, cells: Cells) -> None:
    state, method, count = visit["state"], visit["method"], visit["count"]
    if method == NO_METHOD and state in (OCCUPIED, NOT_OCCUPIED):
        what = f"nobody looked, yet the state is `{state}`"
        cells.reject("method", what, f"say how it was looked, or make the state `{NOT_CHECKED}`")
    if state == NOT_OCCUPIED and count:
        what = f"{count:,} bats were counted, yet the state is `{state}`"
        cells.reject("count", what, f"make the state `{OCCUPIED}`, or the count 0")
    if state == NOT_CHECKED and count is not None:
        what = f"there is a count, yet the state is `{state}`"
        cells.reject("count", what, "leave the count empty, or say what was found")


def _placement(visit: Visit, known: Known, today: date, cells: Cells) -> int | None:
    """Return the place that the box was in on the day; on a day of moving, the one it left."""
    box, day = visit["box"], visit["date"]
    if day is not None and day > today:
        cells.reject("date", f"{day} is still to come", "write the day of the visit")
        day = None
    if box is None:
        return None
    stays = known.stays.get(box)
    if stays is None:
        hint = nearest_name(box, known.stays)
        fix = hint or "add the box first, with `suitability boxes add`"
        cells.reject("box", f"the register has no box `{box}`", fix)
        return None
    if day is None:
        return None
    for number, put_up, down in stays:
        if put_up <= day and (down is None or day <= down):
            return number
    told = ", ".join(f"{put_up} to {down or 'now'}" for _, put_up, down in stays)
    cells.reject("date", f"the box was not up on {day}", f"it was up {told}")
    return None


def _initials(text: str) -> str:
    letters = text.replace(".", "").replace(" ", "").upper()
    if not letters.isalpha() or len(letters) > LONGEST_INITIALS:
        what = f"`{text}` are no initials"
        fix = f"write {LONGEST_INITIALS} letters at most, such as AB; registers hold no names"
        raise UnfitCellError(what, fix)
    return letters


def _contradicting(row: Row, there: tuple[Any, ...], given: tuple[Any, ...]) -> Rejected:
    cells = Cells(row)
    for name, old, new in zip(_CONTENT, there, given, strict=True):
        if old != new:
            what = f"that visit is there already with {_told(old)}, and this row says {_told(new)}"
            fix = "leave this row out, or withdraw the other with `suitability visits withdraw`"
            cells.reject(name, what, fix)
    return Rejected(row, tuple(cells.faults))


def _told(value: object) -> str:
    if isinstance(value, bool):
        return "`yes`" if value else "`no`"
    return "nothing" if value is None else f"`{value}`"
