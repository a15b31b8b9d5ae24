"""A run keeps within the memory that it is given, whatever the size of the land."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import geopandas as gpd
import numpy as np
import pyproj
import pytest
import rasterio
import small_land
from shapely.geometry import LineString

from suitability.grid import Grid
from suitability.inputs.burn import burn
from suitability.outputs.rasters import CACHE_BYTES

LIMIT_GB = 1.1

# The peak is the system's own count for the process that does it all; `ru_maxrss` would count what
# that process was started from.
MEASURED = """
import json, sys
from pathlib import Path
from suitability.config import load_run
from suitability.run import screen
found = screen(load_run(sys.argv[1]), sys.argv[2], memory=float(sys.argv[3]))
peak = int(Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0]) * 1024
print(json.dumps({"tiles": len(found.plan.tiles), "peak": peak}))
"""


def write_land(folder: Path, side: int) -> Path:
    """Write a square of rolling land, a cell a metre, with a wood and a brook."""
    folder.mkdir()
    rows, cols = np.indices((side, side), dtype=np.float32)
    ground = 250 + 10 * np.sin(rows / 90) + 8 * np.cos(cols / 130)
    canopy = np.where(np.sin(rows / 40) + np.cos(cols / 55) > 1, np.float32(18), np.float32(0))
    cover = np.where(canopy > 5, small_land.WOOD, small_land.PASTURE).astype(np.uint8)
    turn = small_land.corner(cell=1.0)
    for name, values in (("dem", ground), ("canopy", canopy), ("cover", cover)):
        small_land.write_raster(folder / f"{name}.tif", values, transform=turn, tiled=True)
    west, north = small_land.WEST, small_land.NORTH
    brook = [(west + c, north - side / 2 - 100 * np.sin(c / 200)) for c in range(0, side, 50)]
    small_land.write_lines(folder / "streams.gpkg", [brook])
    text = small_land.RUN.replace("inputs:", "inputs:\n  canopy_height: canopy.tif")
    return small_land.write_config(folder, text)


@pytest.mark.parametrize("side", [800, 3000])
def test_the_peak_stays_below_the_limit(tmp_path: Path, side: int) -> None:
    run_file = write_land(tmp_path / "land", side)
    words = [sys.executable, "-c", MEASURED, run_file, tmp_path / "out", str(LIMIT_GB * 1e9)]
    ended = subprocess.run(words, capture_output=True, encoding="utf-8", check=False)
    assert ended.returncode == 0, ended.stderr
    told = json.loads(ended.stdout)
    assert told["peak"] < LIMIT_GB * 1e9
    assert (told["tiles"] > 1) == (side > 1000)


def test_the_cache_that_runs_set_leaves_burning_alone() -> None:
    # Of 128 bytes, as 128 was once taken for, GDAL's rasterizer wrote beyond its memory.
    west, north = small_land.WEST, small_land.NORTH
    line = LineString([(west, north), (west + 1500, north - 1400)])
    features = gpd.GeoDataFrame(geometry=[line], crs=small_land.CRS)
    grid = Grid(pyproj.CRS.from_user_input(small_land.CRS), west, north, 1, 1500, 1500)
    alone = burn(features, grid, all_touched=True)
    assert alone.any()
    with rasterio.Env(GDAL_CACHEMAX=CACHE_BYTES):
        assert rasterio.env.getenv()["GDAL_CACHEMAX"] >= 1_000_000
        np.testing.assert_array_equal(burn(features, grid, all_touched=True), alone)
