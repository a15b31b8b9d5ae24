"""Layers that a run file names, and rules on them: the real command on real files."""

import csv
import json

import geopandas as gpd
import numpy as np
import pytest
import rasterio
import small_land
from command import parts, refused, succeeded
from shapely import Point
from small_land import CELL_M, COLS, NORTH, ROWS, WEST

from suitability import ahead
from suitability.config import load_run
from suitability.outputs.rasters import read_raster
from suitability.run import screen

LAYERS = """\
layers:
  road_distance_m: {distance: {to: roads.gpkg, reach: 120 m}}
  noise_db: {value: noise.tif}
  zone_index: {value: {path: zones.tif, resampling: nearest}}
  wood_share: {cover: {of: [Deciduous forest], within: 60 m}}
  track_share: {presence: {of: roads.gpkg}}
  roosts_per_km2: {density: {of: roosts.gpkg, within: 150 m}}
  aspect_deg: {aspect: {level_below: 0.5 deg}}
  rise_m: {position: {within: 60 m, beyond: 15 m}}
"""
NAMES = ["road_distance_m", "noise_db", "zone_index", "wood_share", "track_share",
         "roosts_per_km2", "aspect_deg", "rise_m"]  # fmt: skip
EAST, SOUTH = WEST + COLS * CELL_M, NORTH - ROWS * CELL_M
ROOSTS = [(WEST + 103, NORTH - 77), (WEST + 118, NORTH - 81), (EAST + 40, NORTH - 150)]


def write_land(folder, more=LAYERS):
    run_file = small_land.write_land(folder, small_land.RUN + more)
    # The road runs 33 m east of the grid, where it still counts.
    small_land.write_lines(folder / "roads.gpkg", [[(EAST + 33, NORTH + 50), (EAST + 33, SOUTH)]])
    gpd.GeoDataFrame(geometry=[Point(p) for p in ROOSTS], crs=small_land.CRS).to_file(
        folder / "roosts.gpkg"
    )
    # A raster of other cells in another CRS, and one of zones that must not be mixed.
    lon0, lat0, step = -87.001, 40.202, 0.0004
    ramp = np.add.outer(np.arange(40.0), np.arange(60.0)).astype(np.float32)
    place = rasterio.Affine(step, 0, lon0, 0, -step, lat0)
    small_land.write_raster(folder / "noise.tif", ramp, crs="EPSG:4326", transform=place)
    small_land.write_raster(
        folder / "zones.tif", np.where(ramp < 12, 3, 9).astype(np.uint8), crs="EPSG:4326",
        transform=place,
    )  # fmt: skip
    return run_file


def screened(run_file, folder, side=None):
    with pytest.MonkeyPatch.context() as patch:
        if side is not None:
            patch.setattr(ahead, "tile_side", lambda *_: side)
        found = screen(load_run(run_file), folder)
    assert (len(found.plan.tiles) > 1) == (side is not None)
    return folder


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    top = tmp_path_factory.mktemp("own")
    run_file = write_land(top / "land")
    return run_file, screened(run_file, top / "run")


def layer(folder, name):
    return read_raster(folder / "layers" / f"{name}.tif")[0]


def test_tiles_measure_what_the_whole_does(whole, tmp_path):
    run_file, folder = whole
    tiled = screened(run_file, tmp_path / "tiled", 32)
    for name in [*NAMES, "foraging_share"]:
        np.testing.assert_array_equal(layer(tiled, name), layer(folder, name), err_msg=name)


def test_features_beyond_the_grid_count_as_far_as_the_layer_reaches(whole):
    _, folder = whole
    x = WEST + (np.arange(COLS) + 0.5) * CELL_M
    expected = np.minimum(EAST + 33 - x, 120)
    found = layer(folder, "road_distance_m")
    np.testing.assert_allclose(found, np.broadcast_to(expected, found.shape), atol=CELL_M / 2)
    assert not layer(folder, "track_share").any()


def test_points_are_counted_around_each_cell(whole):
    _, folder = whole
    grid = read_raster(folder / "candidates.tif")[1]
    cells = [(int((NORTH - y) // CELL_M), int((x - WEST) // CELL_M)) for x, y in ROOSTS]
    rows, cols = np.indices(grid.shape)
    near = sum((np.hypot(rows - r, cols - c) * CELL_M <= 150).astype(int) for r, c in cells)
    found = layer(folder, "roosts_per_km2")
    assert near.max() == 2
    assert near[:, -1].max() == 1  # the roost beyond the grid
    np.testing.assert_allclose(found * np.pi * 0.15**2, near, rtol=0.01)


def test_shares_count_cells_one_by_one(whole):
    _, folder = whole
    wood = small_land.cover() == small_land.WOOD
    found = layer(folder, "wood_share")
    rows, cols = np.indices(wood.shape)
    for row, col in ((0, 0), (18, 33), (30, 40), (41, 52), (59, 79)):
        near = np.hypot(rows - row, cols - col) * CELL_M <= 60
        assert found[row, col] == pytest.approx(wood[near].mean())


def test_rasters_are_mixed_or_not_as_asked(whole):
    _, folder = whole
    noise, zones = layer(folder, "noise_db"), layer(folder, "zone_index")
    assert set(np.unique(zones[np.isfinite(zones)])) == {3, 9}
    assert len(np.unique(noise[np.isfinite(noise)])) > 100
    assert (np.diff(noise, axis=1) > 0).mean() > 0.99  # the ramp rises eastwards


def test_sites_and_explain_tell_of_them(whole):
    _, folder = whole
    with (folder / "sites.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert set(NAMES) <= set(rows[0])
    record = json.loads((folder / "run.json").read_text("utf-8"))
    assert {f"layers/{name}.tif" for name in NAMES} <= set(record["files"])
    with rasterio.open(folder / "layers" / "noise_db.tif") as source:
        assert source.units == ("dB",)


RULES = (
    LAYERS
    + """\
exclusions:
  rules:
    - {layer: road_distance_m, below: 60 m, because: too close to the road}
    - {layer: zone_index, above: 5}
"""
)


def test_rules_rule_land_out_and_say_so(tmp_path):
    run_file = write_land(tmp_path / "land", RULES)
    folder = tmp_path / "run"
    printed = succeeded("screen", run_file, "--out", folder)
    assert "too close to the road" in printed
    bits = read_raster(folder / "excluded.tif")[0]
    road, zones = layer(folder, "road_distance_m"), layer(folder, "zone_index")
    np.testing.assert_array_equal((bits & 512) > 0, road < 60)
    np.testing.assert_array_equal((bits & 1024) > 0, zones > 5)
    with (folder / "exclusions.csv").open(encoding="utf-8", newline="") as file:
        rows = {row["reason"]: row for row in csv.DictReader(file)}
    assert float(rows["road_distance_m_below_60"]["area_ha"]) == pytest.approx(
        (road < 60).sum() * 0.0025
    )
    both = ((road < 60) & (zones > 5)).sum() * 0.0025
    assert float(rows["zone_index_above_5"]["and_road_distance_m_below_60_ha"]) == (
        pytest.approx(both)
    )
    grid = read_raster(folder / "excluded.tif")[1]
    row, col = np.argwhere((bits & 512) > 0)[0]
    lon, lat = grid.lonlat(*grid.xy(row, col))
    assert "too close to the road" in succeeded("explain", folder, "--at", float(lon), float(lat))


def test_more_rules_than_sixteen_bits_hold(tmp_path):
    rules = "".join(f"    - {{layer: slope_deg, above: {50 + n} deg}}\n" for n in range(8))
    run_file = write_land(tmp_path / "land", f"exclusions:\n  rules:\n{rules}")
    screened(run_file, tmp_path / "run")
    with rasterio.open(tmp_path / "run" / "excluded.tif") as source:
        assert source.dtypes == ("uint32",)
    with rasterio.open(tmp_path / "run" / "layers" / "obstacles.tif") as source:
        assert source.dtypes == ("uint16",)


# --- what cannot be ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("more", "line", "what", "fix"),
    [
        ("layers:\n  slope_deg: {aspect: {}}\n", 9, "every run has", "another name"),
        ("layers:\n  road_km: {distance: {to: roads.gpkg}}\n", 9, "does not end in _m", "road_m"),
        ("layers:\n  road_m: {}\n", 9, "nothing is measured", "give one of"),
        (
            "layers:\n  wood_share: {cover: {of: [jungle], within: 60 m}}\n",
            9, "no group, class or code 'jungle'", "groups are",
        ),
        ("layers:\n  roosts_per_km2: {density: {of: roads.gpkg, within: 60 m}}\n", 9,
         "must be points", "layer"),
        ("layers:\n  noise_db: {value: absent.tif}\n", 9, "no such file", "path"),
        ("layers:\n  a_m: {presence: {of: roads.gpkg}}\n", 9, "does not end in _share", "a_share"),
        ("exclusions: {rules: [{layer: moon_m, above: 3}]}\n", 8, "no layer 'moon_m'", "choose"),
        ("exclusions: {rules: [{layer: slope_deg, above: 3 m}]}\n", 8, "is not an angle", "deg"),
        ("exclusions: {rules: [{layer: slope_deg}]}\n", 8, "no bound", "give one of"),
        (
            LAYERS + "criteria: [{layer: aspect_deg, weight: 1, value: {falling: [90, 300]}}]\n",
            17, "north has two values, 1 at 0 deg and 0 at 360 deg", "does not wrap",
        ),
    ],
)  # fmt: skip
def test_mistakes_are_told_with_their_line(tmp_path, more, line, what, fix):
    run_file = write_land(tmp_path / "land", more)
    told, where, remedy = parts(refused("check", run_file))
    assert what in told
    assert f"line {line}" in where
    assert fix in remedy


def test_an_empty_layer_of_features_warns(tmp_path):
    more = "layers:\n  road_distance_m: {distance: {to: {path: roads.gpkg, where: 'fid > 9'}}}\n"
    run_file = write_land(tmp_path / "land", more)
    printed = " ".join(succeeded("check", run_file).split())
    assert "road_distance_m has no feature within reach: it is 500 m everywhere" in printed
