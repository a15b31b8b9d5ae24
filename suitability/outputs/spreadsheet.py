"""CSV that a spreadsheet opens right, and that runs nothing there.

RFC 4180: commas, quotes where needed, CRLF. A spreadsheet reads bytes beyond ASCII as UTF-8 only
after a byte-order mark, and a script stumbles over the mark: it is there when it is needed, which
is seldom.
"""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Iterable, Sequence
from pathlib import Path

from suitability.outputs.atomic import remove, write_text

# A spreadsheet takes a text that begins so for a formula (OWASP, "CSV Injection").
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def harmless(text: str) -> str:
    """Return a cell's text with an apostrophe before what would run as a formula.

    For names and other words; numbers are written as they are.
    """
    return f"'{text}" if text.startswith(_FORMULA_STARTS) else text


def write_table(
    path: str | os.PathLike[str], header: Sequence[str], rows: Iterable[Sequence[str]]
) -> None:
    """Write a table as CSV.

    Parameters
    ----------
    path : path
        Where to.
    header : sequence of str
        Names of the columns.
    rows : iterable of sequence of str
        The cells, in text; what comes from data or from a run file is made `harmless` first.
    """
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\r\n")
    table.writerow(header)
    table.writerows(rows)
    write_csv_text(path, text.getvalue())


def forget_table(path: str | os.PathLike[str], header: Sequence[str]) -> None:
    """Take away a table that begins with these columns; nothing else."""
    try:
        with Path(path).open(encoding="utf-8-sig", newline="") as file:
            is_it = file.readline().startswith(",".join(header))
    except (OSError, UnicodeDecodeError):
        return
    if is_it:
        remove(path)


def write_csv_text(path: str | os.PathLike[str], text: str) -> None:
    """Write what is CSV already."""
    write_text(path, text, encoding="utf-8" if text.isascii() else "utf-8-sig")
