"""`suitability calendar RUN`: days to remember, for phones and calendars."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from suitability.commands.console import open_console, plain

if TYPE_CHECKING:
    from suitability.finished import FinishedRun
    from suitability.outputs.calendar_file import DayEntry


def calendar(
    run: Annotated[
        Path | None, typer.Argument(metavar="RUN", help="Folder of a finished run.")
    ] = None,
    register: Annotated[
        str | None,
        typer.Option(
            metavar="REGISTER",
            help="Days of the boxes in a register, a file or a database's address; with a run, "
            "also of its sites that are free.",
        ),
    ] = None,
    to: Annotated[
        Path | None, typer.Option(help="The file; else days.ics in the run's folder, or here.")
    ] = None,
    years: Annotated[int, typer.Option(min=1, max=30, help="For how long.")] = 3,
    after: Annotated[
        str | None, typer.Option(help="Days before this one are over, YYYY-MM-DD; else today.")
    ] = None,
) -> None:
    """Write when to have boxes up, to look at them and to work on them: an iCalendar file.

    With --register: which visits are due, which boxes are to move, what is to be mended. The file
    holds places of roosts: keep it from the public.
    """
    from suitability.errors import ConfigError
    from suitability.finished import FinishedRun
    from suitability.follow_up.days import days_of_run
    from suitability.outputs.calendar_file import DAYS, write_calendar

    try:
        day = date.today() if after is None else date.fromisoformat(after)
    except ValueError as exc:
        msg = f"{after!r} is not a day"
        raise ConfigError(msg, where="--after", fix="write year-month-day, as 2027-03-01") from exc
    found = None if run is None else FinishedRun.of(run)
    if register is not None:
        title, days = _of_register(register, found, day, years)
    elif found is not None:
        title, days = found.title, list(days_of_run(found, day, years))
    else:
        msg = "there is nothing to take days from"
        fix = "name the folder of a run, a register with --register, or both"
        raise ConfigError(msg, where="suitability calendar", fix=fix)
    path = (Path() if found is None else found.folder) / DAYS if to is None else to
    try:
        write_calendar(path, title, days, day)
    except OSError as exc:
        msg = f"this cannot be written: {exc.strerror or exc}"
        raise ConfigError(msg, where=path, fix="name another file with --to") from exc
    console = open_console()
    for entry in sorted(days, key=lambda each: each.first):
        span = f"{entry.first}" + (f" to {entry.last}" if entry.last > entry.first else "")
        console.print(f"{span}  {plain(entry.title)}", highlight=False)
    console.print(plain(str(path)), highlight=False)
    if register is not None:
        console.print("it holds exact places of roosts: keep it from the public")


def _of_register(
    address: str, run: FinishedRun | None, after: date, years: int
) -> tuple[str, list[DayEntry]]:
    from suitability.config.box import BoxSettings
    from suitability.errors import ResultError
    from suitability.follow_up.days import days_to_put_up
    from suitability.follow_up.due_days import days_of_boxes
    from suitability.follow_up.free_sites import free_sites
    from suitability.follow_up.register import open_register

    opened = open_register(address)
    with opened.reading() as connection:
        placements, visits = opened.placements(connection), opened.visits(connection)
    title = Path(opened.where).stem if run is None else run.title
    wanted = None
    if run is not None:
        kept = {name: run.settings["box"].get(name) for name in ("install_by", "occupied")}
        wanted = BoxSettings.model_validate(kept)
    days = list(days_of_boxes(title, placements, visits, after=after, years=years, wanted=wanted))
    if run is not None:
        standing = placements[placements["taken_down"].isna()]
        days += days_to_put_up(run, free_sites(run, standing), after)
    if not days:
        msg = "no box of the register is up, so there is nothing to remember"
        raise ResultError(msg, where=opened.where, fix="add boxes with `suitability boxes`")
    return title, days
