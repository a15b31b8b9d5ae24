"""`suitability summary RUN`: how much land has which score or is out, by parcel."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from suitability.commands.console import open_console, plain

if TYPE_CHECKING:
    from suitability.quantities import Units


def show_summary(
    run: Path,
    parcels: Path | None,
    layer: str | None,
    name: str | None,
    to: Path | None,
    units: Units | None,
) -> None:
    """Count a run's land, write the table and print what it comes to."""
    from rich.table import Table

    from suitability.decide.land_counts import CLASSES
    from suitability.quantities import ACRE_M2, HECTARE_M2
    from suitability.summary import summarize

    found = summarize(run, parcels=parcels, layer=layer, name_field=name, to=to, units=units)
    console = open_console()
    for warning in found.warnings:
        console.print(f"[bold]warning:[/bold] {plain(warning)}", highlight=False)
    unit_m2, unit = (ACRE_M2, "acres") if found.quantities.is_us else (HECTARE_M2, "ha")
    table = Table(title=f"Land, {unit}", title_justify="left")
    best = f"score {(CLASSES - 1) / CLASSES:g} and more"
    for heading in ("", "land", "candidates", best, "out"):
        table.add_column(heading, justify="left" if not heading else "right")
    for piece_name, piece in found.pieces:
        candidates = int(piece.scored.sum())
        counts = (piece.cells, candidates, int(piece.scored[-1]), piece.cells - candidates)
        areas = (f"{cells * found.cell_m**2 / unit_m2:,.2f}" for cells in counts)
        table.add_row(plain(piece_name), *areas)
    console.print(table)
    console.print(plain(str(found.path)), highlight=False)
