"""The program after the boxes are up, by its commands: boxes, visits, review, on the sample run."""

import csv
import shutil
import sqlite3
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import pytest
from command import parts, refused, run, succeeded
from typer.testing import CliRunner

from suitability.cli import app
from suitability.errors import SuitabilityError
from suitability.finished import FinishedRun
from suitability.follow_up.form import write_visit_form
from suitability.follow_up.free_sites import propose_moves
from suitability.follow_up.register import open_register
from suitability.follow_up.reviewing import review_register
from suitability.follow_up.visit_rows import import_visits, read_visits

SAMPLE_REGISTER = Path(__file__).parents[2] / "sample_area" / "register.gpkg"

HEADER = "box,date,observer,method,count,state\n"


@pytest.fixture(scope="module")
def kept(sample_run, tmp_path_factory):
    """Return a register of the sample run's sites 1, 2 and 5, and its visits of two seasons."""
    folder = tmp_path_factory.mktemp("kept")
    path = folder / "register.gpkg"
    sites = ("--site", 1, "--site", 2, "--site", 5)
    shown = succeeded(
        "boxes", "import", sample_run, "--register", path, "--on", "2022-03-01", *sites
    )
    assert shown.startswith("3 boxes and 3 places added")
    visits = folder / "visits.csv"
    visits.write_text(
        HEADER + "Site 1,2022-06-09,AB,guano,,not occupied\n"
        "Site 1,2023-06-09,AB,guano,,not occupied\n"
        "Site 2,2023-06-09,AB,emergence count,41,occupied\n"
    )
    dry = succeeded("visits", "import", visits, "--register", path, "--dry-run")
    assert dry.startswith("3 visits would be added")
    assert succeeded("visits", "import", visits, "--register", path).startswith("3 visits added")
    return path


def test_review_says_how_boxes_stand_and_where_to_move(kept, sample_run, tmp_path):
    to = tmp_path / "review.csv"
    shown = succeeded("review", kept, "--on", "2023-11-20", "--run", sample_run, "--to", to)
    assert shown.startswith("3 boxes up on 2023-11-20\nactive season 04-01 to 10-31, as the run")
    assert "  1 due to move" in shown
    assert "Site 1 might move to Site 3\n" in shown
    sun_h = pd.read_csv(sample_run / "sites.csv", index_col="rank")["direct_sun_h"]
    assert f"direct sun: {sun_h[1]:.1f} h a day now, {sun_h[3]:.1f} h a day there" in shown
    assert "house" not in shown
    with to.open(newline="") as file:
        rows = {row["box"]: row for row in csv.DictReader(file)}
    assert [row["state"] for row in rows.values()] == [
        "overdue for its yearly check", "due to move", "occupied"
    ]  # fmt: skip
    assert rows["Site 1"]["might_move_to"] == "Site 3"
    assert rows["Site 2"]["might_move_to"] == ""


def test_what_differs_is_what_the_run_has_of_both_places(kept, sample_run):
    finished = FinishedRun.of(sample_run)
    found = review_register(kept, on=pd.Timestamp("2023-11-20").date(), run=sample_run)
    (proposal,) = found.proposals
    sites = finished.sites.set_index("rank")
    for name in ("direct_sun_h", "water_distance_m"):
        expected = sites[name][1], sites[name][proposal.rank]
        assert proposal.measures[name] == pytest.approx(expected)
    heat = pd.read_csv(sample_run / "heat.csv")
    site = sites.loc[1]
    mine = (heat["colour"] == site["colour"]) & (heat["box"] == site["box"])
    for rank, told in zip((1, proposal.rank), proposal.measures["over_40_mid_h"], strict=True):
        facing = (heat["rank"] == rank) & (heat["facing_deg"] == sites["facing_deg"][rank])
        assert heat[mine & facing]["over_40_mid_h"].tolist() == [told]


def test_free_sites_are_away_from_boxes_that_are_up(kept, sample_run):
    finished = FinishedRun.of(sample_run)
    boxes = review_register(kept, on=pd.Timestamp("2023-11-20").date()).boxes
    sites = finished.sites
    proposals = propose_moves(finished, boxes, pd.concat([boxes] * 20))
    # Sites lie at least 45.72 m apart; a handheld's error puts none of the others out.
    assert [each.rank for each in proposals] == [3, 4, 6, 7, 8, 9, 10, 11, 12]
    beside = boxes.iloc[[0]].assign(
        lon_deg=sites["lon_deg"][2], lat_deg=sites["lat_deg"][2] + 24 / 111_000, direct_sun_h=np.nan
    )
    without_third = propose_moves(finished, beside, pd.concat([beside] * 20))
    assert [each.rank for each in without_third] == [1, 2, *range(4, 13)]
    there = finished.sites.geometry[2]
    measured = finished.measures("direct_sun_h", np.array([there.x]), np.array([there.y + 24]))
    told = propose_moves(finished, beside, beside)[0].measures["direct_sun_h"][0]
    assert told == pytest.approx(measured[0])


def test_a_season_can_be_stated_and_goes_by_latitude_else(kept):
    shown = succeeded("review", kept, "--on", "2023-11-20", "--season", "07-01", "10-31")
    assert "active season 07-01 to 10-31, as stated" in shown
    assert "  1 due to move" not in shown  # nobody looked within it
    by_latitude = succeeded("review", kept, "--on", "2023-11-20")
    assert "active season 03-15 to 10-31, common practice" in by_latitude
    what, _, _ = parts(refused("review", kept, "--season", "07-01", "13-31"))
    assert "13-31" in what


def test_a_form_goes_out_and_comes_back(kept, sample_run, tmp_path):
    register = shutil.copy(kept, tmp_path / "register.gpkg")
    form = write_visit_form(sample_run, tmp_path / "form.gpkg")
    boxes = pyogrio.read_dataframe(form, layer="boxes").iloc[[0, 1]]
    filled = gpd.GeoDataFrame(
        {
            "box": boxes["name"], "date": pd.to_datetime(["2024-06-09"] * 2).date,
            "observer": "CD", "method": ["sight", "none"], "count": [None, None],
            "state": ["not occupied", "not checked"], "wasps": [True, None],
        },
        geometry=boxes.geometry,
    )  # fmt: skip
    pyogrio.write_dataframe(filled, form, layer="visits", driver="GPKG", append=True)
    shown = succeeded("visits", "import", form, "--register", register)
    assert shown.startswith("2 visits added, 0 there already, 0 rows not taken")
    assert succeeded("visits", "import", form, "--register", register).startswith("0 visits added")
    assert open_register(register).visits()["wasps"].tolist()[-2] is True
    assert "CD" in succeeded("visits", "list", "--register", register, "--box", "Site 1")


def test_a_form_of_a_register_knows_the_boxes_that_are_up_and_comes_back(tmp_path):
    register = shutil.copy(SAMPLE_REGISTER, tmp_path / "register.gpkg")
    form = tmp_path / "form.gpkg"
    shown = said("form", "--register", register, "--to", form)
    assert f"visits import {form} --register {register}" in shown
    boxes = pyogrio.read_dataframe(form, layer="boxes")
    placements = open_register(register).placements()
    up = placements[placements["taken_down"].isna()]
    assert boxes["name"].tolist() == up["box"].tolist()
    assert np.allclose(boxes.geometry.x, up["lon_deg"], atol=1e-9)
    assert boxes["put_up"].tolist() == up["put_up"].astype(str).tolist()
    assert boxes["state"].notna().all()
    with sqlite3.connect(form) as base:
        words = base.execute(
            "SELECT value FROM gpkg_data_column_constraints WHERE constraint_name = 'visits_box'"
        ).fetchall()
    assert {word for (word,) in words} == set(up["box"])
    filled = gpd.GeoDataFrame(
        {
            "box": boxes["name"], "date": pd.Timestamp("2026-06-09").date(), "observer": "CK",
            "method": "guano", "count": None, "state": "not occupied",
        },
        geometry=boxes.geometry,
    )  # fmt: skip
    pyogrio.write_dataframe(filled, form, layer="visits", driver="GPKG", append=True)
    given = read_visits(form)
    taken = import_visits(open_register(register), given, today=pd.Timestamp("2026-07-01").date())
    assert (len(taken.new), taken.rejected) == (len(up), ())
    for words in (("form",), ("form", tmp_path, "--register", register)):
        with pytest.raises(SuitabilityError, match="sites of a run or of the boxes"):
            said(*words)
    with pytest.raises(SuitabilityError, match="a form already"):
        said("form", "--register", register, "--to", form)


def test_rows_that_are_not_taken_end_with_one_and_are_written(kept, tmp_path):
    register = shutil.copy(kept, tmp_path / "register.gpkg")
    file, rejected = tmp_path / "more.csv", tmp_path / "rejected.csv"
    file.write_text(HEADER + "Site 9,2023-07-01,AB,guano,,occupied\n")
    ended = run("visits", "import", file, "--register", register, "--rejected", rejected)
    assert (ended.returncode, ended.stderr) == (1, "")
    assert "row 2, box: the register has no box `Site 9`" in ended.stdout
    assert "Site 9,2023-07-01,AB,guano" in rejected.read_text()


def said(*words):
    """Return what a command prints, run within this process, for many in a row."""
    ended = CliRunner().invoke(app, [str(word) for word in words])
    if ended.exception is not None:
        raise ended.exception
    return ended.stdout


def test_boxes_are_added_moved_taken_down_and_exported(sample_run, tmp_path):
    register = ("--register", tmp_path / "register.gpkg")
    barn = ("boxes", "add", "Barn", *register, "--on", "2022-03-01", "--at", -84.3, 40.2)
    assert "up since 2022-03-01" in said(*barn, "--facing", 170)
    assert "there already" in said(*barn)
    with pytest.raises(SuitabilityError) as fault:
        said(*barn, "--facing", 400)
    assert fault.value.where == "suitability boxes add: facing_deg"
    with pytest.raises(SuitabilityError, match="give either --at LON LAT, or --run"):
        said("boxes", "move", "Barn", *register, "--on", "2024-03-01")
    move = ("boxes", "move", "Barn", *register, "--run", sample_run, "--site", 4)
    assert "2024-03-01" in said(*move, "--on", "2024-03-01")
    said("boxes", "take-down", "Barn", *register, "--on", "2025-03-01", "--why", "gone")
    assert "Barn" not in said("boxes", "list", *register)
    assert said("boxes", "list", *register, "--all").count("Barn") == 2
    said("boxes", "export", tmp_path / "boxes.csv", *register)
    assert (tmp_path / "boxes.csv").read_text().count("Barn") == 2
    site = FinishedRun.of(sample_run).sites.loc[3]
    assert f"{site['lon_deg']:.6f}" in (tmp_path / "boxes.csv").read_text()
    visit = tmp_path / "visit.csv"
    visit.write_text(HEADER + "Barn,2024-06-09,AB,guano,,occupied\n")
    said("visits", "import", visit, *register)
    withdraw = ("visits", "withdraw", "Barn", *register, "--on", "2024-06-09")
    assert said(*withdraw, "--because", "typo") == "1 withdrawn\n"
    assert "2024-06-09" not in said("visits", "list", *register)
    fault = refused("boxes", "list", "--register", tmp_path / "none.gpkg")
    assert parts(fault)[0] == "there is no such register"


def test_a_trial_begins_no_register(sample_run, tmp_path):
    found = said("boxes", "import", sample_run, "--register", tmp_path / "register.gpkg",
                 "--on", "2022-03-01", "--dry-run")  # fmt: skip
    assert found.startswith("12 boxes and 12 places would be added")
    assert list(tmp_path.iterdir()) == []
