import csv
import json
import sqlite3
from contextlib import closing

import geopandas
import numpy as np
import pandas as pd
import pyogrio
import pyproj
import pytest

from suitability.grid import Grid
from suitability.outputs.cautions import short_caution
from suitability.outputs.points import add_coordinates, tidy, write_sites

GRID = Grid(pyproj.CRS.from_epsg(32616), 728_000.0, 4_454_000.0, 2.0, 500, 500)
CAUTIONS = ("Never handle bats.", "Call before you dig: „811“.")
FIRST = [
    "rank", "site", "score", "x_m", "y_m", "lon_deg", "lat_deg", "mgrs", "ground_elevation_m",
    "limiting",
]  # fmt: skip


def some_sites(count=3):
    step = np.arange(count, dtype=np.float64)
    plain = pd.DataFrame(
        {
            "water_distance_m": (100.126 + step).astype(np.float32),
            "direct_sun_h_value": np.float32(1 / 3) + step,
            "y_m": 4_453_333.333 + 10 * step,
            "x_m": 728_111.111 + 10 * step,
            "score": (0.98766 - step / 10).astype(np.float32),
            "rank": np.arange(1, count + 1)[::-1],
            "limiting": pd.Series(["slope_deg"] * count, dtype="str"),
            "ground_elevation_m": np.where(step == 1, np.nan, 301.239),
        }
    )
    return add_coordinates(plain, GRID)


def rows_of(path):
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def write(folder, sites):
    return write_sites(folder, sites, cautions=CAUTIONS, title="Three sites")


def test_columns_stand_in_order_and_sites_by_rank(tmp_path):
    gpkg, geojson, table = write(tmp_path, some_sites())
    expected = [*FIRST, "water_distance_m", "direct_sun_h_value"]
    rows = rows_of(table)
    assert list(rows[0]) == [*expected, "caution"]
    assert [row["rank"] for row in rows] == ["1", "2", "3"]
    assert list(pyogrio.read_info(gpkg)["fields"]) == expected
    features = json.loads(geojson.read_text(encoding="utf-8"))["features"]
    assert [feature["properties"]["site"] for feature in features] == ["Site 1", "Site 2", "Site 3"]
    assert list(features[0]["properties"]) == expected
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "sites.csv", "sites.geojson", "sites.gpkg",
    ]  # fmt: skip


def test_numbers_say_no_more_than_they_mean(tmp_path):
    gpkg, geojson, table = write(tmp_path, some_sites())
    last = rows_of(table)[2]  # rank 3 was given first
    assert (last["x_m"], last["y_m"]) == ("728111.11", "4453333.33")
    assert (last["score"], last["water_distance_m"]) == ("0.9877", "100.13")
    assert last["direct_sun_h_value"] == "0.3333"
    assert len(last["lon_deg"].split(".")[1]) == 6
    feature = json.loads(geojson.read_text(encoding="utf-8"))["features"][2]
    assert feature["properties"]["water_distance_m"] == 100.13
    point = geopandas.read_file(gpkg).geometry[2]
    assert (point.x, point.y) == (728111.11, 4453333.33)


def test_lon_lat_lead_back_to_the_point():
    sites = some_sites()
    for site in sites.itertuples():
        x, y = GRID.from_lonlat(round(site.lon_deg, 6), round(site.lat_deg, 6))
        assert np.hypot(x - site.x_m, y - site.y_m) < 0.12  # a millionth of a degree


def test_what_is_missing_is_empty_or_null(tmp_path):
    gpkg, geojson, table = write(tmp_path, some_sites())
    assert rows_of(table)[1]["ground_elevation_m"] == ""
    second = json.loads(geojson.read_text(encoding="utf-8"))["features"][1]
    assert second["properties"]["ground_elevation_m"] is None
    with sqlite3.connect(gpkg) as base:
        found = base.execute("SELECT ground_elevation_m FROM sites ORDER BY rank").fetchall()
    base.close()
    assert found == [(301.24,), (None,), (301.24,)]


def test_cautions_travel_with_each_file(tmp_path):
    gpkg, geojson, table = write(tmp_path, some_sites())
    facts = pyogrio.read_info(gpkg)
    assert facts["dataset_metadata"]["TITLE"] == "Three sites"
    assert facts["dataset_metadata"]["CAUTION_02"] == CAUTIONS[1]
    assert facts["layer_metadata"]["DESCRIPTION"] == short_caution()
    assert json.loads(geojson.read_text(encoding="utf-8"))["cautions"] == list(CAUTIONS)
    assert {row["caution"] for row in rows_of(table)} == {short_caution()}


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "＝"])
def test_no_cell_runs_as_a_formula(tmp_path, start):
    harmful = f'{start}HYPERLINK("http://x.invalid";"read")'
    sites = some_sites().assign(note=harmful, depth_m=-1.5).rename(columns={"note": harmful})
    _, _, table = write(tmp_path, sites)
    row = rows_of(table)[0]
    assert row["'" + harmful] == "'" + harmful
    assert harmful not in row
    assert row["depth_m"] == "-1.50"  # a negative number stays a number


def test_the_mark_for_spreadsheets_is_there_only_when_it_is_needed(tmp_path):
    _, _, plain = write(tmp_path / "plain", some_sites())
    _, _, marked = write(tmp_path / "marked", some_sites().assign(note='Bäche, "Teich"'))
    assert plain.read_bytes().isascii()
    assert marked.read_bytes().startswith(b"\xef\xbb\xbf")
    assert rows_of(marked)[0]["note"] == 'Bäche, "Teich"'
    assert b"\r\n" in plain.read_bytes()


def test_no_sites_make_valid_empty_files(tmp_path):
    gpkg, geojson, table = write(tmp_path, some_sites(0))
    facts = pyogrio.read_info(gpkg)
    assert (facts["features"], facts["geometry_type"], facts["crs"]) == (0, "Point", "EPSG:32616")
    with closing(sqlite3.connect(gpkg)) as base:
        types = {name: kind for _, name, kind, *_ in base.execute("PRAGMA table_info(sites)")}
    assert (types["rank"], types["mgrs"]) == ("INTEGER", "TEXT")
    assert (types["score"], types["water_distance_m"]) == ("REAL", "REAL")
    collection = json.loads(geojson.read_text(encoding="utf-8"))
    assert collection["features"] == []
    assert "bbox" not in collection
    assert table.read_text(encoding="utf-8").splitlines()[0].startswith(",".join(FIRST))
    assert rows_of(table) == []


def test_the_same_sites_give_the_same_bytes_at_any_time(tmp_path):
    first = [path.read_bytes() for path in write(tmp_path / "a", some_sites())]
    # GeoPackage keeps milliseconds: by now another one has begun.
    second = [path.read_bytes() for path in write(tmp_path / "b", some_sites())]
    assert first == second
    assert pyogrio.get_gdal_config_option("OGR_CURRENT_DATE") is None


def test_sites_given_are_not_changed():
    sites = some_sites()
    before = sites.copy(deep=True)
    tidy(sites)
    pd.testing.assert_frame_equal(pd.DataFrame(sites), pd.DataFrame(before))
