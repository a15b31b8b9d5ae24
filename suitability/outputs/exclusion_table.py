"""How much land each reason rules out, as a table."""

from __future__ import annotations

import os

from suitability.decide import ExcludedLand
from suitability.outputs.spreadsheet import harmless, write_table

HECTARE_M2 = 10_000.0


def write_exclusion_table(path: str | os.PathLike[str], land: ExcludedLand, cell_m: float) -> None:
    """Write a row a reason: its land in hectares and as a share of all, in all and alone.

    Alone is what would be candidates without the reason. A column `and_…_ha` for every reason
    tells what both rule out. The last two rows are what is out for any reason, and what is left.

    Parameters
    ----------
    path : path
        Where to, such as `exclusions.csv`.
    land : ExcludedLand
        What was counted.
    cell_m : float
        Edge of a cell. [m]
    """
    hectare = cell_m**2 / HECTARE_M2

    def amounts(cells: int) -> list[str]:
        return [f"{cells * hectare:.4f}", f"{cells / land.cells:.6f}"]

    keys = [row.reason.key for row in land.rows]
    header = ["reason", "words", "bit", "area_ha", "area_share", "alone_ha", "alone_share"]
    table = []
    for row in land.rows:
        both = {**row.together, row.reason.key: row.cells}
        table.append(
            [row.reason.key, harmless(row.reason.words), str(row.reason.bit)]
            + [*amounts(row.cells), *amounts(row.alone)]
            + [f"{both[key] * hectare:.4f}" for key in keys]
        )
    for name, words, cells in (
        ("any", "excluded for any reason", land.cells - land.candidates),
        ("none", "left", land.candidates),
    ):
        blank = [""] * (2 + len(keys))
        table.append([name, words, "", *amounts(cells), *blank])
    write_table(path, [*header, *(f"and_{key}_ha" for key in keys)], table)
