"""A value function read from a CSV file of two columns: measures and their values."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from pydantic import Field, PlainSerializer, PlainValidator, ValidationInfo

from suitability.config.paths import from_folder, is_local
from suitability.config.unfit import UnfitValueError, shown
from suitability.config.units import quantity, unit_of

MAX_BYTES = 1_000_000
_LEAST_ROWS = 2
_COLUMNS = 2
_IN_BRACKETS = re.compile(r".*[\[(]\s*(.+?)\s*[\])]")
_HEADER = "name the columns in the first line, the measure with its unit, as: distance (ft), value"


@dataclass(frozen=True)
class CurveTable:
    """What a table says.

    Parameters
    ----------
    path : str
        The file.
    unit : str
        Unit of the measures, as its first line names it; empty for a share.
    rows : tuple of (int, str, float)
        The line in the file, the measure as written, and its value.
    """

    path: str
    unit: str
    rows: tuple[tuple[int, str, float], ...]

    def knots(self, unit: str) -> tuple[tuple[float, float], ...]:
        """Return measures in a unit, rising, and their values.

        Raises
        ------
        UnfitValueError
            If the file's unit is of another kind, or its measures do not rise. (A ValueError.)
        """
        knots: list[tuple[float, float]] = []
        for line, raw, value in self.rows:
            try:
                measure = quantity(f"{raw} {self.unit}", unit)
            except UnfitValueError as exc:
                what = f"{_place(self.path, line)}: {exc.what}"
                raise UnfitValueError(what, exc.fix, within=("table",)) from exc
            if knots and measure <= knots[-1][0]:
                what = (
                    f"{_place(self.path, line)}: {measure:g} {unit} follows {knots[-1][0]:g} "
                    f"{unit}; measures must rise"
                )
                fix = "order the lines from the smallest measure to the largest"
                raise UnfitValueError(what, fix, within=("table",))
            knots.append((measure, value))
        return tuple(knots)


def read_table(path: str) -> CurveTable:
    """Read a value function's table.

    Raises
    ------
    UnfitValueError
        If it cannot be read, or a line of it is not a measure and a value in 0..1. (A ValueError.)
    """
    lines = [
        (number, [cell.strip() for cell in cells])
        for number, cells in _lines(path, _text(path))
        if any(cell.strip() for cell in cells)
    ]
    if not lines:
        what = f"{Path(path).name} is empty"
        raise UnfitValueError(what, _HEADER)
    (line, header), *rows = lines
    for number, cells in lines:
        if len(cells) != _COLUMNS:
            count = "1 column stands" if len(cells) == 1 else f"{len(cells)} columns stand"
            what = f"{_place(path, number)}: {count} where two belong"
            raise UnfitValueError(what, "write a measure, a comma and a value; decimals with a dot")
    if len(rows) < _LEAST_ROWS:
        what = f"{Path(path).name} has {len(rows)} line{'' if len(rows) == 1 else 's'} of values"
        raise UnfitValueError(what, "give two lines or more below the one that names the columns")
    unit = _unit(header[0], _place(path, line))
    return CurveTable(path, unit, tuple(_row(path, number, cells) for number, cells in rows))


def _row(path: str, line: int, cells: list[str]) -> tuple[int, str, float]:
    for cell in cells:
        if not _is_number(cell):
            what = f"{_place(path, line)}: {shown(cell)} is not a number"
            fix = "write bare numbers; the unit stands in the first line"
            raise UnfitValueError(what, fix)
    value = float(cells[1])
    if not 0 <= value <= 1:
        what = f"{_place(path, line)}: {value:g} is no value from 0 to 1"
        raise UnfitValueError(what, "write 0 for no use, up to 1 for as good as it gets")
    return line, cells[0], value


def _is_number(text: str) -> bool:
    return (
        re.fullmatch(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?", text, re.ASCII) is not None
    )


def _unit(name: str, place: str) -> str:
    """Return the unit in a column's name: in brackets, or after its last underscore."""
    if (found := _IN_BRACKETS.fullmatch(name)) is not None:
        return found[1]
    if _is_number(name):
        what = f"{place}: {shown(name)} names no column"
        raise UnfitValueError(what, _HEADER)
    try:
        unit = unit_of(name)
    except UnfitValueError:
        what = f"{place}: {shown(name)} names no unit"
        raise UnfitValueError(what, _HEADER) from None
    return "" if unit == "1" else unit


def _lines(path: str, text: str) -> list[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text), strict=True)
    try:
        return [(reader.line_num, cells) for cells in reader]
    except csv.Error as exc:
        what = f"{_place(path, reader.line_num)}: this is not CSV ({exc})"
        raise UnfitValueError(what, "write a measure, a comma and a value on each line") from exc


def _text(path: str) -> str:
    name = Path(path).name
    try:
        with Path(path).open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except OSError as exc:
        what = f"{name} cannot be read ({exc.strerror})"
        raise UnfitValueError(what, "check the path; it is seen from the run file") from exc
    if len(data) > MAX_BYTES:
        what = f"{name} is larger than {MAX_BYTES / 1e6:g} MB"
        raise UnfitValueError(what, "name a table of a curve's points")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as exc:
        line = data.count(b"\n", 0, exc.start) + 1
        what = f"{_place(path, line)}: this is not UTF-8"
        raise UnfitValueError(what, "save the table as UTF-8") from exc


def _place(path: str, line: int) -> str:
    return f"{Path(path).name}, line {line}"


def _read(value: object, info: ValidationInfo) -> CurveTable:
    if isinstance(value, CurveTable):
        return value
    if not isinstance(value, str) or not value or not is_local(value):
        what = f"{shown(value)} is not the path of a table"
        raise UnfitValueError(what, "write the path of a CSV file, such as sun_curve.csv")
    return read_table(from_folder(value, info.context["folder"] if info.context else None))


TableFile = Annotated[
    CurveTable,
    PlainValidator(_read, json_schema_input_type=Annotated[str, Field(min_length=1)]),
    PlainSerializer(lambda table: table.path, return_type=str),
]
