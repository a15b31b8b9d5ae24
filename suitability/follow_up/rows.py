"""Rows from files outside, read as text: CSV, and layers that GDAL reads."""

from __future__ import annotations

import csv
import io
import math
import os
from collections.abc import Collection, Hashable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

import pandas as pd
import pyogrio

from suitability.errors import InputError
from suitability.follow_up.cells import Rejected, Row
from suitability.outputs.spreadsheet import harmless, write_table

_DELIMITERS = ",;\t"
_ADDED = ("row", "reasons")  # columns of a file of rejected rows
CAUTION = "caution"  # what exports say of themselves
_FORMULA_GUARD = "'"


@dataclass(frozen=True)
class Rows:
    """What a file holds.

    Parameters
    ----------
    where : str
        The file.
    rows : tuple of Row
        In the file's order.
    ignored : tuple of str
        Columns that are not known and are left out.
    """

    where: str
    rows: tuple[Row, ...]
    ignored: tuple[str, ...] = ()


def read_csv_rows(
    path: str | os.PathLike[str], columns: Collection[str], needed: Iterable[str]
) -> Rows:
    """Read a CSV file with a header; commas, semicolons or tabs part its cells.

    Parameters
    ----------
    path : path
        The file.
    columns : collection of str
        That are known.
    needed : iterable of str
        That must be there.

    Raises
    ------
    InputError
        If it cannot be read, or lacks a column.
    """
    try:
        text = Path(path).read_bytes().decode("utf-8-sig")
    except OSError as exc:
        msg = f"this cannot be read: {exc.strerror}"
        raise InputError(msg, where=path, fix="name a file that is there") from exc
    except UnicodeDecodeError as exc:
        msg = "this is no text in UTF-8"
        fix = "save it as CSV UTF-8; a spreadsheet offers that"
        raise InputError(msg, where=path, fix=fix) from exc
    first = text.partition("\n")[0]
    delimiter = max(_DELIMITERS, key=first.count)
    try:
        header, *lines = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    except (csv.Error, ValueError) as exc:
        msg = "this is no CSV" if text.strip() else "this file is empty"
        fix = "give a table with a header in its first line"
        raise InputError(msg, where=path, fix=fix) from exc
    names = [name.strip().casefold() for name in header]
    if len(set(names)) < len(names):
        msg = "two columns have one name"
        raise InputError(msg, where=path, fix="give each column a name of its own")
    _require(names, needed, path)
    rows = [
        Row(number, _known_cells(dict(zip(names, line, strict=False)), columns))
        for number, line in enumerate(lines, start=2)
    ]
    for number, line in enumerate(lines, start=2):
        if len(line) > len(names):
            msg = f"row {number} has {len(line)} cells, and the header {len(names)}"
            raise InputError(msg, where=path, fix="quote cells that hold the delimiter")
    return Rows(os.fspath(path), tuple(row for row in rows if row.cells), _others(names, columns))


def read_layer_rows(
    path: str | os.PathLike[str], layer: str, columns: Collection[str], needed: Iterable[str]
) -> Rows:
    """Read a layer of a file that GDAL reads; points become `lon_deg` and `lat_deg`, where known.

    Raises
    ------
    InputError
        If it cannot be read, has no such layer, or lacks a column.
    """
    try:
        table = pyogrio.read_dataframe(path, layer=layer, fid_as_index=True)
    except (pyogrio.errors.DataSourceError, pyogrio.errors.DataLayerError) as exc:
        msg = f"this holds no layer `{layer}` that can be read"
        fix = f"give a CSV file, or a file with a layer `{layer}`"
        raise InputError(msg, where=path, fix=fix) from exc
    if "lon_deg" in columns and "geometry" in table:
        if table.crs is not None:
            table = table.to_crs(4326)
        table = table.assign(lon_deg=table.geometry.x, lat_deg=table.geometry.y)
    plain = pd.DataFrame(table.drop(columns="geometry", errors="ignore"))
    plain.columns = plain.columns.str.casefold()
    _require(list(plain.columns), needed, path)
    rows = tuple(
        Row(int(number), _known_cells(cells, columns))
        for number, cells in zip(plain.index, plain.to_dict("records"), strict=True)
    )
    return Rows(os.fspath(path), rows, _others(list(plain.columns), columns))


def write_rejected(
    path: str | os.PathLike[str], rejected: Iterable[Rejected], columns: Iterable[str]
) -> None:
    """Write rows that were not taken, with the reasons; mended, the file can be imported."""
    names = tuple(columns)
    rows = [
        (
            str(each.row.number),
            *(_guarded(each.row.cells.get(name, "")) for name in names),
            harmless("; ".join(map(str, each.faults))),
        )
        for each in rejected
    ]
    write_table(path, (_ADDED[0], *names, _ADDED[1]), rows)


def _guarded(text: str) -> str:
    try:
        float(text)
    except ValueError:
        return harmless(text)
    return text  # such as a western longitude, which begins like a formula


def _require(names: list[str], needed: Iterable[str], path: str | os.PathLike[str]) -> None:
    lacking = [name for name in needed if name not in names]
    if lacking:
        msg = f"there is no column {', '.join(lacking)}"
        raise InputError(msg, where=path, fix=f"name columns so; there are: {', '.join(names)}")


def _others(names: Iterable[str], columns: Collection[str]) -> tuple[str, ...]:
    return tuple(
        name for name in names if name and name not in columns and name not in (*_ADDED, CAUTION)
    )


def _known_cells(cells: Mapping[Hashable, object], columns: Collection[str]) -> dict[str, str]:
    told = {str(name): _text(value) for name, value in cells.items() if name in columns}
    return {name: text for name, text in told.items() if text}


def _text(value: object) -> str:
    """Return what a spreadsheet would hold for a value."""
    if value is None or value is pd.NaT or (isinstance(value, float) and math.isnan(value)):
        return ""
    if isinstance(value, pd.Timestamp):
        return value.date().isoformat()
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    text = str(value).strip()
    bare = text.removeprefix(_FORMULA_GUARD)
    return bare if harmless(bare) == text else text
