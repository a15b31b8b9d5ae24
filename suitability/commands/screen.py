"""`suitability screen`: what a run found."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from suitability.commands.console import open_console, plain

if TYPE_CHECKING:
    from rich.console import Console

    from suitability.deliver import Found


def show_screened(found: Found, folder: Path) -> None:
    """Print what a run found: warnings, cautions, sites, land that is out."""
    from rich.table import Table

    from suitability.outputs.cautions import load_cautions
    from suitability.quantities import number

    console, settings = open_console(), found.plan.run.settings
    tell, length = settings.quantities, settings.quantities.axis("m")
    for warning in found.warnings:
        console.print(f"[bold]warning:[/bold] {plain(warning)}", highlight=False)
    console.print("[bold]Before anyone climbs, digs or opens a box:[/bold]")
    for caution in load_cautions(settings.mount.kind):
        console.print(f"- {plain(tell.retold(str(caution)))}", highlight=False)
    table = Table(title=f"{plain(settings.title)}: best sites", title_justify="left")
    roles = tuple(name for name in ("kind", "group", "role") if name in found.sites)
    for heading in (
        "site", *roles, "score", "latitude", "longitude", "sun h/day", f"water {length.unit}",
        f"edge {length.unit}", "slope °", "limiting",
    ):  # fmt: skip
        table.add_column(
            heading, justify="left" if heading in ("limiting", "role", "kind") else "right"
        )
    for row in found.sites.to_dict("records"):
        table.add_row(
            str(row["rank"]),
            *(plain(str(row[name])) for name in roles),
            f"{row['score']:.3f}",
            f"{row['lat_deg']:.6f}",
            f"{row['lon_deg']:.6f}",
            f"{row['direct_sun_h']:.1f}",
            number(length.of(row["water_distance_exact_m"]), 0),
            number(length.of(row["canopy_edge_m"]), 0),
            f"{row['slope_deg']:.0f}",
            row["limiting"],
        )
    console.print(table)
    _show_choice(console, found.facts["choice"])
    _show_excluded(console, found)
    console.print(f"{len(found.files)} files in {plain(str(folder))}", highlight=False)
    for name in ("figure.png", "map.html", "sites.csv", "sites.gpkg", "candidates.tif", "run.json"):
        console.print(f"  {plain(str(folder / name))}", highlight=False)


def _show_choice(console: Console, choice: Mapping[str, Any]) -> None:
    """Say what an exact choice gained; the greedy one is told by its sites."""
    if choice["method"] != "exact":
        return
    total, greedy = choice["total_score"], choice["greedy_total_score"]
    more = f"{total / greedy - 1:.2%} more than" if total > greedy else "no more than"
    proof = (
        f"of {choice['candidates']:,} candidates no choice adds up to more than "
        f"{choice['most_possible_total_score']:.4f} (gap {choice['gap_share']:.2%})"
    )
    if choice["most_on_land_total_score"] <= total:
        proof = "no choice on this land adds up to more"
    console.print(
        f"exact choice: the scores add up to {total:.4f}, {more} greedy's {greedy:.4f}; {proof}",
        highlight=False,
    )


def _show_excluded(console: Console, found: Found) -> None:
    """Show how much land each reason rules out, in all and by itself."""
    from rich.table import Table

    land, cell_m = found.facts["excluded"], found.plan.grid.cell_m
    tell = found.plan.run.settings.quantities
    table = Table(title="Land that is out", title_justify="left")
    for heading in ("reason", tell.land.unit, "of all", f"alone {tell.land.unit}", "alone"):
        table.add_column(heading, justify="left" if heading == "reason" else "right")

    def amounts(cells: int) -> tuple[str, str]:
        return f"{tell.land.of(cells * cell_m**2):,.1f}", f"{cells / land.cells:.1%}"

    for row in land.rows:
        if row.cells:
            table.add_row(
                plain(tell.retold(row.reason.words)), *amounts(row.cells), *amounts(row.alone)
            )
    table.add_section()
    table.add_row("any of them", *amounts(land.cells - land.candidates), "", "")
    table.add_row("left", *amounts(land.candidates), "", "")
    console.print(table)
