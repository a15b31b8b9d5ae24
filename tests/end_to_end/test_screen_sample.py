"""The whole path on the sample area: the command, its files, and whether they tell one story."""

import copy
import csv
import hashlib
import json
import re
import subprocess
import sys
import tomllib
from datetime import UTC, date, datetime
from pathlib import Path

import geopandas as gpd
import jsonschema
import numpy as np
import pandas as pd
import pyproj
import pytest
import rasterio
from command import files_in, parts, refused, results_in, succeeded
from PIL import Image
from rasterio.features import rasterize
from rio_cogeo.cogeo import cog_validate
from ruamel.yaml import YAML
from scipy.spatial import cKDTree
from scipy.spatial.distance import pdist

from suitability.config import load_run
from suitability.grid import Grid
from suitability.sun import horizon, hours_by_month, sun_positions

ROOT = Path(__file__).parents[2]
CONFIG = ROOT / "configs" / "sample_area.yaml"
SAMPLE = ROOT / "sample_area"
CELL_M = 2.0
HALF_DIAGONAL_M = CELL_M / np.sqrt(2)

# The run file's own words, in metres by hand: 15, 20, 10, 65 and 150 international feet.
MOUNT_M, CLEARANCE_M, BANK_M, BOXES_M, SPACING_M = 4.572, 6.096, 3.048, 19.812, 45.72
MONTHS = {"apr": 30, "may": 31, "jun": 30, "jul": 31, "aug": 31, "sep": 30}
MEASURES = {"direct_sun_h", "morning_sun_h", "afternoon_sun_h", "darkest_month_sun_h",
            "water_distance_m", "canopy_edge_m", "clearance_m", "slope_deg",
            "ground_elevation_m", "foraging_share"}  # fmt: skip
OWN = {"building_distance_m", "leaf_height_m", "meadow_share", "pond_share", "boxes_per_km2",
       "aspect_deg", "rise_m"}  # fmt: skip
MEASURES |= OWN
LAYERS = MEASURES | {f"{month}_sun_h" for month in MONTHS}
BITS = {"excluded.tif", "layers/obstacles.tif"}
RASTERS = {"candidates.tif"} | BITS | {f"layers/{name}.tif" for name in LAYERS}
FILES = RASTERS | {
    "sites.gpkg",
    "sites.geojson",
    "sites.csv",
    "sites.gpx",
    "sites.kml",
    "sites.sld",
    "candidates.sld",
    "excluded.sld",
    "exclusions.csv",
    "horizons.csv",
    "features.gpkg",
    "relief.tif",
    "heat.csv",
    "figure.png",
    "map.html",
    "run.json",
}
STORE = {".store/lock", ".store/measured.json", ".store/look-KEY.npz"}
KEY = re.compile(r"[0-9a-f]{24}")


@pytest.fixture(scope="session")
def screened(tmp_path_factory):
    """Screen the sample area; return the folder of the run and what was printed."""
    folder = tmp_path_factory.mktemp("sample") / "run"
    printed = succeeded("screen", CONFIG, "--out", folder)
    return folder, printed


@pytest.fixture(scope="session")
def folder(screened):
    return screened[0]


@pytest.fixture(scope="session")
def record(folder):
    def no_constant(text):
        raise AssertionError(text)  # NaN and Infinity are not JSON

    return json.loads((folder / "run.json").read_text("utf-8"), parse_constant=no_constant)


@pytest.fixture(scope="session")
def sites(folder):
    return gpd.read_file(folder / "sites.gpkg", layer="sites")


@pytest.fixture(scope="session")
def grid(folder):
    with rasterio.open(folder / "candidates.tif") as source:
        assert source.res == (CELL_M, CELL_M)
        west, north = source.transform.c, source.transform.f
        return Grid(pyproj.CRS(32616), west, north, CELL_M, source.height, source.width)


def raster(folder, name):
    with rasterio.open(folder / name) as source:
        return source.read(1)


def sample(name):
    with rasterio.open(SAMPLE / f"{name}.tif") as source:
        return source.read(1)


def vectors(name):
    return gpd.read_file(SAMPLE / f"{name}.gpkg")


def cells_of(grid, sites):
    rows, cols = grid.position(sites["x_m"], sites["y_m"])
    np.testing.assert_array_equal(rows, np.round(rows))  # centres of cells, to the bit
    np.testing.assert_array_equal(cols, np.round(cols))
    return rows.astype(int), cols.astype(int)


# --- what is there ---------------------------------------------------------------------------


def test_the_folder_holds_what_was_promised_and_nothing_else(folder, record):
    assert results_in(folder) == FILES
    # Beside the results: what lets a later run use the layers, and keeps two runs apart.
    assert {KEY.sub("KEY", name) for name in files_in(folder) - FILES} == STORE
    assert set(record["files"]) == FILES
    assert record["files"][-1] == "run.json"
    assert len(record["files"]) == len(set(record["files"]))


def test_what_is_printed_is_what_was_found(screened, sites, record):
    folder, printed = screened
    for site in sites.itertuples():
        line = next(line for line in printed.splitlines() if line.startswith(f"│ {site.rank:>4} │"))
        for number in (f"{site.score:.3f}", f"{site.lat_deg:.6f}", f"{site.lon_deg:.6f}",
                       f"{site.water_distance_exact_m:.0f}"):  # fmt: skip
            assert f" {number} " in line
    assert f"{len(FILES)} files in {folder}" in printed
    for text in (*record["warnings"], *record["cautions"]):
        assert text in printed


@pytest.mark.parametrize("name", sorted(RASTERS))
def test_rasters_are_cloud_optimized_and_on_one_grid(folder, grid, name):
    is_valid, errors, warnings = cog_validate(folder / name, strict=True)
    assert (is_valid, errors, warnings) == (True, [], [])
    with rasterio.open(folder / name) as source, rasterio.open(SAMPLE / "elevation.tif") as dem:
        assert source.crs.to_epsg() == 32616
        assert (source.transform, source.shape) == (dem.transform, dem.shape)
        assert source.transform == grid.transform
        stem = Path(name).stem
        assert source.descriptions == ({"candidates": "score"}.get(stem, stem),)
        if name in BITS:
            assert source.dtypes == ("uint16",)
        else:
            assert source.dtypes == ("float32",)
            assert np.isnan(source.nodata)
            ending = stem.rpartition("_")[2]
            unit = {"candidates": "1", "share": "1", "km2": "/km²"}.get(ending, ending)
            assert source.units == (unit,)


def test_the_figure_is_a_letter_page_at_300_dots_an_inch(folder):
    with Image.open(folder / "figure.png") as figure:
        assert figure.format == "PNG"
        assert figure.size == (round(8.5 * 300), 11 * 300)
        assert figure.info["dpi"] == pytest.approx((300, 300), abs=0.05)
        pixels = np.asarray(figure.convert("RGB"))
    # Something is drawn in every third of the page, down and across.
    for band in (*np.array_split(pixels, 3), *np.array_split(pixels, 3, axis=1)):
        assert band.reshape(-1, 3).std(axis=0).max() > 10


# --- one story -------------------------------------------------------------------------------


def test_the_three_tables_hold_the_same_sites(folder, sites):
    with (folder / "sites.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    collection = json.loads((folder / "sites.geojson").read_text("utf-8"))
    features = collection["features"]
    assert len(rows) == len(features) == len(sites) == 12
    columns = [name for name in sites.columns if name != "geometry"]
    for row, feature, site in zip(rows, features, sites.to_dict("records"), strict=True):
        assert list(feature["properties"]) == columns
        assert list(row) == [*columns, "caution"]
        for name in columns:
            text, value = row[name], feature["properties"][name]
            if not isinstance(site[name], str) and np.isnan(site[name]):  # level ground's facing
                assert (text, value) == ("", None), name
                continue
            assert value == site[name], name
            assert (text if isinstance(site[name], str) else float(text)) == site[name], name
        assert feature["geometry"]["coordinates"] == [site["lon_deg"], site["lat_deg"]]
        assert (site["geometry"].x, site["geometry"].y) == (site["x_m"], site["y_m"])
    assert sites["rank"].tolist() == list(range(1, 13))
    assert sites["score"].is_monotonic_decreasing


def test_places_are_the_same_in_all_coordinates(sites):
    to_wgs84 = pyproj.Transformer.from_crs("EPSG:32616", "EPSG:4326", always_xy=True)
    lon, lat = to_wgs84.transform(sites["x_m"], sites["y_m"])
    np.testing.assert_allclose(sites["lon_deg"], lon, rtol=0, atol=0.51e-6)
    np.testing.assert_allclose(sites["lat_deg"], lat, rtol=0, atol=0.51e-6)
    for site in sites.itertuples():  # zone 16; the band from 40 to 48 degrees north is T
        assert site.mgrs.startswith("16T")
        east, north = site.mgrs[5:10], site.mgrs[10:]
        assert (int(east), int(north)) == (site.x_m % 100_000 // 1, site.y_m % 100_000 // 1)


def test_measures_of_sites_are_those_of_their_cells(folder, grid, sites):
    cell = cells_of(grid, sites)
    for name in sorted(LAYERS):
        found = raster(folder, f"layers/{name}.tif")[cell]
        np.testing.assert_allclose(sites[name], found, rtol=0, atol=0.0051, err_msg=name)
    np.testing.assert_allclose(
        sites["score"], raster(folder, "candidates.tif")[cell], rtol=0, atol=0.000051
    )
    np.testing.assert_allclose(
        sites["ground_elevation_m"], sample("elevation")[cell], rtol=0, atol=0.0051
    )
    assert (raster(folder, "excluded.tif")[cell] == 0).all()


def test_contributions_of_a_site_add_up_to_its_score(sites, record):
    stems = [c["layer"].rpartition("_")[0] for c in record["criteria"]]
    added = sum(sites[f"{stem}_contribution"] for stem in stems)
    np.testing.assert_allclose(added, sites["score"], rtol=0, atol=0.0003)
    for stem, criterion in zip(stems, record["criteria"], strict=True):
        np.testing.assert_allclose(
            sites[f"{stem}_contribution"],
            sites[f"{stem}_value"] * criterion["share"],
            rtol=0,
            atol=0.0001,
        )


def test_the_score_follows_from_layers_and_record(folder, record):
    score, bits = raster(folder, "candidates.tif"), raster(folder, "excluded.tif")
    np.testing.assert_array_equal(np.isnan(score), bits != 0)
    values, weights = [], []
    for criterion in record["criteria"]:
        measures, heights = np.array(criterion["curve"]["knots"]).T
        layer = raster(folder, f"layers/{criterion['layer']}.tif")
        values.append(np.interp(layer[bits == 0], measures, heights))
        weights.append(criterion["weight"])
    expected = np.average(values, axis=0, weights=weights)
    np.testing.assert_allclose(score[bits == 0], expected, rtol=0, atol=2e-7)
    assert 0 <= score[bits == 0].min() < score[bits == 0].max() <= 1


def test_the_best_cell_of_all_is_the_first_site(folder, sites):
    # The table is rounded to four digits.
    assert sites["score"][0] == pytest.approx(np.nanmax(raster(folder, "candidates.tif")), abs=6e-5)


def test_months_halves_and_the_darkest_month_fit_together(folder):
    months = {name: raster(folder, f"layers/{name}_sun_h.tif") for name in MONTHS}
    mean = raster(folder, "layers/direct_sun_h.tif")
    days = list(MONTHS.values())
    expected = np.average(list(months.values()), axis=0, weights=days)
    np.testing.assert_allclose(mean, expected, rtol=0, atol=5e-6)
    halves = [raster(folder, f"layers/{half}_sun_h.tif") for half in ("morning", "afternoon")]
    np.testing.assert_allclose(mean, sum(halves), rtol=0, atol=5e-6)
    darkest = raster(folder, "layers/darkest_month_sun_h.tif")
    np.testing.assert_array_equal(darkest, np.minimum.reduce(list(months.values())))
    # Under trees and roofs there is none, and nowhere else.
    under = (sample("canopy_height") > MOUNT_M) | (roofs() > 0)
    np.testing.assert_array_equal(np.isnan(mean), under)


# --- rules -----------------------------------------------------------------------------------


def test_sites_keep_their_distance_from_each_other(sites):
    assert pdist(sites[["x_m", "y_m"]]).min() >= SPACING_M


def test_sites_lie_on_the_preserve_and_off_what_is_kept_out(sites):
    assert sites.within(vectors("boundary").union_all()).all()
    assert not sites.intersects(vectors("keep_outs").union_all()).any()


def test_sites_keep_the_stated_distance_from_boxes_already_up(sites):
    assert sites.distance(vectors("existing_boxes").union_all()).min() >= BOXES_M * 0.9999


def test_no_land_within_that_distance_is_a_candidate_and_all_beyond_it_may_be(folder, grid):
    bit = 256
    out = (raster(folder, "excluded.tif") & bit) != 0
    boxes = vectors("existing_boxes").geometry
    rows, cols = np.indices(grid.shape)
    x, y = grid.xy(rows, cols)
    nearest, _ = cKDTree(np.column_stack([boxes.x, boxes.y])).query(np.stack([x, y], axis=-1))
    assert out[nearest < BOXES_M * 0.9999].all()
    assert not out[nearest > BOXES_M].any()


def test_sites_stand_clear_of_branches_and_walls(grid, sites):
    canopy = sample("canopy_height")
    rows, cols = np.nonzero(canopy > MOUNT_M)
    x, y = grid.xy(rows, cols)
    # To the nearest point of the nearest square of canopy.
    points = sites[["x_m", "y_m"]].to_numpy()
    _, near = cKDTree(np.column_stack([x, y])).query(points, k=9)
    across = np.maximum(np.abs(x[near] - points[:, :1]) - CELL_M / 2, 0)
    up = np.maximum(np.abs(y[near] - points[:, 1:]) - CELL_M / 2, 0)
    assert np.hypot(across, up).min() >= CLEARANCE_M - HALF_DIAGONAL_M
    walls = vectors("buildings").union_all()
    assert sites.distance(walls).min() >= CLEARANCE_M - 2 * HALF_DIAGONAL_M


def test_sites_stand_on_dry_land_that_is_not_steep(sites):
    assert (sites["water_distance_m"] > BANK_M).all()
    assert (sites["slope_deg"] <= 30).all()


def water():
    """Return lines and polygons that the run file counts as water."""
    streams = vectors("streams")
    kept = streams[streams["permanence"].isin(["perennial", "intermittent"])]
    assert 0 < len(kept) < len(streams)
    return pd.concat([kept.geometry, vectors("ponds").geometry]).union_all()


def test_distance_to_water_is_exact_at_sites_and_near_it_in_cells(grid, sites):
    points = sites[["x_m", "y_m"]].to_numpy()
    drawn = sites.distance(water()).to_numpy()
    x, y = grid.xy(*np.nonzero(sample("land_cover") == 11))  # open water
    covered, _ = cKDTree(np.column_stack([x, y])).query(points)
    # The creek is wider in the land cover than the line that stands for it.
    expected = np.where(covered < drawn - HALF_DIAGONAL_M, covered, drawn)
    found = sites["water_distance_exact_m"]
    np.testing.assert_allclose(found, expected, rtol=0, atol=0.0051)
    assert (expected == drawn).any()
    assert (expected == covered).any()
    np.testing.assert_allclose(
        sites["water_distance_m"], found, rtol=0, atol=HALF_DIAGONAL_M + 0.01
    )


def test_every_reason_is_where_it_should_be(folder, grid):
    bits = raster(folder, "excluded.tif")
    canopy, roof = sample("canopy_height"), roofs() > 0
    layers = {name: raster(folder, f"layers/{name}.tif") for name in MEASURES}
    expected = {
        1: np.zeros(grid.shape, bool),
        2: ~inside("boundary", grid, touched=False),
        4: canopy > MOUNT_M,
        8: layers["clearance_m"] < np.float32(CLEARANCE_M),
        16: roof,
        32: layers["water_distance_m"] <= np.float32(BANK_M),
        64: layers["slope_deg"] > 30,
        128: inside("keep_outs", grid, touched=True),
    }
    for bit, mask in expected.items():
        np.testing.assert_array_equal((bits & bit) != 0, mask, err_msg=str(bit))


def inside(name, grid, *, touched):
    shapes = vectors(name).geometry
    found = rasterize(shapes, grid.shape, transform=grid.transform, all_touched=touched)
    return found.astype(bool)


def roofs():
    """Return the height of buildings over cells, the run file's default of 16 ft where unknown."""
    rows = vectors("buildings")
    height = rows["height_m"].fillna(4.8768)
    with rasterio.open(SAMPLE / "elevation.tif") as dem:
        pairs = sorted(zip(height, rows.geometry, strict=True), key=lambda pair: pair[0])
        return rasterize(
            [(shape, high) for high, shape in pairs],
            dem.shape,
            transform=dem.transform,
            dtype="float32",
        )


# --- sun -------------------------------------------------------------------------------------


def test_a_march_from_each_site_finds_the_suns_hours(grid, sites):
    """The raster's sweep against rays marched from a point, over a surface put together here."""
    standing = np.maximum(sample("canopy_height"), roofs())
    ground = sample("elevation")
    lon, lat = grid.lonlat(*grid.centre)
    sun = sun_positions(float(lat), float(lon), ground_elevation_m=float(ground.mean()))
    rows, cols = cells_of(grid, sites)
    turn = pyproj.Proj(32616).get_factors(float(lon), float(lat)).meridian_convergence
    for row, col, site in zip(rows, cols, sites.to_dict("records"), strict=True):
        height = float(ground[row, col]) + MOUNT_M
        profile = horizon(ground + standing, CELL_M, row, col, height)
        months = hours_by_month(sun, profile, turn)
        season = np.average(list(months.values()), weights=list(MONTHS.values()))
        assert season == pytest.approx(site["direct_sun_h"], abs=0.3), site["site"]
        for month, hours in zip(MONTHS, months.values(), strict=True):
            assert hours == pytest.approx(site[f"{month}_sun_h"], abs=0.5), (site["site"], month)


# --- the record ------------------------------------------------------------------------------


def inputs_of_sample():
    """Return the rasters and vectors of the sample area that a run reads: all but its register."""
    paths = [*SAMPLE.glob("*.tif"), *SAMPLE.glob("*.gpkg")]
    return [path for path in paths if path.name != "register.gpkg"]


def test_the_record_holds_the_sum_of_every_input(record):
    paths = [*inputs_of_sample(), *SAMPLE.glob("*.epw")]
    expected = {str(path): hashlib.sha256(path.read_bytes()).hexdigest() for path in paths}
    assert record["input_sha256"] == expected


def test_the_record_holds_the_settings_as_they_were_understood(record):
    settings = copy.deepcopy(record["settings"])
    assert settings == load_run(CONFIG).settings.model_dump(mode="json")
    assert (settings["mount"]["kind"], settings["mount"]["height"]) == ("pole", MOUNT_M)
    rules = settings["exclusions"].pop("rules")
    assert [(r["layer"], r["below"], r["above"]) for r in rules] == [
        ("building_distance_m", 15.24, None), ("rise_m", -6, None),
    ]  # fmt: skip
    assert settings["exclusions"] == {
        "clearance": CLEARANCE_M,
        "water_bank": BANK_M,
        "steeper_than": 30,
        "existing_boxes": BOXES_M,
    }
    assert settings["sites"]["spacing"] == SPACING_M
    assert (record["title"], record["run_file"]) == ("Cinder Fen", "sample_area.yaml")
    assert record["sun"]["mount_height_m"] == MOUNT_M
    assert "120 W/m²" in record["sun"]["rule"]
    assert record["grid"]["crs"] == "EPSG:32616"
    assert record["grid"]["cell_m"] == CELL_M


def test_the_record_says_where_each_criterion_comes_from(record):
    criteria = record["criteria"]
    assert sum(criterion["share"] for criterion in criteria) == pytest.approx(1)
    assert [round(c["share"] * 100) for c in criteria] == [35, 25, 15, 15, 10]
    for criterion in criteria:
        assert len(criterion["basis"]) > 20
        assert criterion["evidence"] in ("peer-reviewed", "common practice")


def test_the_record_tells_what_was_seen_assumed_and_warned_of(record, sites, folder):
    roles = [report["role"] for report in record["inputs"]]
    assert roles == ["elevation", "land cover", "canopy height", "leaf_height_m", "streams",
                     "streams", "buildings", "boundary", "keep outs", "existing boxes",
                     "building_distance_m", "pond_share", "boxes_per_km2", "weather"]  # fmt: skip
    assert [site["rank"] for site in record["sites"]] == sites["rank"].tolist()
    share = record["unknown_edge"]["share_of_open_land"]
    assert 0 < share < 1
    assert any(f"{share:.0%} of the open land" in warning for warning in record["warnings"])
    for name in ("python", "suitability", "numpy", "numba", "rasterio", "gdal", "proj", "pvlib"):
        assert re.match(r"\d+\.\d+", record["versions"][name])
    stages = {"looking ahead", "measuring the land", "judging the land", "writing results"}
    assert stages <= set(record["seconds"])
    assert record["tiles"] == 1
    written = datetime.fromisoformat(record["written_utc"])
    assert abs((datetime.now(UTC) - written).total_seconds()) < 3600
    bits = raster(folder, "excluded.tif")
    for number, (key, shares) in enumerate(record["excluded_share"].items()):
        assert shares["in_all"] == pytest.approx(np.mean((bits >> number) & 1)), key
        assert shares["alone"] == pytest.approx(np.mean(bits == 1 << number)), key
    assert sum(shares["alone"] > 0 for shares in record["excluded_share"].values()) > 3


def test_a_second_run_gives_the_same_bytes(folder, record, tmp_path):
    succeeded("screen", CONFIG, "--out", tmp_path / "again")
    again = json.loads((tmp_path / "again" / "run.json").read_text("utf-8"))
    changing = {"written_utc", "seconds", "sha256_of_the_rest"}
    assert {k: v for k, v in record.items() if k not in changing} == {
        k: v for k, v in again.items() if k not in changing
    }
    same_day = {date.fromisoformat(r["written_utc"][:10]) for r in (record, again)}
    dated = {"figure.png", "map.html"} if len(same_day) > 1 else set()  # these bear the day
    for name in FILES - {"run.json"} - dated:
        assert (tmp_path / "again" / name).read_bytes() == (folder / name).read_bytes(), name


# --- explain, check, schema, help -------------------------------------------------------------


def test_explain_tells_the_numbers_of_a_site(folder, sites, record):
    site = sites.iloc[0]
    printed = succeeded("explain", folder, "--site", 1)
    assert f"latitude {site['lat_deg']:.6f}, longitude {site['lon_deg']:.6f}" in printed
    assert f"score {site['score']:.3f}" in printed
    for criterion in record["criteria"]:
        layer = criterion["layer"]
        stem, _, unit = layer.rpartition("_")
        (line,) = [line for line in printed.splitlines() if line.startswith(f"│ {layer} ")]
        cells = [cell.strip() for cell in line.strip("│").split("│")]
        assert float(cells[1].removesuffix(unit)) == pytest.approx(site[layer], abs=0.0101)
        assert float(cells[2]) == pytest.approx(site[f"{stem}_value"], abs=0.0051)
        assert cells[3] == f"{criterion['share']:.0%}"
        assert float(cells[4]) == pytest.approx(site[f"{stem}_contribution"], abs=0.00056)
        assert cells[6] == criterion["evidence"]
        assert f"{layer}: {criterion['basis']}" in printed
    assert f"limiting: {site['limiting']}" in printed


def test_explain_at_a_sites_coordinates_says_the_same(folder, sites):
    for site in sites.iloc[[0, 6]].itertuples():
        by_place = succeeded("explain", folder, "--at", site.lon_deg, site.lat_deg)
        # Of a listed site it says as well what to put up.
        by_rank = succeeded("explain", folder, "--site", site.rank)
        assert by_rank.startswith(by_place.rstrip())


@pytest.mark.parametrize(
    ("bit", "words"),
    [
        (2, "outside the boundary"),
        (4 | 8, "under canopy taller than the mount; too close to canopy or a building"),
        (8, "too close to canopy or a building"),
        (32, "on water or its bank"),
        (128, "in a keep-out area"),
        (256, "too close to a box already up"),
        (1024, "in a hollow where cold air gathers"),
        (
            2 | 16 | 8 | 512,
            "outside the boundary; too close to canopy or a building; on a building; too close to "
            "a house",
        ),
    ],
)
def test_explain_says_why_a_place_is_out(folder, grid, bit, words):
    rows, cols = np.nonzero(raster(folder, "excluded.tif") == bit)
    middle = rows.size // 2
    lon, lat = grid.lonlat(*grid.xy(rows[middle], cols[middle]))
    printed = succeeded("explain", folder, "--at", float(lon), float(lat))
    assert f"no candidate: {words}\n" in printed
    assert "\nscore " not in printed
    assert "limiting" not in printed
    assert "nan" not in printed
    assert ("without that it would score" in printed) == (bit in (2, 8, 32, 128, 256, 1024))


def test_explain_needs_a_place_that_the_run_knows(folder):
    for place, problem in (
        (("--at", -84.3, 40.5), "lies outside the land of this run"),
        (("--at", 40.2, -84.3), "lies outside the land of this run"),
        (("--at", 0, 0), "lies outside the land of this run"),
        (("--at", 200, 95), "is no place on Earth"),
        (("--at", "nan", "nan"), "is no place on Earth"),
        (("--site", 13), "lists no site 13"),
        (("--site", 0), "lists no site 0"),
    ):
        what, where, fix = parts(refused("explain", folder, *place))
        assert problem in what
        assert where == str(folder)
        assert "1 to 12" in fix if "--site" in place else "longitude" in fix


def test_check_tells_of_every_input_and_writes_nothing(tmp_path):
    def seen():
        kept = {ROOT / "configs", ROOT / "sample_area", ROOT / "runs", tmp_path}
        return {path: path.stat().st_mtime_ns for top in kept for path in top.rglob("*")}

    before = seen()
    assert len(before) > 10
    printed = succeeded("check", CONFIG, cwd=tmp_path)
    assert seen() == before
    for path in inputs_of_sample():
        assert str(path) in printed
    for text in ("cells of 2 m", "1,100 rows × 1,200 columns", "legend NLCD", "EPSG:32616",
                 "heights in m, stated in the run file", "3 kept", "above 120 W/m²",
                 "h a day on open level land"):  # fmt: skip
        assert text in printed


def test_the_schema_accepts_the_example_and_refuses_a_slip():
    schema = json.loads(succeeded("schema"))
    validator = jsonschema.validators.validator_for(schema)
    assert validator.META_SCHEMA["$schema"].endswith("2020-12/schema")
    validator.check_schema(schema)
    prices = ROOT / "configs" / "budget.yaml"  # no run file
    for path in sorted({*(ROOT / "configs").glob("*.yaml")} - {prices}):
        content = YAML(typ="safe").load(path.read_text("utf-8"))
        assert list(validator(schema).iter_errors(content)) == []
        content["inputs"]["elevaton"] = content["inputs"].pop("elevation")
        assert len(list(validator(schema).iter_errors(content))) > 0


@pytest.mark.parametrize("arguments", [["--help"], ["screen", "--help"], ["explain", "--help"]])
def test_help_is_quick_because_it_imports_nothing_heavy(arguments):
    code = (
        "import sys; from suitability.cli import main; sys.argv = ['suitability', *sys.argv[1:]]\n"
        "try: main()\n"
        "finally: sys.stderr.write(' '.join(sys.modules))"
    )
    ended = subprocess.run(
        [sys.executable, "-c", code, *arguments], capture_output=True, text=True, check=True
    )  # fmt: skip
    assert "Usage: suitability" in ended.stdout
    imported = set(ended.stderr.split())
    assert "typer" in imported
    heavy = {"rasterio", "numba", "pandas", "geopandas", "matplotlib", "pvlib", "scipy", "numpy"}
    assert imported & heavy == set()


def test_the_version_told_is_that_of_the_project():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    assert succeeded("--version") == f"suitability {project['version']}\n"
