"""`suitability visits`: what was seen at boxes."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import Annotated

import typer

from suitability.commands.boxes import DAY, RegisterOption, show_rejected
from suitability.commands.console import open_console, plain

visits = typer.Typer(
    help="Keep what was seen at visits: import, list, withdraw.",
    no_args_is_help=True,
    rich_markup_mode=None,
)


@visits.command("import")
def import_(
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="CSV, or a form that was filled in (GeoPackage).")
    ],
    register: RegisterOption,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Say what would change, change nothing.")
    ] = False,
    rejected: Annotated[
        Path | None, typer.Option(help="Write rows that are not taken there, with reasons.")
    ] = None,
) -> None:
    """Add visits: all good rows at once, or none; rows that are there already add nothing.

    Columns and words are those of the form that `suitability form` writes: box, date, observer
    (initials), method, count, state, condition, wasps, repair, note. Exit code 1 if rows are not
    taken.
    """
    from suitability.follow_up.register import open_register
    from suitability.follow_up.visit_rows import COLUMNS, import_visits, read_visits

    opened = open_register(register)
    found = import_visits(opened, read_visits(file), today=date.today(), dry_run=dry_run)
    console = open_console()
    would = "would be " if dry_run else ""
    console.print(
        f"{len(found.new):,} visits {would}added, {found.already:,} there already, "
        f"{len(found.rejected):,} rows not taken",
        highlight=False,
    )
    by_state: dict[str, int] = {}
    for visit in found.new:
        by_state[visit["state"]] = by_state.get(visit["state"], 0) + 1
    for state, count in sorted(by_state.items()):
        console.print(f"  {count:>6,} {state}", highlight=False)
    show_rejected(found.rejected, found.ignored, rejected, COLUMNS)


@visits.command("list")
def list_(
    register: RegisterOption,
    box: Annotated[str | None, typer.Option(help="Only of this box.")] = None,
) -> None:
    """List visits, the last first."""
    from rich.table import Table

    from suitability.follow_up.register import open_register

    found = open_register(register).visits()
    shown = found if box is None else found[found["box"] == box]
    table = Table()
    names = ("box", "date", "observer", "method", "count", "state", "condition", "wasps", "repair")
    for name in names:
        table.add_column(name)
    told = shown.iloc[::-1].assign(
        date=shown["date"].dt.strftime("%Y-%m-%d"),
        wasps=shown["wasps"].map({True: "yes", False: "no"}),
    )
    for row in told[list(names)].astype(object).fillna("").itertuples(index=False, name=None):
        table.add_row(*(plain(str(cell)) for cell in row))
    open_console().print(table)


@visits.command()
def withdraw(
    box: Annotated[str, typer.Argument(metavar="BOX", help="Of which box.")],
    register: RegisterOption,
    on: Annotated[datetime, typer.Option(formats=DAY, help="Day of the visit, year-month-day.")],
    because: Annotated[str, typer.Option(help="What was wrong.")],
    observer: Annotated[str, typer.Option(help="Initials; else by whomever.")] = "",
) -> None:
    """Take back visits that were written down wrongly; they stay in the register, marked."""
    from suitability.follow_up.register import open_register
    from suitability.follow_up.visit_rows import withdraw_visit

    count = withdraw_visit(
        open_register(register), box, on.date(), because, today=date.today(), observer=observer
    )
    open_console().print(f"{count} withdrawn", highlight=False)
