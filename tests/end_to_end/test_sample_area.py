"""The committed demo data: it is what its script makes, and the land in it makes sense."""

import subprocess
import sys
from datetime import date
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import rasterio
from rasterio.features import geometry_mask
from scipy.ndimage import distance_transform_edt
from shapely import box, segmentize

from suitability.follow_up.box_rows import import_boxes, read_boxes
from suitability.follow_up.register import open_register
from suitability.follow_up.visit_rows import import_visits, read_visits

SAMPLE = Path(__file__).parents[2] / "sample_area"
RASTERS = ("elevation", "land_cover", "canopy_height")
VECTORS = ("streams", "ponds", "buildings", "boundary", "keep_outs", "existing_boxes")
TABLES = ("boxes.csv", "visits.csv")
FILES = (
    {f"{name}.tif" for name in RASTERS}
    | {f"{name}.gpkg" for name in (*VECTORS, "register")}
    | {"weather.epw", *TABLES}
)
WATER, PAVED, ROOF = 11, 22, 23
FOREST = (41, 42, 43, 90)
# Classes of the National Land Cover Database legend (USGS, CONUS; from memory)
NLCD = {11, 12, 21, 22, 23, 24, 31, 41, 42, 43, 52, 71, 81, 82, 90, 95}


def read(name: str, folder: Path = SAMPLE) -> np.ndarray:
    with rasterio.open(folder / f"{name}.tif") as raster:
        return raster.read(1)


def vectors(name: str, folder: Path = SAMPLE) -> gpd.GeoDataFrame:
    return gpd.read_file(folder / f"{name}.gpkg")


def transform() -> rasterio.Affine:
    with rasterio.open(SAMPLE / "elevation.tif") as raster:
        return raster.transform


def inside(shapes: gpd.GeoSeries) -> np.ndarray:
    shape = read("elevation").shape
    return geometry_mask(shapes, shape, transform(), invert=True)


@pytest.fixture(scope="module")
def remade(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("remade")
    command = [sys.executable, str(SAMPLE / "make.py"), "--to", str(folder)]
    subprocess.run(command, check=True, timeout=300)
    return folder


def test_script_makes_exactly_these_files(remade):
    assert {path.name for path in remade.iterdir()} == FILES
    committed = [path for end in ("tif", "gpkg", "epw", "csv") for path in SAMPLE.glob(f"*.{end}")]
    assert {path.name for path in committed} == FILES


def test_committed_weather_is_what_the_script_makes_and_says_so(remade):
    committed = (SAMPLE / "weather.epw").read_text().splitlines()
    made = (remade / "weather.epw").read_text().splitlines()
    assert any("no station measured it" in line for line in committed[:8])
    assert committed[:8] == made[:8]

    def numbers(lines: list[str]) -> np.ndarray:
        cells = [line.split(",") for line in lines[8:]]
        return np.array([[*row[:5], row[6], *row[13:16], row[21]] for row in cells], float)

    # Libraries may differ in the last digit written.
    np.testing.assert_allclose(numbers(committed), numbers(made), atol=1.01)


@pytest.mark.parametrize("name", RASTERS)
def test_committed_raster_is_what_the_script_makes(remade, name):
    with (
        rasterio.open(SAMPLE / f"{name}.tif") as committed,
        rasterio.open(remade / f"{name}.tif") as made,
    ):
        assert committed.profile == made.profile
        assert committed.units == made.units
        np.testing.assert_array_equal(committed.read(1), made.read(1))


@pytest.mark.parametrize("name", VECTORS)
def test_committed_vectors_are_what_the_script_makes(remade, name):
    committed, made = vectors(name), vectors(name, remade)
    assert committed.crs == made.crs
    assert committed.drop(columns="geometry").equals(made.drop(columns="geometry"))
    assert committed.geometry.geom_equals_exact(made.geometry, tolerance=1e-6).all()


@pytest.mark.parametrize("name", TABLES)
def test_committed_table_is_what_the_script_makes(remade, name):
    assert (SAMPLE / name).read_bytes() == (remade / name).read_bytes()


def test_committed_register_is_what_the_script_makes_of_the_tables(remade):
    committed, made = (open_register(folder / "register.gpkg") for folder in (SAMPLE, remade))
    for of in ("boxes", "placements", "visits"):
        pd.testing.assert_frame_equal(getattr(committed, of)(), getattr(made, of)())
    # Both tables are whole in it: given again, they add nothing.
    trial = {"today": date(2025, 12, 31), "dry_run": True}
    boxes = import_boxes(made, read_boxes(SAMPLE / "boxes.csv"), **trial)
    seen = import_visits(made, read_visits(SAMPLE / "visits.csv"), **trial)
    assert (boxes.already, boxes.rejected) == (25, ())
    assert (seen.already, seen.new, seen.rejected) == (len(made.visits()), (), ())


def test_second_run_onto_the_same_folder_writes_the_same_bytes(remade):
    first = {name: (remade / name).read_bytes() for name in sorted(FILES)}
    command = [sys.executable, str(SAMPLE / "make.py"), "--to", str(remade)]
    subprocess.run(command, check=True, timeout=300)
    changed = [name for name, content in first.items() if (remade / name).read_bytes() != content]
    assert changed == []


def test_files_stay_small():
    assert sum((SAMPLE / name).stat().st_size for name in FILES) < 8_000_000


@pytest.mark.parametrize(
    ("name", "dtype", "nodata", "unit"),
    [
        ("elevation", "float32", -9999, "metre"),
        ("land_cover", "uint8", 0, None),
        ("canopy_height", "float32", -9999, "metre"),
    ],
)
def test_rasters_share_one_grid(name, dtype, nodata, unit):
    with rasterio.open(SAMPLE / f"{name}.tif") as raster:
        assert raster.crs.to_epsg() == 32616
        assert raster.transform == transform()
        assert raster.res == (2.0, 2.0)
        assert raster.transform.b == raster.transform.d == 0
        assert raster.bounds.left % 2 == raster.bounds.top % 2 == 0
        assert (raster.height, raster.width) == (1100, 1200)
        assert raster.dtypes == (dtype,)
        assert raster.nodata == nodata
        assert raster.units == (unit,)
        assert (raster.read(1) != nodata).all()


def test_place_lies_where_it_says():
    centre = vectors("boundary").to_crs(4326).geometry.iloc[0].centroid
    assert (centre.x, centre.y) == pytest.approx((-84.3, 40.2), abs=0.01)


@pytest.mark.parametrize("name", VECTORS)
def test_vectors_are_valid_and_on_the_map(name):
    rows = vectors(name)
    with rasterio.open(SAMPLE / "elevation.tif") as raster:
        sheet = box(*raster.bounds)
    assert rows.crs.to_epsg() == 32616
    assert rows.geometry.is_valid.all()
    assert rows.within(sheet.buffer(0.01)).all()


def test_boundary_has_its_margin_and_holds_what_is_the_preserves():
    boundary = vectors("boundary").geometry
    with rasterio.open(SAMPLE / "elevation.tif") as raster:
        sheet = box(*raster.bounds)
    assert len(boundary) == 1
    assert boundary.iloc[0].within(sheet.buffer(-250))
    assert vectors("keep_outs").within(boundary.iloc[0]).all()
    assert vectors("existing_boxes").within(boundary.iloc[0]).all()


def test_attributes():
    permanence = {"perennial", "intermittent", "ephemeral"}
    assert set(vectors("streams")["permanence"]) == permanence
    assert set(vectors("ponds")["permanence"]) <= permanence
    assert len(vectors("keep_outs")["reason"].unique()) == 2
    buildings = vectors("buildings")
    assert {"barn", "house", "shed"} <= set(buildings["kind"])
    barns = buildings.loc[buildings["kind"] == "barn", "height_m"]
    assert barns.between(9, 11).all()
    boxes = vectors("existing_boxes")
    assert boxes["label"].is_unique
    assert boxes["year"].between(2010, 2025).all()
    assert boxes["occupied"].dtype == bool
    assert set(boxes["occupied"]) == {True, False}


def test_relief_is_that_of_a_till_plain_valley():
    relief = np.ptp(read("elevation"))
    assert 25 < relief < 42


def test_streams_run_downhill():
    elevation = read("elevation")
    for name, line in vectors("streams").set_index("name").geometry.items():
        x, y = segmentize(line, 1.0).coords.xy
        rows, columns = rasterio.transform.rowcol(transform(), x, y)
        rows = np.clip(rows, 0, elevation.shape[0] - 1)
        columns = np.clip(columns, 0, elevation.shape[1] - 1)
        along = elevation[rows, columns]
        assert along[0] - along[-1] > 3, name
        assert (along - np.minimum.accumulate(along)).max() < 0.15, name


def test_creek_lies_in_the_bottom_of_its_valley():
    elevation, streams = read("elevation"), vectors("streams")
    creek = streams.loc[streams["permanence"] == "perennial"].geometry
    bed = elevation[inside(creek.buffer(2))]
    beside = elevation[inside(creek.buffer(30)) & ~inside(creek.buffer(12))]
    assert np.median(beside) - np.median(bed) > 1


def test_tributaries_join_the_creek():
    streams = vectors("streams").set_index("name").geometry
    creek = streams["Cinder Creek"]
    for name, line in streams.drop("Cinder Creek").items():
        assert line.boundary.geoms[1].distance(creek) < 0.02, name


def test_ponds_are_level_water_without_canopy():
    elevation, cover, canopy = read("elevation"), read("land_cover"), read("canopy_height")
    for _, pond in vectors("ponds").iterrows():
        water = inside(gpd.GeoSeries([pond.geometry]))
        assert water.sum() > 200
        assert np.ptp(elevation[water]) == 0
        assert (cover[water] == WATER).all()
        assert (canopy[water] == 0).all()


def test_outlet_leaves_the_fens_pond():
    streams, ponds = (vectors(name).set_index("name").geometry for name in ("streams", "ponds"))
    assert streams["Fen Outlet"].boundary.geoms[0].distance(ponds["Cinder Pond"]) < 2


def test_roads_and_roofs_are_clear_of_canopy():
    cover, canopy = read("land_cover"), read("canopy_height")
    roofs = inside(vectors("buildings").geometry)
    assert (cover[roofs] == ROOF).all()
    assert (canopy[np.isin(cover, (PAVED, ROOF))] == 0).all()
    assert (cover == PAVED).sum() * 4 > 10_000


def test_land_cover_is_nlcd_in_patches_that_agree_with_the_canopy():
    cover, canopy = read("land_cover"), read("canopy_height")
    assert set(np.unique(cover).tolist()) <= NLCD
    same = (cover[1:-1, 1:-1] == cover[:-2, 1:-1]) & (cover[1:-1, 1:-1] == cover[1:-1, :-2])
    assert same.mean() > 0.95
    tall, forest = canopy > 5, np.isin(cover, FOREST)
    assert tall[forest].mean() > 0.75
    assert forest[tall].mean() > 0.9
    assert 26 < canopy.max() <= 28


def test_existing_boxes_stand_clear_of_branches():
    canopy = read("canopy_height")
    branches_m = distance_transform_edt(canopy < 2) * 2.0
    points = vectors("existing_boxes").geometry
    rows, columns = rasterio.transform.rowcol(transform(), points.x, points.y)
    assert (canopy[rows, columns] == 0).all()
    assert (branches_m[rows, columns] >= 6).all()
