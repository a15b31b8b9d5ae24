"""`suitability calendar RUN`: days to remember, for phones and calendars."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from suitability.commands.console import open_console, plain


def calendar(
    run: Annotated[Path, typer.Argument(metavar="RUN", help="Folder of a finished run.")],
    to: Annotated[
        Path | None, typer.Option(help="The file; else days.ics in the run's folder.")
    ] = None,
    years: Annotated[int, typer.Option(min=1, max=30, help="For how long.")] = 3,
    after: Annotated[
        str | None, typer.Option(help="Days before this one are over, YYYY-MM-DD; else today.")
    ] = None,
) -> None:
    """Write when to have boxes up, to look at them and to work on them: an iCalendar file."""
    from suitability.errors import ConfigError
    from suitability.finished import FinishedRun
    from suitability.follow_up.days import days_of_run
    from suitability.outputs.calendar_file import DAYS, write_calendar

    try:
        day = date.today() if after is None else date.fromisoformat(after)
    except ValueError as exc:
        msg = f"{after!r} is not a day"
        raise ConfigError(msg, where="--after", fix="write year-month-day, as 2027-03-01") from exc
    found = FinishedRun.of(run)
    days = list(days_of_run(found, day, years))
    path = found.folder / DAYS if to is None else to
    try:
        write_calendar(path, found.title, days, day)
    except OSError as exc:
        msg = f"this cannot be written: {exc.strerror or exc}"
        raise ConfigError(msg, where=path, fix="name another file with --to") from exc
    console = open_console()
    for entry in sorted(days, key=lambda each: each.first):
        span = f"{entry.first}" + (f" to {entry.last}" if entry.last > entry.first else "")
        console.print(f"{span}  {plain(entry.title)}", highlight=False)
    console.print(plain(str(path)), highlight=False)
