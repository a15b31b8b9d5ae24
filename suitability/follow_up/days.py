"""The days of a run's boxes: when to have them up, to look at them and to work on them."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

import geopandas
import pandas as pd

from suitability.errors import ResultError
from suitability.finished import FinishedRun
from suitability.outputs.calendar_file import DayEntry
from suitability.outputs.record import RECORD

LOOK_AHEAD_DAYS = 28  # to get box, post and help together

# When bats rear their young and a count at dusk tells most: June and July (common practice), half
# a year later in the south.
_COUNT = {True: ("06-01", "07-31"), False: ("12-01", "01-31")}
AGENCY = "The state wildlife agency has the last word on dates."
LOOK = (
    "Count at dusk from half an hour before sunset, or look for droppings below; write down date, "
    "method and what was found, also where it was nothing. Keep away while young are reared but "
    f"for looking from the ground. {AGENCY}"
)
WORK = "Only when no bats are in them: look first, and leave a box alone that is in use. " + AGENCY


def days_of_run(run: FinishedRun, after: date, years: int) -> Iterator[DayEntry]:
    """Yield the days to remember.

    Parameters
    ----------
    run : FinishedRun
        Whose sites are to get boxes.
    after : datetime.date
        Days before it are over.
    years : int
        For how long visits and work on boxes are told.

    Raises
    ------
    ResultError
        If the run's record holds no advice.
    """
    _, maintain = _timing(run)
    ups = list(days_to_put_up(run, run.sites, after))
    yield from ups
    if not ups:
        return
    up = ups[0].first
    first, last = count_window(north=bool(run.sites["lat_deg"].mean() >= 0))
    name = run.title
    for year in range(years):
        opens = next_day(first, _years_on(up, year))
        yield DayEntry(
            key=_key(run, f"visit-{opens.year}"),
            first=opens,
            last=next_day(last, opens),
            title=f"Look at every bat box: {name}",
            description=LOOK,
            remind_days=7,
        )
        if maintain is not None:
            start, end = maintain.split(" to ")
            begins = next_day(start, _years_on(up, year))
            yield DayEntry(
                key=_key(run, f"work-{begins.year}"),
                first=begins,
                last=next_day(end, begins),
                title=f"Clean and mend bat boxes: {name}",
                description=WORK,
            )


def days_to_put_up(
    run: FinishedRun, sites: geopandas.GeoDataFrame, after: date
) -> Iterator[DayEntry]:
    """Yield the day by which each of some of a run's sites should have its box.

    Raises
    ------
    ResultError
        If the run's record holds no advice.
    """
    up = next_day(_timing(run)[0], after)
    for site in sites.to_dict("records"):
        yield _put_up(run, site, up)


def _timing(run: FinishedRun) -> tuple[str, str | None]:
    """Return the day by which boxes should be up, and when they may be worked on."""
    try:
        timing = run.record["boxes"]["timing"]
        return timing["install_by"], timing["maintain"]
    except (KeyError, TypeError) as exc:
        msg = "the record of the run holds no dates for boxes, as every run's does"
        fix = "run `suitability screen` again"
        raise ResultError(msg, where=run.folder / RECORD, fix=fix) from exc


def _put_up(run: FinishedRun, site: dict[str, Any], up: date) -> DayEntry:
    known = {name: value for name, value in site.items() if pd.notna(value)}
    words = [str(known.get("box", "no box is recommended: see the site's advice"))]
    words += [str(known["colour"])] if "colour" in known else []
    words += [f"facing {known['facing_deg']:.0f}° true"] if "facing_deg" in known else []
    if "mount_height_m" in known:
        words.append(f"{run.quantities.height(known['mount_height_m'])} up")
    return DayEntry(
        key=_key(run, f"up-{site['rank']}-{up.year}"),
        first=up,
        last=up,
        title=f"Have the bat box of {site['site']} up: {run.title}",
        description="; ".join(words)
        + ". Before bats return. Have buried lines marked before you dig; never raise a pole near "
        f"an overhead line. {AGENCY}",
        place=f"{site['mgrs']} (MGRS)",
        lat_lon=(round(float(site["lat_deg"]), 6), round(float(site["lon_deg"]), 6)),
        remind_days=LOOK_AHEAD_DAYS,
    )


def _key(run: FinishedRun, what: str) -> str:
    """Return a name that is the same for the same land, whoever writes the calendar and when."""
    west, south, *_ = run.grid.bounds
    return f"{what}.{west:.0f}.{south:.0f}@bat-boxes"


def count_window(*, north: bool) -> tuple[str, str]:
    """Return the part of the year in which a count tells most, month-day."""
    return _COUNT[north]


def next_day(day: str, after: date) -> date:
    """Return the day of the year that comes on a date or next after it."""
    month, of_month = (int(part) for part in day.split("-"))
    this_year = date(after.year, month, of_month)
    return this_year if this_year >= after else date(after.year + 1, month, of_month)


def _years_on(day: date, years: int) -> date:
    # A part of the year begins on no 29 February.
    return date(day.year + years, day.month, day.day)
