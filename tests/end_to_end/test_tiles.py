"""Land worked in tiles: what is found does not depend on how it is cut."""

from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
import rasterio
import small_land
from affine import Affine
from command import results_in
from shapely import LineString

from suitability import ahead
from suitability.config import load_run
from suitability.outputs.rasters import read_raster
from suitability.outputs.record import read_record
from suitability.run import screen

ROOT = Path(__file__).parents[2]


def screened(run_file, folder, side=None):
    """Screen in tiles of a side, or in one; return the folder."""
    with pytest.MonkeyPatch.context() as patch:
        if side is not None:
            patch.setattr(ahead, "tile_side", lambda *_: side)
        found = screen(load_run(run_file), folder)
    rows, cols = found.plan.grid.shape
    tiles = 1 if side is None else -(-rows // side) * -(-cols // side)
    assert found.facts["tiles"] == len(found.plan.tiles) == tiles
    return folder


def raster(folder, name):
    return read_raster(folder / name)[0]


# --- land that every tile sees whole ----------------------------------------------------------


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    """Screen the small land in one tile; return its run file and the folder of the run."""
    top = tmp_path_factory.mktemp("small")
    run_file = small_land.write_land(top / "land")
    return run_file, screened(run_file, top / "whole")


@pytest.mark.parametrize("side", [16, 32, 64])
def test_tiles_that_see_all_the_land_give_the_bytes_of_one(small, tmp_path, side):
    run_file, whole = small
    tiled = screened(run_file, tmp_path / "tiled", side)
    assert results_in(tiled) == results_in(whole)
    for name in results_in(whole) - {"run.json"}:
        assert (tiled / name).read_bytes() == (whole / name).read_bytes(), name
    one, many = read_record(whole), read_record(tiled)
    for changing in ("written_utc", "seconds", "tiles", "inputs", "warnings"):
        first, second = one.pop(changing), many.pop(changing)
        if changing == "inputs":
            # What is told of a raster's own land is told of one tile, as alike in others.
            assert [r["role"] for r in first] == [r["role"] for r in second]
            for key in ("path", "outside_share", "assumed"):
                assert [r[key] for r in first] == [r[key] for r in second]
        if changing == "warnings":
            assert len(first) == len(second)
    assert one == many


# --- the sample area --------------------------------------------------------------------------


@pytest.fixture(scope="module")
def sample(tmp_path_factory):
    """Screen the sample area in one tile, with fewer positions of the sun than it is worth."""
    top = tmp_path_factory.mktemp("sample")
    text = (ROOT / "configs" / "sample_area.yaml").read_text("utf-8")
    for old, new in (
        ("../sample_area", str(ROOT / "sample_area")),
        ("step: 15 min", "step: 30 min"),
        ("every_days: 6", "every_days: 15"),
    ):
        assert old in text
        text = text.replace(old, new)
    run_file = small_land.write_config(top, text)
    return run_file, screened(run_file, top / "whole")


@pytest.fixture(scope="module", params=[256, 512])
def tiled(sample, request, tmp_path_factory):
    run_file, whole = sample
    folder = tmp_path_factory.mktemp(f"sample_{request.param}") / "tiled"
    return whole, screened(run_file, folder, request.param)


def test_the_sun_of_tiles_is_that_of_the_whole(tiled):
    whole, parts = tiled
    names = sorted(name for name in results_in(whole) if name.endswith("_sun_h.tif"))
    assert len(names) == 10
    for name in names:
        one, many = raster(whole, name), raster(parts, name)
        np.testing.assert_array_equal(np.isnan(many), np.isnan(one))
        apart = np.abs(many - one)[np.isfinite(one)]
        assert np.quantile(apart, 0.999) <= 0.05, name
        assert apart.mean() < 0.002, name


def test_other_layers_of_tiles_are_those_of_the_whole(tiled):
    whole, parts = tiled
    names = {name for name in results_in(whole) if name.startswith("layers/")}
    names = {name for name in names if not name.endswith("_sun_h.tif")}
    assert names == {
        f"layers/{name}.tif"
        for name in ("water_distance_m", "canopy_edge_m", "clearance_m", "slope_deg",
                     "ground_elevation_m", "obstacles", "foraging_share", "building_distance_m",
                     "leaf_height_m", "meadow_share", "pond_share", "boxes_per_km2", "aspect_deg",
                     "rise_m")
    }  # fmt: skip
    for name in names:
        one, many = raster(whole, name), raster(parts, name)
        # Not half a cell apart, as they might be, but not at all.
        np.testing.assert_array_equal(many, one, err_msg=name)


def test_tiles_choose_the_sites_of_the_whole(tiled):
    whole, parts = tiled
    assert (parts / "sites.csv").read_bytes() == (whole / "sites.csv").read_bytes()
    np.testing.assert_array_equal(raster(parts, "excluded.tif"), raster(whole, "excluded.tif"))
    shares = [read_record(folder)["excluded_share"] for folder in (whole, parts)]
    assert shares[0] == shares[1]


# --- land with a hole that is wider than what a tile sees ---------------------------------------

CELL_M, SIDE, HOLE = 5.0, 640, 470  # cells along the land, and along the hole in its north-west


@pytest.fixture(scope="module")
def holed(tmp_path_factory):
    """Write land whose north-west no input knows."""
    top = tmp_path_factory.mktemp("holed")
    row, col = np.mgrid[:SIDE, :SIDE]
    wood = (np.sin(row / 17) * np.sin(col / 23) > 0.6).astype(np.float32)
    rasters = {
        "dem": (300 + 15 * np.sin(row / 90) + 8 * np.cos(col / 70)).astype(np.float32),
        "canopy": 15 * wood,
        "cover": np.where(wood > 0, 41, np.where(np.abs(col - 560) < 2, 11, 71)).astype(np.uint8),
    }
    for name, values in rasters.items():
        nodata = 0 if name == "cover" else -9999
        values[:HOLE, :HOLE] = nodata
        with rasterio.open(
            top / f"{name}.tif", "w", driver="GTiff", width=SIDE, height=SIDE, count=1,
            dtype=values.dtype, crs="EPSG:32616", nodata=nodata,
            transform=Affine(CELL_M, 0, 500_000, 0, -CELL_M, 4_500_000),
        ) as target:  # fmt: skip
            target.write(values, 1)
    brook = LineString([(502_500, 4_499_900), (502_700, 4_497_000)])
    gpd.GeoDataFrame(geometry=[brook], crs="EPSG:32616").to_file(top / "streams.gpkg")
    run_file = top / "run.yaml"
    run_file.write_text(
        "inputs: {elevation: {path: dem.tif, unit: m}, land_cover: cover.tif, "
        "canopy_height: canopy.tif, streams: streams.gpkg}\n"
        "season: {step: 60 min, every_days: 31}\n"
    )
    return run_file


def test_a_tile_without_any_data_is_no_mistake(holed, tmp_path):
    whole = screened(holed, tmp_path / "whole")
    parts = screened(holed, tmp_path / "tiled", 128)
    assert (parts / "sites.csv").read_bytes() == (whole / "sites.csv").read_bytes()
    for name in ("excluded.tif", "layers/water_distance_m.tif", "layers/canopy_edge_m.tif"):
        np.testing.assert_array_equal(raster(parts, name), raster(whole, name), err_msg=name)
