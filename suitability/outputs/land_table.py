"""How much land has which score or is out, by parcel, as a table."""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from pathlib import Path

from suitability.decide.exclusions import Reason
from suitability.decide.land_counts import CLASSES, PieceOfLand
from suitability.outputs.spreadsheet import forget_table, harmless, write_table
from suitability.quantities import ACRE_M2, HECTARE_M2

LAND_TABLE = "land_summary.csv"

_HEADER = ("parcel", "part", "what", "cells", "area_ha", "area_acre", "share")

# Part of a piece of land, what of it, and its cells.
Row = tuple[str, str, int]


def rows_of(piece: PieceOfLand, reasons: Sequence[Reason]) -> list[Row]:
    """Return a piece of land row by row.

    `land` is `candidates` and `excluded`; the rows `score` add up to the candidates. Reasons
    overlap: those of `reason` do not add up, and `reason alone` is what would be candidates
    without that one.
    """
    out = piece.excluded(reasons)
    scored = [
        ("score", f"{step / CLASSES:.1f} to {(step + 1) / CLASSES:.1f}", int(piece.scored[step]))
        for step in reversed(range(CLASSES))
    ]
    held = [row for row in out.rows if row.cells]
    return [
        ("land", "all", out.cells),
        ("candidates", "all", out.candidates),
        *scored,
        ("excluded", "for any reason", out.cells - out.candidates),
        *(("reason", row.reason.words, row.cells) for row in held),
        *(("reason alone", row.reason.words, row.alone) for row in held),
    ]


def write_land_table(
    path: str | os.PathLike[str],
    pieces: Iterable[tuple[str, PieceOfLand]],
    reasons: Sequence[Reason],
    cell_m: float,
) -> None:
    """Write all rows of each piece of land.

    Cells add up exactly; areas are cells times the area of one, to 0.0001.

    Parameters
    ----------
    path : path
        Where to, such as `land_summary.csv`.
    pieces : iterable of (str, PieceOfLand)
        What each is called, and what was counted there.
    reasons : sequence of Reason
        All that the run has.
    cell_m : float
        Edge of a cell. [m]
    """
    table = []
    for name, piece in pieces:
        land = piece.cells
        for part, what, cells in rows_of(piece, reasons):
            area_m2 = cells * cell_m**2
            areas = (f"{area_m2 / HECTARE_M2:.4f}", f"{area_m2 / ACRE_M2:.4f}")
            share = f"{cells / land:.6f}" if land else ""
            table.append([harmless(name), part, harmless(what), str(cells), *areas, share])
    write_table(path, _HEADER, table)


def forget_land_table(folder: str | os.PathLike[str]) -> None:
    """Take away the table in a run's folder, whose results are about to be replaced."""
    forget_table(Path(folder) / LAND_TABLE, _HEADER)
