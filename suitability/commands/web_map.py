"""`suitability web-map RUN`: a finished run as one page for a browser."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from suitability.commands.console import open_console, plain
from suitability.commands.units import WantedUnits, wanted


def web_map(
    run: Annotated[Path, typer.Argument(metavar="RUN", help="The folder of a finished run.")],
    to: Annotated[Path | None, typer.Option(help="The page; else map.html in the run.")] = None,
    cells: Annotated[
        int,
        typer.Option(min=1000, max=8_000_000, help="On the page at most; wider land is coarser."),
    ] = 1_500_000,
    units: WantedUnits = None,
) -> None:
    """Write the map as one page for browsers and phones, in which weights can be moved."""
    from suitability.web_map import write_web_map

    path = write_web_map(run, to, cells=cells, units=wanted(units))
    console = open_console()
    console.print(plain(str(path)), highlight=False)
    console.print(
        f"{path.stat().st_size / 1e6:.1f} MB; it works without a network", highlight=False
    )
