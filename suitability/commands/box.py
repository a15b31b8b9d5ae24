"""`suitability box FILE`: boxes on offer or home-made, held against what is wanted of one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from suitability.commands.console import open_console, plain
from suitability.errors import ConfigError

if TYPE_CHECKING:
    from rich.console import Console

    from suitability.box.offered import Line


def box(
    file: Annotated[
        Path,
        typer.Argument(metavar="BOX", help="What is known of it, YAML; or a file of designs."),
    ],
    bats: Annotated[
        str, typer.Option(help="Whom it is for: any, small, large, or a group of your own.")
    ] = "any",
    species: Annotated[
        Path | None, typer.Option(help="File of your own groups of bats, as box.species.")
    ] = None,
) -> None:
    """Hold a box on offer or home-made against what is wanted; exit code 1 if it falls short."""
    if not show_box(file, bats, species):
        raise typer.Exit(1)


def show_box(path: Path, bats: str, species: Path | None) -> bool:
    """Print how boxes come out line by line; return whether nothing of any falls short."""
    from suitability.box.catalogue import load_catalogue
    from suitability.box.offered import held_against, read_offered

    groups = load_catalogue(species=None if species is None else str(species)).species
    if bats not in groups:
        msg = f"there is no group of bats {bats!r}"
        own = "" if species else "; or name a file of your own with --species"
        raise ConfigError(msg, where="--bats", fix=f"choose from {', '.join(groups)}{own}")
    boxes = read_offered(path)
    console, is_fit = open_console(), True
    for name, box in boxes.items():
        lines = held_against(box, groups[bats])
        _show_lines(console, f"{name}, for {groups[bats].title}", lines)
        short = [line.part for line in lines if line.verdict == "falls short"]
        unknown = [line.part for line in lines if line.verdict == "not stated"]
        if unknown:
            console.print(plain(f"not stated: {', '.join(unknown)}"), highlight=False)
        none = "nothing" if not unknown else "nothing of what is stated"
        console.print(plain(f"falls short: {', '.join(short) or none}"), highlight=False)
        is_fit = is_fit and not short
    console.print("That a box meets all of it does not mean that bats move in.")
    return is_fit


def _show_lines(console: Console, title: str, lines: tuple[Line, ...]) -> None:
    """Print the lines as a table, and under it what each rests on."""
    from rich.table import Table

    table = Table(title=plain(title), title_justify="left")
    for heading in ("part", "this box", "wanted", "comes out", "evidence"):
        table.add_column(heading)
    for line in lines:
        table.add_row(
            line.part, plain(line.found), plain(line.wanted), line.verdict, line.ground.evidence
        )
    console.print(table)
    for ground in dict.fromkeys(line.ground for line in lines):
        parts = ", ".join(line.part for line in lines if line.ground == ground)
        conflict = f"; sources conflict: {ground.conflict}" if ground.conflict else ""
        console.print(f"- {plain(f'{parts}: {ground.basis}{conflict}')}", highlight=False)
