"""Days of boxes that are up: what is due, when work may be done, and as a file for calendars."""

from datetime import date, timedelta
from pathlib import Path

import pandas as pd
import pytest
from icalendar import Calendar
from registers import add_box, add_visit, new_register
from typer.testing import CliRunner

from suitability.cli import app
from suitability.config.box import BoxSettings
from suitability.errors import ConfigError, ResultError
from suitability.follow_up.due_days import days_of_boxes
from suitability.follow_up.register import open_register

REGISTER = Path(__file__).parents[3] / "sample_area" / "register.gpkg"
ON = date(2025, 11, 20)


def days(register, after=ON, years=2, **options):
    opened = open_register(register)
    found = days_of_boxes(
        "Fen", opened.placements(), opened.visits(), after=after, years=years, **options
    )
    return {entry.title: entry for entry in found}


@pytest.fixture
def few(tmp_path):
    """Return a register of boxes in the north, at 40° (bats from 03-15 to 10-31)."""
    register = new_register(tmp_path / "register.gpkg")
    with register.writing() as connection:
        for name, put_up, looks in (
            ("late", "2022-03-01", ("2024-07-01",)),
            ("soon", "2022-03-01", ("2025-04-10",)),
            ("fine", "2022-03-01", ("2025-07-01",)),
            ("empty", "2022-03-01", ("2024-07-01", "2025-07-01")),
            ("new", "2025-09-01", ()),
        ):
            place = add_box(connection, name, put_up)
            for day in looks:
                seen = "occupied" if name == "fine" else "not occupied"
                add_visit(connection, name, place, day, seen)
        place = add_box(connection, "leans", "2022-03-01")
        add_visit(connection, "leans", place, "2025-07-01", "occupied", condition="unsafe")
        place = add_box(connection, "worn", "2022-03-01")
        worn = {"condition": "worn", "repair": "roof felt"}
        add_visit(connection, "worn", place, "2025-07-01", "occupied", **worn)
    return tmp_path / "register.gpkg"


def test_looks_that_are_due_before_the_next_round_have_a_day_while_bats_may_be_about(few):
    found = days(few)
    spans = {title: (entry.first, entry.last) for title, entry in found.items()}
    # Overdue for long: the first day of the season that comes.
    spring = date(2026, 3, 15)
    assert spans["Look at bat box late, overdue since 2025-07-01"] == (spring, spring)
    # A year after the last look.
    assert spans["Look at bat box soon by 2026-04-10"] == (date(2026, 4, 10), date(2026, 4, 10))
    assert not [title for title in found if title.startswith(("Look at bat box fine",
                                                              "Look at bat box new"))]  # fmt: skip
    assert spans["Look at 7 bat boxes: Fen"] == (date(2027, 6, 1), date(2027, 7, 31))
    later = days(few, date(2026, 8, 1))
    assert later["Look at bat box new by 2026-09-01"].first == date(2026, 9, 1)
    late = days(few, date(2026, 5, 2))["Look at bat box late, overdue since 2025-07-01"]
    assert late.first == date(2026, 5, 2)


def test_a_look_that_is_due_in_winter_is_overdue_by_spring(tmp_path):
    register = new_register(tmp_path / "register.gpkg")
    with register.writing() as connection:
        place = add_box(connection, "a", "2022-03-01")
        add_visit(connection, "a", place, "2024-12-20")
    entry = days(tmp_path / "register.gpkg")["Look at bat box a, overdue since 2025-12-20"]
    assert entry.first == date(2026, 3, 15)


def test_boxes_to_move_or_to_mend_have_the_days_on_which_no_bats_are_in(few):
    found = days(few)
    assert (found["Move bat box empty"].first, found["Move bat box empty"].last) == (
        ON, date(2026, 3, 14)
    )  # fmt: skip
    assert not [title for title in found if title.startswith("Move bat box fine")]
    assert found["Bat box leans is unsafe"].first == ON
    summer = days(few, date(2026, 5, 2))
    assert summer["Move bat box empty"].first == date(2026, 11, 1)
    (work,) = [
        entry for entry in days(few, years=1).values() if entry.title.startswith("Clean and mend")
    ]
    assert "worn worn, roof felt" in work.description
    assert "leans" not in work.description


def test_every_winter_and_every_round_comes_once(few):
    opened = open_register(few)
    for after in (ON, date(2026, 3, 1), date(2026, 6, 20), date(2024, 2, 29)):
        found = list(
            days_of_boxes("Fen", opened.placements(), opened.visits(), after=after, years=3)
        )
        for start in ("Clean and mend", "Look at 6", "Look at 7"):
            ends = [entry.last for entry in found if entry.title.startswith(start)]
            assert len({last.year for last in ends}) == len(ends)
            if ends:
                assert [last.year - ends[0].year for last in ends] == [0, 1, 2]
                assert ends[0] - after < timedelta(days=366)
        assert all(entry.first >= after for entry in found)


def test_a_stated_season_and_the_south_move_the_days(tmp_path, few):
    stated = BoxSettings.model_validate({"occupied": {"start": "05-01", "end": "09-30"}})
    late = days(few, wanted=stated)["Look at bat box late, overdue since 2025-07-01"]
    assert late.first == date(2026, 5, 1)
    register = new_register(tmp_path / "south.gpkg")
    with register.writing() as connection:
        add_box(connection, "a", "2025-08-01", lat=-40.0)
    found = days(tmp_path / "south.gpkg", date(2025, 12, 24))
    assert found["Look at 1 bat box: Fen"].last == date(2027, 1, 31)
    firsts = {entry.first for entry in found.values() if entry.title.startswith("Clean")}
    assert {(first.month, first.day) for first in firsts} == {(5, 1)}


def test_the_file_is_a_calendar_whose_entries_keep_their_names(tmp_path):
    """RFC 5545: 3.1 folded lines, 3.6.1 DTEND, 3.8.4.7 UIDs that stay and are told once."""
    seen = []
    for after in ("2025-11-20", "2025-12-01"):
        path = tmp_path / f"{after}.ics"
        words = ("calendar", "--register", REGISTER, "--after", after, "--to", path)
        ended = CliRunner().invoke(app, [str(word) for word in words])
        assert ended.exception is None
        assert "Look at bat box CF-02, overdue since 2025-08-22" in ended.stdout
        assert "keep it from the public" in ended.stdout
        lines = path.read_bytes().split(b"\r\n")
        assert all(len(line) <= 75 and b"\n" not in line for line in lines)
        calendar = Calendar.from_ical(path.read_bytes())
        assert calendar.errors == []
        events = calendar.walk("VEVENT")
        assert all(event["DTEND"].dt > event["DTSTART"].dt for event in events)
        uids = [str(event["UID"]) for event in events]
        assert len(set(uids)) == len(uids) == 15
        seen.append(set(uids))
    assert seen[0] == seen[1]


def test_what_there_is_nothing_to_tell_of_is_said(tmp_path):
    new_register(tmp_path / "none.gpkg")
    for words, error in (
        (["--register", str(tmp_path / "none.gpkg")], ResultError),
        ([], ConfigError),
    ):
        ended = CliRunner().invoke(app, ["calendar", *words, "--to", str(tmp_path / "d.ics")])
        assert isinstance(ended.exception, error)
        assert not (tmp_path / "d.ics").exists()


def test_with_a_run_sites_that_are_free_are_told_too(sample_run, tmp_path):
    words = ("calendar", sample_run, "--register", REGISTER, "--after", "2025-11-20")
    ended = CliRunner().invoke(app, [str(word) for word in (*words, "--to", tmp_path / "d.ics")])
    told = ended.stdout
    assert "2026-03-31  Have the bat box of Site 1 up: Cinder Fen" in told
    assert "Site 2 up" not in told  # CF-06 hangs there
    # As the run has it: bats from 04-01 on.
    assert "2026-04-01  Look at bat box CF-02, overdue since 2025-08-22" in told
    assert pd.Series(told.splitlines()).str.contains("Look at 23 bat boxes").sum() == 3
