"""`suitability results` and `suitability learn`: what a register tells of its boxes."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from suitability.commands.console import open_console, plain
from suitability.commands.units import UnitsName

_Register = Annotated[
    str, typer.Argument(metavar="REGISTER", help="The register: a file, or a database's address.")
]


def results(
    register: _Register,
    to: Annotated[Path, typer.Option(help="Folder that the report goes into.")] = Path("results"),
    title: Annotated[
        str | None, typer.Option(help="Whose boxes; else the register's name.")
    ] = None,
    units: Annotated[UnitsName, typer.Option(help="To tell lengths in.")] = UnitsName.METRIC,
) -> None:
    """Say who moved in: shares in use, waiting times, and a page to print and to read."""
    from suitability.follow_up.register import open_register
    from suitability.follow_up.report import report_of
    from suitability.outputs.results_page import write_results
    from suitability.quantities import Quantities

    opened = open_register(register)
    with opened.reading() as connection:
        placements, visits = opened.placements(connection), opened.visits(connection)
    report = report_of(
        title or Path(opened.where).stem, placements, visits, Quantities(units.value)
    )
    paths = write_results(to, report)
    console = open_console()
    for line in report.words.lines:
        console.print(plain(line), highlight=False)
    for row in report.rows:
        interval = f"  ({row.low:.0%} to {row.high:.0%})" if row.boxes else ""
        console.print(
            f"  {plain(row.by):18} {plain(row.name):22} {row.used:>4} of {row.boxes}{interval}",
            highlight=False,
        )
    for path in paths:
        console.print(plain(str(path)), highlight=False)


def learn(
    register: _Register,
    run: Annotated[Path, typer.Argument(metavar="RUN", help="Folder of a finished run.")],
    to: Annotated[
        Path | None, typer.Option(help="Folder for picture and weights; else learned in the run's.")
    ] = None,
) -> None:
    """Hold a run's weights against the use of boxes; propose others where there is enough."""
    from suitability.finished import FinishedRun
    from suitability.follow_up.register import open_register
    from suitability.follow_up.teaching import teach, write_taught

    finished, opened = FinishedRun.of(run), open_register(register)
    with opened.reading() as connection:
        placements, visits = opened.placements(connection), opened.visits(connection)
    taught = teach(finished, placements, visits)
    paths = write_taught(finished.folder / "learned" if to is None else to, finished.title, taught)
    console = open_console()
    for line in taught.lines:
        console.print(plain(line), highlight=False)
    for path in paths:
        console.print(plain(str(path)), highlight=False)
    if taught.patch is not None:
        console.print("nothing was changed: look at the proposed weights, and take over what fits")
