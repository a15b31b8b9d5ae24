"""Visits from files: what is taken, what is not and why, and that it is taken once."""

from datetime import date

import geopandas as gpd
import pandas as pd
import pyogrio
import pytest
from registers import LAT, LON, add_box, add_placement, new_register
from shapely import Point

from suitability.errors import InputError, ResultError
from suitability.follow_up.rows import write_rejected
from suitability.follow_up.visit_rows import COLUMNS, import_visits, read_visits, withdraw_visit

TODAY = date(2026, 11, 25)
HEADER = "box,date,observer,method,count,state,condition,wasps,repair,note\n"


@pytest.fixture
def register(tmp_path):
    return filled(tmp_path / "register.gpkg")


def filled(address):
    register = new_register(address)
    with register.writing() as connection:
        add_box(connection, "Site 1", "2022-03-01", "2024-03-01")
        add_placement(connection, "Site 1", "2024-03-01")
        add_box(connection, "Site 2", "2022-03-01", "2023-03-01")
    return register


def taken(register, tmp_path, text, **more):
    path = tmp_path / "visits.csv"
    path.write_text(text, encoding="utf-8")
    return import_visits(register, read_visits(path), today=TODAY, **more)


GOOD = HEADER + (
    "Site 1,2022-06-09,A.B.,Emergence Count,41,occupied,good,no,,\n"
    "Site 1,2024-03-01,cd,guano,,NOT OCCUPIED,worn,yes,painted,\n"
    "Site 2,2023-03-01,EF,none,,not checked,gone,,,\"rain, then more rain\"\n"
)  # fmt: skip


def test_good_rows_are_taken_in_both_databases(address, tmp_path):
    register = filled(address)
    found = taken(register, tmp_path, GOOD)
    assert (len(found.new), found.already, found.rejected) == (3, 0, ())
    visits = register.visits()
    assert visits["observer"].tolist() == ["AB", "EF", "CD"]
    assert visits["method"].tolist() == ["emergence count", "none", "guano"]
    # On the day of a move it was looked at before it was moved.
    assert visits["placement"].tolist() == [1, 3, 1]
    assert visits["wasps"].tolist()[::2] == [False, True]
    assert visits["note"].tolist()[1] == "rain, then more rain"
    again = taken(register, tmp_path, GOOD)
    assert (len(again.new), again.already, again.rejected) == (0, 3, ())
    assert len(register.visits()) == 3


def test_a_dry_run_tells_the_same_and_changes_nothing(register, tmp_path):
    bytes_before = (tmp_path / "register.gpkg").read_bytes()
    found = taken(register, tmp_path, GOOD, dry_run=True)
    assert (tmp_path / "register.gpkg").read_bytes() == bytes_before
    assert found == taken(register, tmp_path, GOOD)


@pytest.mark.parametrize(
    ("row", "column", "what"),
    [
        ("Sit 1,2022-06-09,AB,guano,,occupied,,,,", "box", "no box `Sit 1`"),
        (",2022-06-09,AB,guano,,occupied,,,,", "box", "empty"),
        ("Site 1,9/6/2022,AB,guano,,occupied,,,,", "date", "no day"),
        ("Site 1,2022-02-30,AB,guano,,occupied,,,,", "date", "no day"),
        ("Site 1,2022-02-28,AB,guano,,occupied,,,,", "date", "not up on 2022-02-28"),
        ("Site 2,2023-03-02,AB,guano,,occupied,,,,", "date", "not up on 2023-03-02"),
        ("Site 1,2026-11-26,AB,guano,,occupied,,,,", "date", "still to come"),
        ("Site 1,2022-06-09,Alice Bee,guano,,occupied,,,,", "observer", "no initials"),
        ("Site 1,2022-06-09,AB,smell,,occupied,,,,", "method", "none of the words"),
        ("Site 1,2022-06-09,AB,none,,occupied,,,,", "method", "nobody looked"),
        ("Site 1,2022-06-09,AB,guano,-1,occupied,,,,", "count", "no whole number"),
        ("Site 1,2022-06-09,AB,guano,20001,occupied,,,,", "count", "no whole number"),
        ("Site 1,2022-06-09,AB,guano,2,not occupied,,,,", "count", "2 bats were counted"),
        ("Site 1,2022-06-09,AB,none,0,not checked,,,,", "count", "there is a count"),
        ("Site 1,2022-06-09,AB,guano,,empty,,,,", "state", "none of the words"),
        ("Site 1,2022-06-09,AB,guano,,occupied,fine,,,", "condition", "none of the words"),
        ("Site 1,2022-06-09,AB,guano,,occupied,,some,,", "wasps", "neither yes nor no"),
    ],
)
def test_bad_rows_are_told_and_the_good_ones_taken(register, tmp_path, row, column, what):
    found = taken(register, tmp_path, GOOD + row + "\n")
    assert len(found.new) == 3
    (rejected,) = found.rejected
    assert rejected.row.number == 5
    (fault,) = rejected.faults
    assert fault.column == column
    assert what in fault.what
    assert fault.fix


def test_a_visit_that_contradicts_one_that_is_there_is_not_taken(register, tmp_path):
    taken(register, tmp_path, GOOD)
    other = HEADER + "Site 1,2022-06-09,AB,emergence count,14,occupied,good,no,,\n"
    for _ in range(2):
        found = taken(register, tmp_path, other)
        assert (len(found.new), found.already) == (0, 0)
        assert found.rejected[0].faults[0].what.endswith("with `41`, and this row says `14`")
        assert register.visits()["count"].tolist()[0] == 41
    assert withdraw_visit(register, "Site 1", date(2022, 6, 9), "typo", today=TODAY) == 1
    assert len(taken(register, tmp_path, other).new) == 1
    # What was withdrawn does not come back with its file.
    found = taken(register, tmp_path, GOOD)
    assert (len(found.new), found.already) == (0, 3)
    with pytest.raises(ResultError, match="no visit of `Site 1` on 2022-06-10"):
        withdraw_visit(register, "Site 1", date(2022, 6, 10), "typo", today=TODAY)


def test_rejected_rows_can_be_mended_and_taken(register, tmp_path):
    bad = "Site 1,2022-07-09,AB,guano,,empty,,,,=1+1\n"
    found = taken(register, tmp_path, GOOD + bad)
    path = tmp_path / "rejected.csv"
    write_rejected(path, found.rejected, COLUMNS)
    text = path.read_bytes().decode("utf-8")
    assert ",'=1+1," in text  # no formula for a spreadsheet
    assert "state: `empty` is none of the words" in text
    found = taken(register, tmp_path, text.replace(",empty,", ",not occupied,"))
    assert (len(found.new), found.already, found.rejected, found.ignored) == (1, 0, (), ())
    assert register.visits()["note"].tolist()[1] == "=1+1"


@pytest.mark.parametrize("delimiter", [";", "\t"])
def test_spreadsheets_of_other_lands_are_read(register, tmp_path, delimiter):
    text = "\ufeff" + GOOD.replace(",", delimiter).replace("rain;", "rain,").replace("rain\t", "")
    found = taken(register, tmp_path, text.replace("\n", "\r\n"))
    assert (len(found.new), found.rejected) == (3, ())


def test_unknown_columns_are_told_and_empty_lines_passed_over(register, tmp_path):
    text = (
        "box,date,observer,method,state,weather\n\nSite 1,2022-06-09,AB,guano,occupied,mild\n,,,\n"
    )
    found = taken(register, tmp_path, text)
    assert found.ignored == ("weather",)
    assert len(found.new) == 1


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("", "empty"),
        ("box,date\nSite 1,2022-06-09\n", "no column observer, method, state"),
        ("box,box\n", "two columns have one name"),
        ('box,date\n"Site 1,2022-06-09\n', "no CSV"),
        (HEADER + "Site 1,2022-06-09,AB,guano,,occupied,,,,rain, wind\n", "row 2 has 11 cells"),
    ],
)
def test_files_that_are_no_table_of_visits(register, tmp_path, text, what):
    with pytest.raises(InputError, match=what):
        taken(register, tmp_path, text)


def test_a_filled_in_form_is_read(register, tmp_path):
    path = tmp_path / "form.gpkg"
    form = gpd.GeoDataFrame(
        {
            "box": ["Site 1", "Site 1"],
            "date": pd.to_datetime(["2022-06-09", "2022-07-09"]).date,
            "observer": ["AB", "AB"], "method": ["sight", "none"], "count": [41, None],
            "state": ["occupied", "not checked"], "condition": ["good", None],
            "wasps": [False, None], "repair": [None, None], "note": [None, "rain"],
        },
        geometry=[Point(LON, LAT)] * 2,
        crs=4326,
    )  # fmt: skip
    pyogrio.write_dataframe(form, path, layer="visits")
    found = import_visits(register, read_visits(path), today=TODAY)
    assert (len(found.new), found.rejected) == (2, ())
    visits = register.visits()
    assert visits["count"].isna().tolist() == [False, True]
    assert visits["count"].tolist()[0] == 41
    assert visits["date"].dt.strftime("%m-%d").tolist() == ["06-09", "07-09"]
    assert visits["note"].tolist() == [None, "rain"]
