"""The commands: the only part that prints. Heavy imports wait until a command needs them."""

from __future__ import annotations

import gc
import sys
from io import TextIOWrapper
from typing import Annotated

import typer

from suitability import __version__
from suitability.commands.box import box
from suitability.commands.boxes import boxes
from suitability.commands.calendar import calendar
from suitability.commands.figure import figure
from suitability.commands.finished_runs import (
    box_sheet,
    budget,
    compare,
    explain,
    form,
    robustness,
    summary,
)
from suitability.commands.methods import methods
from suitability.commands.results import learn, results
from suitability.commands.review import review
from suitability.commands.run_files import check, curves, schema, screen
from suitability.commands.sheets import sheets
from suitability.commands.start import start
from suitability.commands.visits import visits
from suitability.commands.web_map import web_map
from suitability.errors import SuitabilityError
from suitability.memory import require_memory

app = typer.Typer(
    name="suitability",
    help="Find where on a piece of land to put up bat boxes.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


def _tell_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"suitability {__version__}")
        raise typer.Exit


@app.callback()
def _common(
    _: Annotated[
        bool,
        typer.Option("--version", callback=_tell_version, is_eager=True, help="Tell the version."),
    ] = False,
) -> None:
    pass


def main() -> None:
    """Run a command; a user's mistake is told without a traceback, with exit code 2."""
    if isinstance(sys.stdout, TextIOWrapper):  # a degree sign is no reason to fail a run
        sys.stdout.reconfigure(errors="replace")
    # What is loaded at the start stays: to look for garbage among it as often as Python does by
    # itself took a fifth of a command's start.
    gc.set_threshold(100_000, 20, 20)
    try:
        if len(sys.argv) > 1 and not {"--help", "--version"} & set(sys.argv):
            require_memory()
        app()
    except SuitabilityError as error:
        sys.stderr.write(f"error: {error}\n")
        sys.exit(2)
    except BrokenPipeError:  # whoever read what is printed has seen enough
        sys.stderr.close()
        sys.exit(1)
    except OSError as error:  # a full disk, a folder that was taken away
        told = SuitabilityError(
            f"this cannot be written: {' '.join(str(error.strerror or error).split())}",
            where=error.filename or sys.argv[-1],
            fix="see that there is room, and that the files may be read and written",
        )
        sys.stderr.write(f"error: {told}\n")
        sys.exit(2)
    except (MemoryError, RuntimeError, ImportError) as error:
        if not isinstance(error, MemoryError) and not any(
            sign in str(error) for sign in ("start new thread", "failed to map segment")
        ):
            raise
        sys.stderr.write(f"error: {_no_memory()}\n")
        sys.exit(2)
    finally:
        gc.freeze()  # else all that was loaded is searched for garbage once more at the end


def _no_memory() -> SuitabilityError:
    return SuitabilityError(
        "the memory that this may have is used up",
        where=" ".join(sys.argv[1:3]),
        fix="close other programs or allow it more; for `screen` state less as `--memory 1GB`, or "
        "a coarser `grid.cell`. What was finished is kept: the next run goes on from there",
    )


for command in (
    start, check, screen, curves, explain, robustness, compare, summary, figure, web_map, sheets,
    methods, budget, box_sheet, box, calendar, form, review, results, learn, schema,
):  # fmt: skip
    app.command()(command)
app.add_typer(boxes, name="boxes")
app.add_typer(visits, name="visits")
