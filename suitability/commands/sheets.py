"""`suitability sheets RUN`: a page for each site, for the field or for a landowner."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from suitability.commands.console import open_console, plain
from suitability.commands.figure import PaperName
from suitability.commands.units import WantedUnits, wanted


class ReaderName(StrEnum):
    """Whom pages are for."""

    FIELD = "field"
    LANDOWNER = "landowner"


def sheets(
    run: Annotated[Path, typer.Argument(metavar="RUN", help="The folder of a finished run.")],
    to: Annotated[
        Path | None,
        typer.Option(help="The PDF, or with --by the folder; else in the run's folder."),
    ] = None,
    sites: Annotated[str | None, typer.Option(help="Which, as 1-5,8; else all.")] = None,
    reader: Annotated[
        ReaderName, typer.Option("--for", help="Whom they are for: a landowner gets plain words.")
    ] = ReaderName.FIELD,
    by: Annotated[
        str | None,
        typer.Option(metavar="FILE[:FIELD]", help="A PDF for each parcel, by a field of names."),
    ] = None,
    layer: Annotated[str | None, typer.Option(help="Its layer, if it has several.")] = None,
    name: Annotated[
        str | None, typer.Option(help="Its field with the parcels' names, if not said there.")
    ] = None,
    paper: Annotated[PaperName, typer.Option(help="What they are printed on.")] = PaperName.LETTER,
    units: WantedUnits = None,
) -> None:
    """Write a page for each site to take along: map, place, bearings, box, sun, what to heed."""
    from suitability.finished import FinishedRun
    from suitability.sheets import chosen_sites, write_sheets, write_sheets_by_parcel

    finished = FinishedRun.of(run, wanted(units))
    ranks = chosen_sites(sites, [site["rank"] for site in finished.record["sites"]])
    if by is None:
        written = write_sheets(finished, ranks, path=to, reader=reader.value, paper=paper.value)
    else:
        parcels, field = _parted(by, name)
        written = write_sheets_by_parcel(
            finished, ranks, parcels, field, layer=layer, folder=to, reader=reader.value,
            paper=paper.value,
        )  # fmt: skip
    console = open_console()
    for note in written.notes:
        console.print(f"[bold]note:[/bold] {plain(note)}", highlight=False)
    for book in written.books:
        count = len(book.ranks)
        console.print(plain(f"{book.path}: {count} page{'s'[: count != 1]}"), highlight=False)


def _parted(by: str, name: str | None) -> tuple[Path, str]:
    """Return file and field of `parcels.gpkg:name`, or of the two options."""
    from suitability.errors import ConfigError

    if name is not None:
        return Path(by), name
    path, _, field = by.rpartition(":")
    if not path or not field or Path(by).exists():
        msg = f"{by!r} does not say which field names the parcels"
        raise ConfigError(msg, where="--by", fix="write file and field, such as parcels.gpkg:name")
    return Path(path), field
