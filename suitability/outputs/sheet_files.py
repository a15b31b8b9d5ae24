"""Where pages about sites lie, and names for their files that no file system stumbles over."""

from __future__ import annotations

import os
import unicodedata
from collections.abc import Sequence
from pathlib import Path

from suitability.outputs.atomic import remove

FOLDER = "sheets"
BOOKS = {"field": "sheets.pdf", "landowner": "sheets_landowner.pdf"}
_MOST_BYTES = 80  # of a name without its ending
# Names that some systems keep for devices, whatever the ending.
_DEVICES = {"con", "prn", "aux", "nul", "clock$"} | {
    f"{port}{number}" for port in ("com", "lpt") for number in "0123456789¹²³"
}


def file_names(names: Sequence[str]) -> list[str]:
    """Return a file's name, without ending, for each of some names: safe, and no two alike.

    Letters and digits of any script stay, as do hyphens; all else becomes `_`, so that no name
    leads out of its folder, hides a file or is an option of a command.

    Parameters
    ----------
    names : sequence of str
        As they are called by people.
    """
    taken: set[str] = set()
    found = []
    for name in names:
        stem = _safe(name)
        unique, number = stem, 2
        # Where capitals and accents' forms do not tell files apart, either.
        while _folded(unique) in taken:
            unique = f"{stem}_{number}"
            number += 1
        taken.add(_folded(unique))
        found.append(unique)
    return found


def forget_sheets(folder: str | os.PathLike[str]) -> None:
    """Take away the pages of an earlier run's sites, for they say nothing of a new one's."""
    place = Path(folder)
    for name in BOOKS.values():
        remove(place / name)
    forget_books(place / FOLDER)


def forget_books(folder: Path) -> None:
    """Take away what lies in a run's own folder of pages, parcel by parcel."""
    for path in folder.glob("*.pdf"):
        remove(path)
    if folder.is_dir() and not any(folder.iterdir()):
        folder.rmdir()


def _safe(name: str) -> str:
    letters = unicodedata.normalize("NFC", name)
    kept = "".join(letter if letter.isalnum() or letter == "-" else "_" for letter in letters)
    kept = "_".join(part for part in kept.split("_") if part).strip("-_")
    while len(kept.encode()) > _MOST_BYTES:
        kept = kept[:-1]
    kept = kept.rstrip("-_") or "parcel"
    return f"{kept}_" if kept.lower() in _DEVICES else kept


def _folded(name: str) -> str:
    return unicodedata.normalize("NFKC", name).casefold()
