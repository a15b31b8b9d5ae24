"""What the public is told of boxes: counts by square and by parcel, the same whenever told."""

import csv
import json
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from registers import add_box, add_placement, add_visit, new_register
from typer.testing import CliRunner

from suitability.cli import app
from suitability.errors import InputError, ResultError
from suitability.follow_up.box_export import export_boxes
from suitability.follow_up.box_rows import read_boxes
from suitability.follow_up.privacy import coarse_place
from suitability.follow_up.public_export import by_parcel, by_square, write_public

SAMPLE = Path(__file__).parents[3] / "sample_area"
HERE = coarse_place(-84.3034, 40.1950, 1000)
LON, LAT = HERE.lon_deg, HERE.lat_deg  # the middle of a square of 1 km
BESIDE = LON + 1000 / 85_200  # a kilometre to the east


def told(register, path, write=by_square, *more, **options):
    write_public(path, write(register.placements(), register.visits(), *more, **options))
    return path.read_text()


@pytest.fixture
def register(tmp_path):
    register = new_register(tmp_path / "register.gpkg")
    with register.writing() as connection:
        first = add_box(connection, "Secret barn", lon=LON, lat=LAT)
        add_visit(connection, "Secret barn", first, "2023-06-09", "occupied", note="by the silo")
        second = add_box(connection, "B", lon=LON, lat=LAT)
        add_visit(connection, "B", second, "2023-06-09")
        add_box(connection, "C", lon=BESIDE, lat=LAT)
        add_box(connection, "Down", taken_down="2023-01-01", lon=LON, lat=LAT)
    return register


def test_boxes_that_are_up_are_counted_by_square(register, tmp_path):
    rows = list(
        csv.DictReader(told(register, tmp_path / "public.csv", by_square, 1000).split("\n"))
    )
    assert [[row[name] for name in ("boxes", "looked_at", "with_bats")] for row in rows] == [
        ["2", "2", "1"], ["1", "0", "0"]
    ]  # fmt: skip
    assert {row["square_side_m"] for row in rows} == {"1000"}
    assert all("squares of 1 km" in row["about"] for row in rows)


@pytest.mark.parametrize("suffix", [".csv", ".geojson"])
def test_nothing_that_tells_boxes_apart_goes_out(register, tmp_path, suffix):
    text = told(register, tmp_path / f"public{suffix}", by_square, 10_000)
    for word in ("Secret", "silo", "2023", "AB", f"{LON:.4f}", f"{LAT:.4f}"):
        assert word not in text


def test_a_move_within_a_square_does_not_show_and_repeated_exports_are_the_same(register, tmp_path):
    for side_m in (1000, 10_000):
        before = told(register, tmp_path / "1.geojson", by_square, side_m)
        assert told(register, tmp_path / "2.geojson", by_square, side_m) == before
    with register.writing() as connection:
        connection.exec_driver_sql("UPDATE placements SET taken_down = '2024-03-01' WHERE fid = 1")
        add_placement(connection, "Secret barn", "2024-03-01", lon=LON + 0.003, lat=LAT - 0.002)
    for side_m in (10_000, 1000):
        after = told(register, tmp_path / "3.geojson", by_square, side_m)
        if side_m == 10_000:
            assert after == before
    rows = by_square(register.placements(), register.visits(), 1000).rows
    assert [(row["boxes"], row["with_bats"]) for row in rows] == [(2, 1), (1, 0)]


def test_squares_as_areas_hold_their_boxes(tmp_path):
    placements = pd.DataFrame(
        {
            "placement": [1, 2, 3], "box": ["a", "b", "c"], "taken_down": pd.NaT,
            "lon_deg": [11.963, 179.99, -34.9], "lat_deg": [57.707, -16.8, -8.01],
        }
    )  # fmt: skip
    visits = pd.DataFrame({"placement": [1], "state": ["occupied"]})
    path = tmp_path / "public.geojson"
    write_public(path, by_square(placements, visits, 10_000))
    areas = gpd.read_file(path).geometry
    for lon, lat in zip(placements["lon_deg"], placements["lat_deg"], strict=True):
        assert areas.intersects(shapely.Point(lon, lat)).sum() == 1
    # RFC 7946: longitudes within 180, outer rings counter-clockwise.
    west, _, east, _ = areas.total_bounds
    assert -180 <= west <= east <= 180
    for feature in json.loads(path.read_text())["features"]:
        assert shapely.geometry.shape(feature["geometry"]).area < 0.1  # none around the world
    for area in areas.explode():
        assert area.exterior.is_ccw


def test_parcels_with_few_boxes_say_no_more(register, tmp_path):
    with register.writing() as connection:
        for name in ("E", "F"):
            add_box(connection, name, lon=LON, lat=LAT)
        add_box(connection, "Elsewhere", lon=LON, lat=LAT + 1)
    parcels = gpd.GeoDataFrame(
        {"owner": ["Mill", "=Lane"]},
        geometry=[shapely.Point(at, LAT).buffer(0.004) for at in (LON, BESIDE)],
        crs=4326,
    ).to_crs(32616)
    parcels.to_file(tmp_path / "parcels.gpkg")
    options = {"parcels": tmp_path / "parcels.gpkg", "name_field": "owner"}
    rows = list(
        csv.reader(told(register, tmp_path / "public.csv", by_parcel, **options).split("\n"))
    )
    assert [row[:4] for row in rows[1:3]] == [["'=Lane", "", "", ""], ["Mill", "4", "2", "1"]]
    counts = by_parcel(register.placements(), register.visits(), **options)
    assert counts.warnings[0].startswith("1 of the boxes that are up are in no parcel")
    told(register, tmp_path / "areas.geojson", by_parcel, **options)
    assert len(gpd.read_file(tmp_path / "areas.geojson")) == 2
    with pytest.raises(InputError, match="no field"):
        by_parcel(register.placements(), register.visits(), options["parcels"], name_field="who")
    elsewhere = register.placements().query("box == 'Elsewhere'").reset_index(drop=True)
    with pytest.raises(ResultError, match="in one of the parcels"):
        by_parcel(elsewhere, register.visits(), **options)


def test_files_of_exact_places_say_that_they_are_for_nobody_else(register, tmp_path):
    for name in ("boxes.csv", "boxes.gpx"):
        export_boxes(register.placements(), tmp_path / name)
        assert "keep them from the public" in (tmp_path / name).read_text()
    assert read_boxes(tmp_path / "boxes.csv").ignored == ()


def test_the_command_says_how_coarse_it_is(tmp_path):
    words = [
        "boxes",
        "export",
        str(tmp_path / "a.csv"),
        "--register",
        str(SAMPLE / "register.gpkg"),
    ]
    public = CliRunner().invoke(app, [*words, "--public"])
    assert "2 squares in" in public.stdout
    assert "squares of 10 km of the Military Grid" in public.stdout
    parcel = CliRunner().invoke(app, [*words, "--by", str(SAMPLE / "boundary.gpkg")])
    assert "1 parcel in" in parcel.stdout
    assert "194.9 ha" in parcel.stdout
    exact = CliRunner().invoke(app, words)
    assert "exact places of roosts" in exact.stdout
    other = CliRunner().invoke(app, [*words[:2], str(tmp_path / "a.txt"), *words[3:], "--public"])
    assert isinstance(other.exception, InputError)


def test_places_beyond_the_grid_are_refused():
    placements = pd.DataFrame(
        {"placement": [1], "box": ["a"], "taken_down": pd.NaT, "lon_deg": [0.0], "lat_deg": [85.0]}
    )
    with pytest.raises(ResultError, match="latitude 85"):
        by_square(placements, pd.DataFrame({"placement": [], "state": []}), 1000)


def test_the_middle_of_a_square_is_its_corners_mean():
    for side_m in (1000, 10_000):
        found = coarse_place(LON, LAT, side_m)
        assert np.allclose(
            np.mean(found.corners_deg, axis=0), (found.lon_deg, found.lat_deg), atol=2e-4
        )
