"""Days and parts of the year, which come back each year."""

from __future__ import annotations

import calendar
import re
from typing import Annotated

from pydantic import AfterValidator, Field, WithJsonSchema

from suitability.config.section import Section
from suitability.config.unfit import UnfitValueError, shown

# Not those of `calendar`: a program that runs this one may have set another language.
MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip

# The days of a year without 02-29, in order.
_DAYS = tuple(
    f"{month:02d}-{day:02d}"
    for month in range(1, 13)
    for day in range(1, calendar.monthrange(2025, month)[1] + 1)
)


def _a_day(value: str) -> str:
    if value not in _DAYS:
        raise UnfitValueError(*_wrong_day(value))
    return value


Day = Annotated[
    str,
    AfterValidator(_a_day),
    WithJsonSchema({"type": "string", "pattern": r"^\s*(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])\s*$"}),
]


class PartOfYear(Section):
    """From one day to another of every year."""

    start: Day = Field(description="first day, month-day", examples=["11-01"])
    end: Day = Field(
        description="last day, month-day; before `start`: over New Year", examples=["05-31"]
    )

    def __str__(self) -> str:
        return f"{self.start} to {self.end}"


def days_of(start: str, end: str) -> frozenset[str]:
    """Return the days from one to another, both included; over New Year where `end` is earlier."""
    first, last = _DAYS.index(start), _DAYS.index(end)
    return frozenset(
        _DAYS[first : last + 1] if first <= last else _DAYS[first:] + _DAYS[: last + 1]
    )


def _wrong_day(text: str) -> tuple[str, str]:
    example = "write month-day with two digits each, such as 04-15"
    if text == "02-29":
        return f"{shown(text)} is not a day of every year", "write 02-28 or 03-01"
    if whole := re.fullmatch(r"(\d{4})-(\d\d-\d\d)(?:[T ].*)?", text):
        fix = f"write {whole[2]}" if whole[2] in _DAYS else example
        return f"{shown(text)} names a year; a season comes back each year", fix
    if short := re.fullmatch(r"(\d{1,2})[-/.](\d{1,2})", text):
        padded = f"{int(short[1]):02d}-{int(short[2]):02d}"
        if padded in _DAYS:
            return f"{shown(text)} is not written as month-day", f"for that day, write {padded}"
    return f"{shown(text)} is not a day of the year", example


def day_after(day: str, days: int = 1) -> str:
    """Return the day so many days later, or earlier where negative; no year is a leap year here."""
    return _DAYS[(_DAYS.index(day) + days) % len(_DAYS)]


def half_year_on(day: str) -> str:
    """Return the same day six months later, or the last of that month."""
    month, of_month = (int(part) for part in day.split("-"))
    later = (month + 5) % 12 + 1
    return f"{later:02d}-{min(of_month, calendar.monthrange(2025, later)[1]):02d}"
