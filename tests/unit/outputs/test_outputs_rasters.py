import numpy as np
import pyproj
import pytest
import rasterio

from suitability.errors import InputError
from suitability.grid import Grid
from suitability.outputs.rasters import read_raster, write_exclusions, write_raster

GRID = Grid(pyproj.CRS.from_epsg(32617), 500_000.0, 4_000_000.0, 2.0, 700, 1100)
REASONS = {0: "outside the boundary", 3: "under canopy"}


def hours():
    rows, cols = np.indices(GRID.shape, dtype=np.float32)
    values = rows / 100 + cols / 1000
    values[:20, 5:90] = np.nan
    return values


def write(path, values, grid=GRID):
    write_raster(
        path,
        values,
        grid,
        name="direct_sun_h",
        unit="h",
        description="Sun.",
        tags={"TURBIDITY": "3"},
    )


def test_values_grid_and_words_come_back(tmp_path):
    write(tmp_path / "sun.tif", hours())
    values, grid, tags = read_raster(tmp_path / "sun.tif")
    np.testing.assert_array_equal(values, hours())
    assert values.dtype == np.float32
    assert grid == GRID
    assert grid.label == "EPSG:32617"
    assert (tags["name"], tags["unit"], tags["TURBIDITY"]) == ("direct_sun_h", "h", "3")
    assert [path.name for path in tmp_path.iterdir()] == ["sun.tif"]


def test_a_crs_without_a_code_comes_back_too(tmp_path):
    crs = pyproj.CRS.from_proj4("+proj=laea +lat_0=40 +lon_0=-84 +datum=WGS84 +units=m")
    grid = Grid(crs, -1000.5, 2000.25, 0.5, 40, 30)
    write(tmp_path / "a.tif", np.ones(grid.shape, np.float32), grid)
    _, back, _ = read_raster(tmp_path / "a.tif")
    assert (back.west, back.north, back.cell_m, back.shape) == (-1000.5, 2000.25, 0.5, (40, 30))
    np.testing.assert_allclose(back.lonlat(10, 20), grid.lonlat(10, 20), atol=1e-10)


def test_nodata_is_nan_for_values_and_nothing_for_bits(tmp_path):
    write(tmp_path / "sun.tif", hours())
    write_exclusions(tmp_path / "out.tif", np.zeros(GRID.shape, np.uint16), GRID, REASONS)
    with rasterio.open(tmp_path / "sun.tif") as sun, rasterio.open(tmp_path / "out.tif") as out:
        assert np.isnan(sun.nodata)
        assert out.nodata is None


def test_overviews_are_means_of_values_and_the_commonest_of_bits(tmp_path):
    values = np.tile(np.array([[1, 2], [3, 6]], np.float32), (350, 550))
    bits = np.tile(np.array([[8, 8], [8, 1]], np.uint16), (350, 550))
    write(tmp_path / "sun.tif", values)
    write_exclusions(tmp_path / "out.tif", bits, GRID, REASONS)
    for name, expected in (("sun.tif", 3.0), ("out.tif", 8)):
        with rasterio.open(tmp_path / name, overview_level=0) as source:
            np.testing.assert_array_equal(np.unique(source.read(1)), [expected])


def test_the_legend_of_bits_stands_in_the_file(tmp_path):
    bits = np.full(GRID.shape, 9, np.uint16)
    write_exclusions(tmp_path / "out.tif", bits, GRID, REASONS)
    values, _, tags = read_raster(tmp_path / "out.tif")
    np.testing.assert_array_equal(values, bits)
    assert tags["BIT_0"] == "1: outside the boundary"
    assert tags["BIT_3"] == "8: under canopy"


def test_a_bit_without_a_reason_is_refused(tmp_path):
    with pytest.raises(ValueError, match="0x0004"):
        write_exclusions(tmp_path / "o.tif", np.full(GRID.shape, 5, np.uint16), GRID, REASONS)


@pytest.mark.parametrize("values", [np.zeros((3, 3), np.float32), np.zeros(GRID.shape)])
def test_another_shape_or_type_is_refused(tmp_path, values):
    with pytest.raises(ValueError, match="expected float32"):
        write(tmp_path / "a.tif", values)
    assert not any(tmp_path.iterdir())


def test_the_same_values_give_the_same_bytes(tmp_path):
    noise = np.random.default_rng(3).random(GRID.shape, dtype=np.float32)
    for name in ("a", "b"):
        write(tmp_path / name / "sun.tif", noise)
    assert (tmp_path / "a/sun.tif").read_bytes() == (tmp_path / "b/sun.tif").read_bytes()


def test_what_is_no_raster_is_told(tmp_path):
    (tmp_path / "a.tif").write_text("no raster")
    with pytest.raises(InputError, match="cannot be read"):
        read_raster(tmp_path / "a.tif")
