"""A row's cells as text, checked one by one; every fault is told with its fix."""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import TypeVar

Value = TypeVar("Value")


@dataclass(frozen=True)
class Fault:
    """Why a row cannot be taken.

    Parameters
    ----------
    column, what, fix : str
        Where in the row, what is wrong there, and what to do.
    """

    column: str
    what: str
    fix: str

    def __str__(self) -> str:
        return f"{self.column}: {self.what} ({self.fix})"


@dataclass(frozen=True)
class Row:
    """A row as it was given.

    Parameters
    ----------
    number : int
        As a spreadsheet counts, the header being 1; in a GeoPackage the feature's number.
    cells : dict
        Text by column, without blanks around it; empty cells are not in it.
    """

    number: int
    cells: dict[str, str]


@dataclass(frozen=True)
class Rejected:
    """A row that is not taken, and why."""

    row: Row
    faults: tuple[Fault, ...]


class UnfitCellError(Exception):
    """A cell that cannot be what it should be."""

    def __init__(self, what: str, fix: str) -> None:
        super().__init__(what)
        self.what, self.fix = what, fix


@dataclass
class Cells:
    """Reads one row's cells and gathers what is wrong with them."""

    row: Row
    faults: list[Fault] = field(default_factory=list)

    def take(self, column: str, parse: Callable[[str], Value], *, needed: str = "") -> Value | None:
        """Return a cell's value; None if it is empty or unfit.

        Parameters
        ----------
        column : str
            Its name.
        parse : callable
            From text to the value; raises UnfitCellError.
        needed : str
            What to write if it is empty; left out, it may be.
        """
        text = self.row.cells.get(column)
        if text is None:
            if needed:
                self.reject(column, "this is empty", needed)
            return None
        try:
            return parse(text)
        except UnfitCellError as exc:
            self.reject(column, exc.what, exc.fix)
            return None

    def reject(self, column: str, what: str, fix: str) -> None:
        """Note what is wrong."""
        self.faults.append(Fault(column, what, fix))


def a_day(text: str) -> date:
    """Return a day written year-month-day."""
    try:
        if len(text) == len("2026-06-09"):
            return date.fromisoformat(text)
    except ValueError:
        pass
    what = f"`{text}` is no day"
    raise UnfitCellError(what, "write year-month-day, such as 2026-06-09")


def one_of(words: Iterable[str]) -> Callable[[str], str]:
    """Return a function that takes any of these words, in small letters or capitals."""
    known = {word.casefold(): word for word in words}

    def parse(text: str) -> str:
        found = known.get(" ".join(text.casefold().split()))
        if found is None:
            what = f"`{text}` is none of the words that fit"
            raise UnfitCellError(what, f"write {', '.join(known.values())}")
        return found

    return parse


def number_between(low: float, high: float, unit: str) -> Callable[[str], float]:
    """Return a function that takes numbers of a range, both ends included."""

    def parse(text: str) -> float:
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not low <= value <= high:
            what = f"`{text}` is no number from {low:g} to {high:g}"
            raise UnfitCellError(what, f"write a plain number of {unit}, with a point if any")
        return value

    return parse


def whole_between(low: int, high: int) -> Callable[[str], int]:
    """Return a function that takes whole numbers of a range, both ends included."""

    def parse(text: str) -> int:
        digits = text.removeprefix("-")
        if not (digits.isascii() and digits.isdigit() and low <= int(text) <= high):
            what = f"`{text}` is no whole number from {low:,} to {high:,}"
            raise UnfitCellError(what, "write digits alone, or leave it empty if it is not known")
        return int(text)

    return parse


def yes_or_no(text: str) -> bool:
    """Return whether it is so."""
    known = {"yes": True, "y": True, "true": True, "1": True,
             "no": False, "n": False, "false": False, "0": False}  # fmt: skip
    found = known.get(text.casefold())
    if found is None:
        what = f"`{text}` is neither yes nor no"
        raise UnfitCellError(what, "write yes or no, or leave it empty")
    return found


def some_text(longest: int) -> Callable[[str], str]:
    """Return a function that takes texts up to a length."""

    def parse(text: str) -> str:
        if len(text) > longest or "\x00" in text:
            what = f"this text has {len(text):,} letters, more than {longest:,}"
            raise UnfitCellError(what, "make it shorter")
        return text

    return parse


def nearest_name(name: str, names: Iterable[str]) -> str:
    """Return a hint at the known name that is most like one; empty if none is."""
    close = difflib.get_close_matches(name, list(names), n=1, cutoff=0.6)
    return f"perhaps `{close[0]}` is meant" if close else ""
