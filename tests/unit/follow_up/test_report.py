"""The report's words and rows, from the boxes counted by hand."""

import numpy as np
import pandas as pd
import pytest
from watched_boxes import PLACEMENTS, VISITS

from suitability.follow_up.report import report_of
from suitability.outputs.results_page import write_results
from suitability.quantities import Quantities

METRIC = Quantities()


@pytest.fixture
def report():
    return report_of("Fen", PLACEMENTS, VISITS, METRIC)


def test_the_first_row_is_all_boxes_that_were_looked_at(report):
    assert report.rows[0].name == "all boxes"
    assert (report.rows[0].used, report.rows[0].boxes) == (3, 4)
    assert len(report.rows) == 11


def test_sentences_hold_the_counts(report):
    share, unseen, soon, few = report.words.lines
    assert share.startswith("3 of 4 boxes that were looked at have had bats: 75% (95% interval 30%")
    assert "10 visits from 2022-06-09 to 2023-07-09" in share
    assert unseen.startswith("1 more")
    assert "100% had them within six months" in soon
    assert "common practice, without a published source, says 70% and 96%" in soon
    assert few.startswith("So few boxes")


def test_waiting_is_in_months(report):
    np.testing.assert_allclose(report.months, np.array([80, 130]) / 30.4375)
    assert report.until_months == pytest.approx(495 / 30.4375)


def test_years_with_bats(report):
    assert list(report.seasons) == [
        ("2022, 40° N", "07-09", "07-09", "5"),
        ("2023, 40° N", "05-20", "05-20", "2"),
        ("usual, 40° N", "03-15", "10-31", "(common practice)"),
    ]


@pytest.mark.parametrize("placements", [PLACEMENTS, PLACEMENTS.iloc[:0]])
def test_no_visits_yet_is_said_and_drawn(placements, tmp_path):
    report = report_of("Fen", placements, VISITS.iloc[:0], METRIC)
    assert report.words.lines == (
        f"{len(placements)} boxes; no visit has told yet whether bats are in one.",
    )
    assert all(path.exists() for path in write_results(tmp_path, report))


def test_a_column_that_nobody_filled_in_makes_no_rows():
    placements = PLACEMENTS.assign(colour=pd.Series([None] * 5, dtype=object))
    assert "colour" not in {row.by for row in report_of("Fen", placements, VISITS, METRIC).rows}


def test_days_with_bats_stand_by_latitude_beside_what_is_usual_there():
    """Common practice for 36 to 42 degrees; half a year later in the south."""
    placements = PLACEMENTS.assign(lat_deg=[40.2, 40.2, -40.0, 40.2, 40.2])
    assert report_of("Fen", placements, VISITS, METRIC).seasons == [
        ("2022, 40° N", "07-09", "07-09", "4"),
        ("2023, 40° N", "05-20", "05-20", "2"),
        ("usual, 40° N", "03-15", "10-31", "(common practice)"),
        ("2022, 40° S", "07-09", "07-09", "1"),
        ("usual, 40° S", "09-15", "04-30", "(common practice)"),
    ]
