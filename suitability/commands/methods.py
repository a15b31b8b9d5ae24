"""`suitability methods RUN`: how a finished run was made, as paragraphs with references."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from suitability.commands.console import open_console, plain
from suitability.commands.units import WantedUnits, wanted


def methods(
    run: Annotated[Path, typer.Argument(metavar="RUN", help="The folder of a finished run.")],
    to: Annotated[Path | None, typer.Option(help="The file; else it is printed.")] = None,
    units: WantedUnits = None,
) -> None:
    """Write how a run was made, for a proposal: Markdown, with the works that it rests on."""
    from suitability.errors import InputError
    from suitability.finished import FinishedRun
    from suitability.methods import methods_of
    from suitability.outputs.atomic import write_text

    text = methods_of(FinishedRun.of(run, wanted(units)))
    if to is None:
        typer.echo(text, nl=False)
        return
    try:
        write_text(to, text)
    except OSError as exc:
        msg = f"the text cannot be written: {exc.strerror or exc}"
        raise InputError(msg, where=to, fix="name another file with --to") from exc
    open_console().print(plain(str(to)), highlight=False)
