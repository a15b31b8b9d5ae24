"""`suitability figure RUN`: the map, or the layers' maps, of a finished run as a page to print."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from suitability.commands.console import open_console, plain
from suitability.commands.units import WantedUnits, wanted


class PaperName(StrEnum):
    """Sizes of paper."""

    LETTER = "letter"
    A4 = "a4"


def figure(
    run: Annotated[Path, typer.Argument(metavar="RUN", help="The folder of a finished run.")],
    to: Annotated[Path, typer.Option(help="The file: .png (300 dots an inch), .pdf or .svg.")],
    paper: Annotated[PaperName, typer.Option(help="What it is printed on.")] = PaperName.LETTER,
    layers: Annotated[
        bool, typer.Option("--layers", help="Small maps of all that was measured instead.")
    ] = False,
    title: Annotated[str | None, typer.Option(help="In place of the run's own.")] = None,
    caption: Annotated[str | None, typer.Option(help="In place of the one made.")] = None,
    caution: Annotated[
        str | None, typer.Option(help="The same in your language; never left out.")
    ] = None,
    credit: Annotated[str, typer.Option(help="Who made it, whose data it shows.")] = "",
    no_words: Annotated[
        bool,
        typer.Option(
            "--no-words", help="Numbers, signs and units alone, but what you write and the caution."
        ),
    ] = False,
    units: WantedUnits = None,
) -> None:
    """Draw the map of a finished run on a page for print."""
    from suitability.finished import FinishedRun
    from suitability.mapping import Wording, layers_of, map_of
    from suitability.outputs.figure import draw_figure
    from suitability.outputs.layers_figure import draw_layers
    from suitability.outputs.lettering import require_letters
    from suitability.outputs.paper import require_suffix

    require_suffix(to)
    own = {"--title": title, "--caption": caption, "--caution": caution, "--credit": credit}
    require_letters({option: text for option, text in own.items() if text})
    finished = FinishedRun.of(run, wanted(units))
    wording = Wording(title, caption, caution, credit, has_words=not no_words)
    if layers:
        files = draw_layers(to, layers_of(finished, wording), paper=paper.value)
    else:
        draw_figure(to, map_of(finished, wording), paper=paper.value)
        files = (to,)
    console = open_console()
    for file in files:
        console.print(plain(str(file)), highlight=False)
