"""`suitability review REGISTER`: how each box stands, and which are to move."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from suitability.commands.console import open_console, plain

if TYPE_CHECKING:
    from rich.console import Console

    from suitability.follow_up.free_sites import Proposal
    from suitability.quantities import Quantities

_DAY = ["%Y-%m-%d"]


def review(
    register: Annotated[
        str,
        typer.Argument(metavar="REGISTER", help="The register: a file, or a database's address."),
    ],
    on: Annotated[
        datetime | None, typer.Option(formats=_DAY, help="The day, year-month-day; else today.")
    ] = None,
    run: Annotated[
        Path | None, typer.Option(help="Folder of a finished run, to propose free sites from.")
    ] = None,
    season: Annotated[
        tuple[str, str] | None,
        typer.Option(
            metavar="START END",
            help="When bats may be in boxes, month-day; else as the run has it, or by latitude.",
        ),
    ] = None,
    to: Annotated[Path | None, typer.Option(help="A CSV file to write, too.")] = None,
) -> None:
    """Say which boxes are new, waiting, occupied, overdue for a check, or due to move.

    A box is due to move if somebody looked well in each of its last two full active seasons and
    there was no sign of bats. A box that nobody looked at is not an empty box.
    """
    from suitability.follow_up.review import STATES
    from suitability.follow_up.reviewing import part_of_year, review_register, write_review

    stated = None if season is None else part_of_year(*season)
    day = date.today() if on is None else on.date()
    found = review_register(register, on=day, run=run, season=stated)
    console = open_console()
    console.print(f"{len(found.boxes):,} boxes up on {day}", highlight=False)
    for line in found.seasons:
        console.print(plain(f"active season {line}"), highlight=False)
    counts = found.boxes["state"].value_counts()
    for state, meaning in STATES.items():
        console.print(
            f"  {counts.get(state, 0):>6,} {state} [dim]({meaning})[/dim]", highlight=False
        )
    _show_boxes(console, found.boxes)
    if run is not None:
        _show_proposals(console, found.proposals, found.unplaced, found.quantities)
    if to is not None:
        write_review(to, found)
        console.print(plain(str(to)), highlight=False)


_MOST_SHOWN = 100


def _show_boxes(console: Console, boxes: object) -> None:
    from rich.table import Table

    from suitability.follow_up.reviewing import told_boxes

    told = told_boxes(boxes)  # type: ignore[arg-type]
    table = Table()
    for heading in told.columns:
        table.add_column(plain(heading.replace("_", " ")))
    for row in told.head(_MOST_SHOWN).itertuples(index=False, name=None):
        table.add_row(*(plain(cell) for cell in row))
    if len(told):
        console.print(table)
    if len(told) > _MOST_SHOWN:
        more = len(told) - _MOST_SHOWN
        console.print(f"and {more:,} more; --to FILE writes them all", highlight=False)


def _show_proposals(
    console: Console, proposals: tuple[Proposal, ...], unplaced: int, quantities: Quantities
) -> None:
    from suitability.follow_up.free_sites import heat_is_told, in_words

    for proposal in proposals:
        console.print(plain(f"{proposal.box} might move to {proposal.site}"), highlight=False)
        for line in in_words(proposal, quantities):
            console.print(plain(f"  {line}"), highlight=False)
    if unplaced:
        noun = "box that is" if unplaced == 1 else "boxes that are"
        console.print(f"the run has no free site for {unplaced:,} {noun} due to move")
    if proposals and not heat_is_told(proposals):
        console.print(
            "how warm boxes get is not compared: the run knows that of its own sites alone, unless "
            "it has a layer of heat (`layers: box_heat`)"
        )
    if proposals:
        console.print("look at each place first; move boxes while no bats are in them")
