"""Calendars: what RFC 5545 asks for, read back by its library and by hand."""

from datetime import date, timedelta

import pytest
from icalendar import Calendar

from suitability.outputs.calendar_file import DayEntry, write_calendar

ON = date(2026, 11, 25)
DAYS = [
    DayEntry("visit-2@x", date(2027, 6, 1), date(2027, 6, 30), "Visit box 2"),
    DayEntry(
        "up-1@x",
        date(2027, 3, 31),
        date(2027, 3, 31),
        "Have box 1 up; before bats return, please",
        "Ä" * 90 + "\nsecond line, with; signs \\",
        place="16TGK2999553002",
        lat_lon=(40.1950, -84.3034),
        remind_days=14,
    ),
]


@pytest.fixture
def calendar(tmp_path):
    path = tmp_path / "days.ics"
    write_calendar(path, "Home farm", DAYS, ON)
    return path


def test_days_come_back_in_their_order(calendar):
    first, second = Calendar.from_ical(calendar.read_bytes()).walk("VEVENT")
    assert first["SUMMARY"] == "Have box 1 up; before bats return, please"
    assert first["DESCRIPTION"] == DAYS[1].description
    assert first["DTSTART"].dt == date(2027, 3, 31)
    assert first["GEO"].to_ical() == "40.195;-84.3034"
    (alarm,) = first.walk("VALARM")
    assert alarm["TRIGGER"].dt == timedelta(days=-14)
    assert second["UID"] == "visit-2@x"


def test_the_end_is_the_first_day_that_is_none(calendar):
    """RFC 5545, 3.6.1: DTEND is not part of the event."""
    second = Calendar.from_ical(calendar.read_bytes()).walk("VEVENT")[1]
    assert second["DTEND"].dt == date(2027, 7, 1)


def test_lines_are_folded_and_ended_as_the_standard_wants(calendar):
    """RFC 5545, 3.1: CRLF, no line of more than 75 octets; 3.6: PRODID and VERSION."""
    data = calendar.read_bytes()
    lines = data.split(b"\r\n")
    assert lines[-1] == b""
    assert all(len(line) <= 75 and b"\n" not in line for line in lines)
    assert lines[0] == b"BEGIN:VCALENDAR"
    assert lines[-2] == b"END:VCALENDAR"
    assert b"VERSION:2.0" in lines
    assert sum(line.startswith(b"PRODID:") for line in lines) == 1
    assert sum(line.startswith(b"DTSTAMP:20261125T000000Z") for line in lines) == 2


def test_the_same_days_are_the_same_bytes(calendar, tmp_path):
    again = tmp_path / "again.ics"
    write_calendar(again, "Home farm", DAYS[::-1], ON)
    assert again.read_bytes() == calendar.read_bytes()


def test_a_calendar_may_be_empty(tmp_path):
    path = tmp_path / "empty.ics"
    write_calendar(path, "None", [], ON)
    assert not Calendar.from_ical(path.read_bytes()).walk("VEVENT")
