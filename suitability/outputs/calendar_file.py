"""Days to remember as an iCalendar file that phones and calendars read (RFC 5545)."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

from suitability.outputs.atomic import written

DAYS = "days.ics"

_MADE_BY = "-//bat box suitability//days to remember//EN"


@dataclass(frozen=True)
class DayEntry:
    """A day, or days in a row, to remember.

    Parameters
    ----------
    key : str
        Tells it from others, the same whenever it is written, so that a calendar that imports the
        file again renews it and does not show it twice.
    first, last : datetime.date
        Whole days, both included.
    title, description : str
        What to do; more on it.
    place : str
        Where, in words; may be empty.
    lat_lon : tuple of float, optional
        WGS 84. [degrees]
    remind_days : int, optional
        How long before to be reminded; left out, not at all.
    """

    key: str
    first: date
    last: date
    title: str
    description: str = ""
    place: str = ""
    lat_lon: tuple[float, float] | None = None
    remind_days: int | None = None


def write_calendar(
    path: str | os.PathLike[str], title: str, days: Sequence[DayEntry], written_on: date
) -> None:
    """Write days to remember.

    Parameters
    ----------
    path : path
        Where to; ends in `.ics`.
    title : str
        Of the calendar.
    days : sequence of DayEntry
        In any order; the file has them by day.
    written_on : datetime.date
        The state of what is known; the same content gives the same bytes.
    """
    from icalendar import Calendar  # noqa: PLC0415 - slow to import, seldom needed

    calendar = Calendar()
    calendar.add("prodid", _MADE_BY)
    calendar.add("version", "2.0")
    calendar.add("name", title)  # RFC 7986
    stamp = datetime(written_on.year, written_on.month, written_on.day, tzinfo=UTC)
    for day in sorted(days, key=lambda each: (each.first, each.key)):
        calendar.add_component(_event(day, stamp))
    with written(path) as temporary:
        temporary.write_bytes(calendar.to_ical())


def _event(day: DayEntry, stamp: datetime) -> Any:
    from icalendar import Alarm, Event  # noqa: PLC0415

    event = Event()
    event.add("uid", day.key)
    event.add("dtstamp", stamp)
    event.add("dtstart", day.first)
    event.add("dtend", day.last + timedelta(days=1))  # the first day that is none, says the RFC
    event.add("summary", day.title)
    event.add("transp", "TRANSPARENT")  # nobody is busy all day long
    if day.description:
        event.add("description", day.description)
    if day.place:
        event.add("location", day.place)
    if day.lat_lon is not None:
        event.add("geo", day.lat_lon)
    if day.remind_days is not None:
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", day.title)
        alarm.add("trigger", timedelta(days=-day.remind_days))
        event.add_component(alarm)
    return event
