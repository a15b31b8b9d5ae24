"""The form for visits against the GeoPackage Schema extension (OGC 12-128r19, annex F.9).

The tables' definitions are checked by sqlite3 against the annex's, from memory; GDAL's own tool
(`ogrinfo`), which knows the extension, reads what fits.
"""

import sqlite3
import subprocess
from contextlib import closing

import geopandas as gpd
import pandas as pd
import pyogrio
import pytest
from command import parts, refused, succeeded
from shapely import Point

from suitability.finished import FinishedRun
from suitability.follow_up.form import write_visit_form
from suitability.follow_up.visit_form import CONDITIONS, METHODS, STATES

# Column, type, whether null is refused, place in the primary key.
DATA_COLUMNS = [
    ("table_name", "TEXT", 1, 1), ("column_name", "TEXT", 1, 2), ("name", "TEXT", 0, 0),
    ("title", "TEXT", 0, 0), ("description", "TEXT", 0, 0), ("mime_type", "TEXT", 0, 0),
    ("constraint_name", "TEXT", 0, 0),
]  # fmt: skip
CONSTRAINTS = [
    ("constraint_name", "TEXT", 1, 0), ("constraint_type", "TEXT", 1, 0), ("value", "TEXT", 0, 0),
    ("min", "NUMERIC", 0, 0), ("min_is_inclusive", "BOOLEAN", 0, 0), ("max", "NUMERIC", 0, 0),
    ("max_is_inclusive", "BOOLEAN", 0, 0), ("description", "TEXT", 0, 0),
]  # fmt: skip


@pytest.fixture(scope="module")
def form(sample_run, tmp_path_factory):
    return write_visit_form(sample_run, tmp_path_factory.mktemp("form") / "form.gpkg")


@pytest.fixture
def base(form):
    with closing(sqlite3.connect(f"file:{form}?mode=ro", uri=True)) as opened:
        yield opened


def definition(base, table):
    return [(row[1], row[2], row[3], row[5]) for row in base.execute(f"PRAGMA table_info({table})")]


def test_the_extensions_tables_are_the_standards(base):
    assert definition(base, "gpkg_data_columns") == DATA_COLUMNS
    assert definition(base, "gpkg_data_column_constraints") == CONSTRAINTS
    told = base.execute(
        "SELECT table_name, column_name, definition, scope FROM gpkg_extensions "
        "WHERE extension_name = 'gpkg_schema' ORDER BY table_name"
    ).fetchall()
    assert [row[0] for row in told] == ["gpkg_data_column_constraints", "gpkg_data_columns"]
    assert {row[1:] for row in told} == {
        (None, "http://www.geopackage.org/spec121/#extension_schema", "read-write")
    }


def test_constraints_are_of_the_kinds_that_the_standard_has(base):
    rows = base.execute("SELECT * FROM gpkg_data_column_constraints").fetchall()
    for name, kind, value, low, low_in, high, high_in, _ in rows:
        assert name == name.lower()
        if kind == "enum":
            assert value is not None
            assert (low, low_in, high, high_in) == (None,) * 4
        else:
            assert kind == "range"
            assert value is None
            assert low < high
            assert (low_in, high_in) == (1, 1)
    asked = "SELECT constraint_name FROM gpkg_data_columns WHERE constraint_name IS NOT NULL"
    named = {row[0] for row in base.execute(asked)}
    assert named == {row[0] for row in rows}
    columns = {row[1] for row in base.execute("PRAGMA table_info(visits)")}
    told = {row[0] for row in base.execute("SELECT column_name FROM gpkg_data_columns")}
    assert told == columns - {"fid", "geom"}


def test_the_file_is_sound(base):
    assert base.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert base.execute("PRAGMA foreign_key_check").fetchall() == []


def test_gdal_offers_the_words_and_ranges(form, base, system_program):
    ogrinfo = system_program("ogrinfo")

    def domain(name):
        words = [ogrinfo, str(form), "-fielddomain", name]
        return subprocess.run(words, capture_output=True, text=True, check=True).stdout

    for column, words in (("method", METHODS), ("state", STATES), ("condition", CONDITIONS)):
        listed = domain(f"visits_{column}")
        assert "Type: coded" in listed
        for value, meaning in words:
            assert f"    {value}: {value}: {meaning}\n" in listed
    assert "Minimum value: 0\n" in domain("visits_count")
    assert "Maximum value: 20000\n" in domain("visits_count")
    assert "    Site 12: Site 12: around a post, 16TGK" in domain("visits_box")


def test_boxes_are_the_runs_sites(form, sample_run):
    boxes = pyogrio.read_dataframe(form, layer="boxes")
    sites = FinishedRun.of(sample_run).sites
    assert boxes.crs.to_epsg() == 4326
    assert boxes["name"].tolist() == sites["site"].tolist()
    assert boxes.to_crs(sites.crs).distance(sites).max() < 0.01
    assert boxes["box_design"].tolist() == sites["box"].tolist()


def test_a_visit_can_be_written_and_read(form, tmp_path):
    filled = tmp_path / "filled.gpkg"
    filled.write_bytes(form.read_bytes())
    assert len(pyogrio.read_dataframe(filled, layer="visits")) == 0
    visit = gpd.GeoDataFrame(
        {
            "box": ["Site 3"], "date": pd.to_datetime(["2026-07-02"]).date, "observer": ["AB"],
            "method": ["sight"], "count": [41], "state": ["occupied"], "wasps": [False],
        },
        geometry=[Point(-84.3, 40.2)],
        crs=4326,
    )  # fmt: skip
    pyogrio.write_dataframe(visit, filled, layer="visits", driver="GPKG", append=True)
    read = pyogrio.read_dataframe(filled, layer="visits")
    assert read["count"].tolist() == [41]
    assert str(read["date"][0])[:10] == "2026-07-02"
    assert read["note"].isna().all()


def test_the_same_run_gives_the_same_bytes(form, sample_run, tmp_path):
    again = write_visit_form(sample_run, tmp_path / "again.gpkg")
    assert again.read_bytes() == form.read_bytes()
    assert [path.name for path in tmp_path.iterdir()] == ["again.gpkg"]


def test_a_form_that_may_hold_visits_is_kept(form, sample_run, tmp_path):
    path = tmp_path / "round.gpkg"
    assert str(path) in succeeded("form", sample_run, "--to", path)
    message = refused("form", sample_run, "--to", path)
    assert (
        parts(message)[0] == "there is a form already; it may hold visits, so it is not overwritten"
    )
