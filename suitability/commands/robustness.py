"""`suitability robustness`: how sure the ranking of a run is when weights move."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

from suitability.commands.console import open_console, plain, show_progress

if TYPE_CHECKING:
    from rich.console import Console

    from suitability.quantities import Units
    from suitability.robustness import Asked, Findings


def show_robustness(run: Path, asked: Asked, units: Units | None) -> None:
    """Find how sure a run's ranking is, and print it."""
    from suitability.robustness import FILES, FOLDER, robustness

    with show_progress() as progress:
        found = robustness(run, asked, progress=progress, units=units)
    console = open_console()
    for warning in found.warnings:
        console.print(f"[bold]warning:[/bold] {plain(warning)}", highlight=False)
    console.print(plain(found.weights_in_words), highlight=False)
    _show_weights(console, found)
    _show_sites(console, found)
    for line in found.land_in_words:
        console.print(plain(line), highlight=False)
    console.print(f"{len(FILES)} files in {plain(str(Path(run) / FOLDER))}", highlight=False)


def _show_weights(console: Console, found: Findings) -> None:
    from rich.table import Table

    table = Table(title="Weights", title_justify="left")
    for heading in ("weight", "given", "typically", "best site stays", "list stays"):
        table.add_column(heading, justify="left" if heading == "weight" else "right")
    for at, (name, (low, high)) in enumerate(
        zip(found.run.weighing.names, found.typical, strict=True)
    ):
        swing = found.swings.get(at)
        table.add_row(
            plain(name),
            f"{found.run.weighing.weights[at]:.0%}",
            f"{low:.0%} to {high:.0%}",
            "" if swing is None else _range(swing.best_stays),
            "" if swing is None else _range(swing.list_stays),
        )
    console.print(table)


def _range(ends: tuple[float, float]) -> str:
    return "at any weight" if ends == (0.0, 1.0) else f"{ends[0]:.1%} to {ends[1]:.1%}"


def _show_sites(console: Console, found: Findings) -> None:
    from rich.table import Table

    title = f"Sites among {found.rows.size} places in {found.asked.draws:,} draws of the weights"
    table = Table(title=title, title_justify="left")
    headings = ("site", "none better", f"among {found.listed}", "usual ranks", "equals",
                "confidence", "best at weights (%, as above)")  # fmt: skip
    for heading in headings:
        table.add_column(heading, justify="left" if heading.startswith("best") else "right")
    for site in range(found.listed):
        low, high = found.usual_ranks(site)
        table.add_row(
            str(site + 1),
            f"{found.acceptability.none_better[site]:.1%}",
            f"{found.in_list[site]:.1%}",
            str(low) if low == high else f"{low} to {high}",
            str(found.equals[site]),
            _confidence(found.confidence[site]),
            _central(found, site),
        )
    console.print(table)


def _confidence(share: float) -> str:
    return "–" if math.isnan(share) else f"{share:.0%}"


def _central(found: Findings, site: int) -> str:
    central = found.acceptability.central_weights[site]
    if math.isnan(central[0]):
        return "none: another is always better"
    return " ".join(f"{100 * weight:.0f}" for weight in central)
