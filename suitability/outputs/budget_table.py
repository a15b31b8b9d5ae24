"""A budget as a table for a proposal."""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from pathlib import Path

from suitability.outputs.spreadsheet import forget_table, harmless, write_table

BUDGET = "budget.csv"

_HEADER = ("part", "item", "count", "unit", "price", "amount", "currency", "note")

# Part, item, count, unit, price and amount of a line, in text.
Row = Sequence[str]


def write_budget(
    path: str | os.PathLike[str], rows: Iterable[Row], *, currency: str, note: str
) -> None:
    """Write the lines of a budget; the note stands on each, for it must not get lost.

    Parameters
    ----------
    path : path
        Where to, such as `budget.csv`.
    rows : iterable of sequence of str
        Part, item, count, unit, price, amount.
    currency : str
        As it shall be printed.
    note : str
        Whose prices, and how they are rounded.
    """
    table = [
        [*(harmless(cell) for cell in row), harmless(currency), harmless(note)] for row in rows
    ]
    write_table(path, _HEADER, table)


def forget_budget(folder: str | os.PathLike[str]) -> None:
    """Take away the table in a run's folder, whose results are about to be replaced."""
    forget_table(Path(folder) / BUDGET, _HEADER)
