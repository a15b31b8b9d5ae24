import numpy as np
import pyproj
import pytest
import rasterio
from whole_rasters import parts_of, write_exclusions, write_raster

from suitability.decide import REASONS as ALL_REASONS
from suitability.decide import reason_bits
from suitability.errors import InputError
from suitability.grid import Grid, Window
from suitability.outputs.rasters import (
    assemble_raster,
    read_cells,
    read_grid,
    read_raster,
    read_small,
    read_tags,
    read_window,
    write_part,
)

GRID = Grid(pyproj.CRS.from_epsg(32617), 500_000.0, 4_000_000.0, 2.0, 700, 1100)
REASONS = {0: "outside the boundary", 3: "under canopy"}


def hours():
    rows, cols = np.indices(GRID.shape, dtype=np.float32)
    values = rows / 100 + cols / 1000
    values[:20, 5:90] = np.nan
    return values


def write(path, values, grid=GRID, **more):
    write_raster(
        path,
        values,
        grid,
        name="direct_sun_h",
        unit="h",
        description="Sun.",
        tags={"TURBIDITY": "3"},
        **more,
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


def test_every_bit_that_is_given_has_its_reason_in_the_file(tmp_path):
    every = {reason.key: np.ones(GRID.shape, bool) for reason in ALL_REASONS}
    bits = reason_bits(every, GRID.shape)
    write_exclusions(tmp_path / "o.tif", bits, GRID, {r.number: r.words for r in ALL_REASONS})
    tags = read_tags(tmp_path / "o.tif")
    told = sum(int(tags[key].split(":")[0]) for key in tags if key.startswith("BIT_"))
    assert told == bits[0, 0]


@pytest.mark.parametrize("kind", [np.float64, np.int16, bool])
def test_a_part_of_another_type_is_refused(tmp_path, kind):
    with pytest.raises(ValueError, match="float32, uint16 or uint32"):
        write_part(tmp_path / "a.tif", np.zeros((3, 3), kind))
    assert not any(tmp_path.iterdir())


def test_parts_that_leave_a_gap_are_refused(tmp_path):
    tiles = GRID.tiles(512)
    parts = parts_of(tmp_path / "parts", hours(), GRID, tiles[:-1])
    with pytest.raises(ValueError, match="do not cover"):
        assemble_raster(tmp_path / "a.tif", parts, GRID, name="n", unit="h", description="d")
    assert not (tmp_path / "a.tif").exists()


def test_a_part_that_is_gone_is_an_error_and_no_hole(tmp_path):
    parts = parts_of(tmp_path / "parts", hours(), GRID, GRID.tiles(512))
    parts[Window(0, 512, 512, 512)].unlink()
    with pytest.raises(Exception, match=r"0_512\.tif"):
        assemble_raster(tmp_path / "a.tif", parts, GRID, name="n", unit="h", description="d")
    assert not (tmp_path / "a.tif").exists()


@pytest.mark.parametrize("side", [64, 100, 256, 333, 512, 1024])
def test_the_tiling_decides_no_byte(tmp_path, side):
    noise = hours() + np.random.default_rng(3).random(GRID.shape, dtype=np.float32)
    bits = np.random.default_rng(4).choice(np.array([0, 1, 8, 9], np.uint16), GRID.shape)
    write(tmp_path / "whole.tif", noise)
    write(tmp_path / "tiled.tif", noise, tiles=GRID.tiles(side))
    assert (tmp_path / "tiled.tif").read_bytes() == (tmp_path / "whole.tif").read_bytes()
    write_exclusions(tmp_path / "whole_bits.tif", bits, GRID, REASONS)
    write_exclusions(tmp_path / "tiled_bits.tif", bits, GRID, REASONS, tiles=GRID.tiles(side))
    assert (tmp_path / "tiled_bits.tif").read_bytes() == (tmp_path / "whole_bits.tif").read_bytes()


def test_the_order_of_parts_decides_no_byte(tmp_path):
    parts = parts_of(tmp_path / "parts", hours(), GRID, GRID.tiles(300))
    for name, order in (("a", list(parts)), ("b", list(parts)[::-1])):
        chosen = {window: parts[window] for window in order}
        words = {"name": "n", "unit": "h", "description": "d"}
        assemble_raster(tmp_path / f"{name}.tif", chosen, GRID, **words)
    assert (tmp_path / "a.tif").read_bytes() == (tmp_path / "b.tif").read_bytes()


def test_a_window_and_single_cells_are_those_of_the_whole(tmp_path):
    write(tmp_path / "sun.tif", hours())
    window = Window(10, 80, 600, 700)
    np.testing.assert_array_equal(read_window(tmp_path / "sun.tif", window), hours()[window.slices])
    assert read_grid(tmp_path / "sun.tif") == GRID
    rows, cols = np.array([699, 3, 0, 520, 699]), np.array([1099, 7, 0, 3, 1099])
    cells = read_cells(tmp_path / "sun.tif", rows, cols)
    np.testing.assert_array_equal(cells, hours()[rows, cols].astype(np.float64))
    assert np.isnan(cells[1])
    none = np.array([], np.int64)
    assert read_cells(tmp_path / "sun.tif", none, none).size == 0


def test_a_raster_in_small_is_of_means_and_of_the_commonest_bits(tmp_path):
    values = np.tile(np.array([[1, 2], [3, 6]], np.float32), (350, 550))
    bits = np.tile(np.array([[8, 8], [8, 1]], np.uint16), (350, 550))
    write(tmp_path / "sun.tif", values)
    write_exclusions(tmp_path / "out.tif", bits, GRID, REASONS)
    np.testing.assert_array_equal(read_small(tmp_path / "sun.tif", 1), values)
    for step in (2, 4):
        shape = (700 // step, 1100 // step)
        small = read_small(tmp_path / "sun.tif", step)
        np.testing.assert_allclose(small, np.full(shape, 3.0), rtol=1e-6)
        np.testing.assert_array_equal(read_small(tmp_path / "out.tif", step), np.full(shape, 8))
    assert read_small(tmp_path / "sun.tif", 3).shape == (234, 367)


def test_the_same_values_give_the_same_bytes(tmp_path):
    noise = np.random.default_rng(3).random(GRID.shape, dtype=np.float32)
    for name in ("a", "b"):
        write(tmp_path / name / "sun.tif", noise)
    assert (tmp_path / "a/sun.tif").read_bytes() == (tmp_path / "b/sun.tif").read_bytes()


def test_what_is_no_raster_is_told(tmp_path):
    (tmp_path / "a.tif").write_text("no raster")
    with pytest.raises(InputError, match="cannot be read"):
        read_raster(tmp_path / "a.tif")
    cell = np.zeros(1, np.int64)
    for read in (
        read_grid,
        read_tags,
        lambda path: read_window(path, GRID.whole),
        lambda path: read_small(path, 2),
        lambda path: read_cells(path, cell, cell),
    ):
        with pytest.raises(InputError, match="cannot be read"):
            read(tmp_path / "a.tif")
