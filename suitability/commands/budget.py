"""`suitability budget RUN PRICES`: what the sites cost, for a proposal."""

from __future__ import annotations

from pathlib import Path

from suitability.commands.console import open_console, plain


def show_budget(run: Path, prices: Path, to: Path | None) -> None:
    """Work out what sites cost, write the table and print it."""
    from rich.table import Table

    from suitability.budget import propose

    found = propose(run, prices, to)
    console = open_console()
    for warning in found.warnings:
        console.print(f"[bold]warning:[/bold] {plain(warning)}", highlight=False)
    table = Table(title=plain(f"Budget, {found.currency}"), title_justify="left")
    for heading in ("part", "item", "count", "unit", "price", "amount"):
        numeric = heading in ("count", "price", "amount")
        table.add_column(heading, justify="right" if numeric else "left")
    before = ""
    for part, *cells in found.rows:
        if before not in ("", part):
            table.add_section()
        table.add_row("" if part == before else part, *(plain(cell) for cell in cells))
        before = part
    console.print(table)
    console.print(plain(found.note), highlight=False)
    console.print(plain(str(found.path)), highlight=False)
