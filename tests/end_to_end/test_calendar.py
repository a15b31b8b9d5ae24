"""The days of a run's boxes as a calendar, by the command."""

from datetime import date

import pytest
from command import refused, succeeded
from icalendar import Calendar

from suitability.finished import FinishedRun
from suitability.follow_up.days import days_of_run


@pytest.fixture(scope="module")
def days(sample_run, tmp_path_factory):
    path = tmp_path_factory.mktemp("days") / "days.ics"
    told = succeeded("calendar", sample_run, "--after", "2026-11-25", "--to", path)
    return told, Calendar.from_ical(path.read_bytes()).walk("VEVENT")


def test_every_site_has_a_day_before_bats_return(days, sample_run):
    sites = FinishedRun.of(sample_run).sites
    ups = [event for event in days[1] if event["SUMMARY"].startswith("Have the bat box")]
    assert len(ups) == len(sites)
    assert {event["DTSTART"].dt for event in ups} == {date(2027, 3, 31)}  # occupied from 04-01 on
    for event, site in zip(ups, sites.sort_values("site").to_dict("records"), strict=False):
        assert "before you dig" in event["DESCRIPTION"]
        assert event["GEO"].latitude == pytest.approx(site["lat_deg"], abs=0.01)


def test_work_keeps_out_of_the_season_of_bats(days):
    work = [event for event in days[1] if event["SUMMARY"].startswith("Clean")]
    assert [event["DTSTART"].dt for event in work] == [date(y, 11, 1) for y in (2027, 2028, 2029)]
    # Up to and with 31 March, over New Year.
    assert [event["DTEND"].dt for event in work] == [date(y, 4, 1) for y in (2028, 2029, 2030)]


def test_boxes_are_looked_at_every_year(days):
    looks = [event for event in days[1] if event["SUMMARY"].startswith("Look at every")]
    assert [event["DTSTART"].dt for event in looks] == [date(y, 6, 1) for y in (2027, 2028, 2029)]
    assert "2027-06-01 to 2027-07-31" in days[0]


def test_a_day_that_is_just_over_comes_next_year(sample_run):
    run = FinishedRun.of(sample_run)
    for after, year in ((date(2027, 3, 31), 2027), (date(2027, 4, 1), 2028)):
        assert next(days_of_run(run, after, 1)).first == date(year, 3, 31)


def test_entries_keep_their_names_from_one_export_to_the_next(sample_run):
    run = FinishedRun.of(sample_run)
    first, later = (
        {day.key for day in days_of_run(run, date(2026, month, 1), 2)} for month in (5, 11)
    )
    assert first == later
    assert len(first) == 12 + 2 * 2


def test_mistakes_are_told(sample_run, tmp_path):
    assert "year-month-day" in refused("calendar", sample_run, "--after", "1.3.2027")
    assert "no finished run" in refused("calendar", tmp_path)
