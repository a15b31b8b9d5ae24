"""Rasters onto the grid: real files, asymmetric values, and the grid's own half pixel."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pyproj
import pytest
import rasterio
from affine import Affine

from suitability.config.sources import ClassSource, HeightSource
from suitability.errors import InputError
from suitability.grid import Grid
from suitability.inputs.legend import NO_CLASS
from suitability.inputs.opening import describe_raster
from suitability.inputs.raster import read_classes, read_heights

UTM16 = pyproj.CRS.from_epsg(32616)
WEST, NORTH = 500_000.0, 4_500_000.0
Write = Callable[..., Path]


def grid(
    rows: int, cols: int, cell: float = 10.0, west: float = WEST, north: float = NORTH
) -> Grid:
    return Grid(UTM16, west, north, cell, rows, cols)


def metres(path: Path, **more: Any) -> HeightSource:
    return HeightSource(path=path, unit="m", **more)


def plane(x: Any, y: Any) -> Any:
    """Return heights that differ in every direction, so that a swapped axis shows. [m]."""
    return 300 + 0.03 * (np.asarray(x) - WEST) - 0.05 * (np.asarray(y) - NORTH)


def centres(turn: Affine, rows: int, cols: int) -> tuple[Any, Any]:
    row, col = np.indices((rows, cols)) + 0.5
    return turn.c + turn.a * col + turn.b * row, turn.f + turn.d * col + turn.e * row


def test_the_same_cells_are_read_bit_for_bit(write_raster: Write) -> None:
    stored = np.random.default_rng(1).normal(500, 99, (7, 5)).astype(np.float32)
    heights, report = read_heights(metres(write_raster(stored)), grid(7, 5))
    assert heights.dtype == np.float32
    assert heights.tobytes() == stored.tobytes()
    assert "read as they are" in report.done[0]
    assert report.outside_share == 0


def test_a_piece_of_the_same_cells_is_read_bit_for_bit(write_raster: Write) -> None:
    stored = np.arange(35, dtype=np.float32).reshape(7, 5) / 7
    here = grid(4, 6, west=WEST + 20, north=NORTH - 40)
    heights, report = read_heights(metres(write_raster(stored)), here)
    expected = np.full((4, 6), np.nan, dtype=np.float32)
    expected[:3, :3] = stored[4:, 2:]
    assert heights.tobytes() == expected.tobytes()
    assert report.outside_share == pytest.approx(1 - 9 / 24)


def test_one_cell_lies_where_its_corner_says(write_raster: Write) -> None:
    path = write_raster(np.array([[41]], dtype=np.uint8), cell=30.0)
    codes, _ = read_classes(ClassSource(path=path), grid(5, 5, west=WEST - 10, north=NORTH + 10))
    expected = np.full((5, 5), NO_CLASS)
    expected[1:4, 1:4] = 41
    np.testing.assert_array_equal(codes, expected)


def test_half_a_cell_of_shift_is_interpolated(write_raster: Write) -> None:
    stored = np.array([[0, 10, 40], [100, 110, 140]], dtype=np.float32)
    here = grid(1, 2, west=WEST + 5, north=NORTH - 5)
    heights, report = read_heights(metres(write_raster(stored)), here)
    # Each new centre is a corner of four old cells: their mean.
    np.testing.assert_allclose(heights, [[55, 75]], atol=0.05)
    assert "bilinear" in report.done[0]


def test_much_finer_heights_are_averaged(write_raster: Write) -> None:
    stored = np.arange(96, dtype=np.float32).reshape(8, 12) ** 1.5
    heights, report = read_heights(metres(write_raster(stored, cell=2.5)), grid(2, 3))
    expected = stored.reshape(2, 4, 3, 4).mean(axis=(1, 3))
    np.testing.assert_allclose(heights, expected, rtol=1e-6)
    assert "averaged" in report.done[0]


def test_an_average_leaves_nodata_out(write_raster: Write) -> None:
    stored = np.full((4, 4), 7, dtype=np.float32)
    stored[0, 0], stored[3, 3] = -9999, 9
    path = write_raster(stored, cell=2.5, nodata=-9999)
    heights, _ = read_heights(metres(path), grid(1, 1))
    assert heights[0, 0] == pytest.approx((14 * 7 + 9) / 15)


def test_of_much_finer_classes_the_commonest_is_taken(write_raster: Write) -> None:
    stored = np.array(
        [[11, 11, 41, 41], [11, 90, 41, 90], [11, 90, 41, 90], [90, 90, 41, 90]], dtype=np.uint8
    )
    path = write_raster(stored, cell=2.5)
    codes, report = read_classes(ClassSource(path=path), grid(1, 1))
    assert codes.tolist() == [[90]]
    assert "commonest" in report.done[0]
    finer, report = read_classes(ClassSource(path=path), grid(8, 8, cell=1.25))
    np.testing.assert_array_equal(finer, stored.repeat(2, 0).repeat(2, 1))
    assert "nearest" in report.done[0]


def test_a_geographic_raster_lands_where_its_degrees_say(write_raster: Write) -> None:
    # Heights that are the latitude itself: what is read must be each cell's own latitude.
    step = 1 / 3600
    turn = Affine(step, 0, -86.9, 0, -step, 41.0)
    _, lat = centres(turn, 720, 720)
    path = write_raster(((lat - 40.8) * 4000).astype(np.float32), crs="EPSG:4326", transform=turn)
    x, y = (
        float(v)
        for v in pyproj.Transformer.from_crs(4326, 32616, always_xy=True).transform(-86.8, 40.9)
    )
    here = Grid.covering(UTM16, (x - 3000, y - 2000, x + 3000, y + 2000), 10.0)
    heights, _ = read_heights(metres(path), here)
    _, expected = here.lonlat(*here.xy(*np.indices(here.shape)))
    # 4,000 a degree is 1 m in 28 m: 0.002 is a twentieth of a metre on the ground.
    np.testing.assert_allclose(heights, (expected - 40.8) * 4000, atol=0.002)


@pytest.mark.parametrize("angle_deg", [12.0, -77.0, 180.0])
def test_a_rotated_raster_is_straightened(write_raster: Write, angle_deg: float) -> None:
    angle = np.radians(angle_deg)
    a, d = 8 * np.cos(angle), 8 * np.sin(angle)
    # The grid's middle is the raster's, whichever way it is turned.
    x0 = WEST + 500 - 100 * a - 100 * d
    y0 = NORTH - 500 - 100 * d + 100 * a
    turn = Affine(a, d, x0, d, -a, y0)
    path = write_raster(plane(*centres(turn, 200, 200)).astype(np.float32), transform=turn)
    here = grid(40, 30, west=WEST + 350, north=NORTH - 300)
    heights, report = read_heights(metres(path), here)
    np.testing.assert_allclose(heights, plane(*here.xy(*np.indices(here.shape))), atol=2e-3)
    assert any("rotated" in words or "south to north" in words for words in report.done)


def test_a_south_up_raster_is_turned(write_raster: Write) -> None:
    stored = np.arange(20, dtype=np.float32).reshape(4, 5) ** 2
    turn = Affine(10, 0, WEST, 0, 10, NORTH - 40)
    heights, report = read_heights(metres(write_raster(stored, transform=turn)), grid(4, 5))
    np.testing.assert_allclose(heights, stored[::-1], atol=0.3)
    assert any("south to north" in words for words in report.done)


def test_oblong_cells_are_read(write_raster: Write) -> None:
    turn = Affine(20, 0, WEST, 0, -5, NORTH)
    path = write_raster(plane(*centres(turn, 80, 20)).astype(np.float32), transform=turn)
    here = grid(20, 20, west=WEST + 100, north=NORTH - 100)
    heights, _ = read_heights(metres(path), here)
    np.testing.assert_allclose(heights, plane(*here.xy(*np.indices(here.shape))), atol=2e-3)


@pytest.mark.parametrize(
    ("dtype", "value"),
    [("int16", -32768), ("uint16", 65535), ("float32", -3.4028235e38), ("float64", -1.79e308),
     ("float32", np.nan), ("int32", -9999)],
)  # fmt: skip
def test_declared_nodata_is_no_height(write_raster: Write, dtype: str, value: float) -> None:
    stored = np.array([[100, value], [120, 130]], dtype=dtype)
    heights, report = read_heights(metres(write_raster(stored, nodata=value)), grid(2, 2))
    np.testing.assert_array_equal(heights, [[100, np.nan], [120, 130]])
    assert report.outside_share == 0.25
    assert report.warnings == ()


@pytest.mark.parametrize(
    ("dtype", "value"),
    [("int16", -32768), ("uint16", 65535), ("float32", 3.4028235e38), ("float32", -9999),
     ("float32", -np.inf)],
)  # fmt: skip
def test_an_undeclared_sentinel_is_no_height_either(
    write_raster: Write, dtype: str, value: float
) -> None:
    stored = np.array([[100, value], [120, 130]], dtype=dtype)
    path = write_raster(stored)
    for here in (grid(2, 2), grid(4, 4, cell=5.0)):
        heights, report = read_heights(metres(path), here)
        # No blend of sentinel and height either: the lowest and the highest stay themselves.
        assert np.nanmin(heights) >= 100
        assert np.nanmax(heights) <= 130
        assert "taken as nodata" in report.warnings[0]


def test_other_impossible_heights_are_refused(write_raster: Write) -> None:
    stored = np.array([[100, 110], [-1234, -9999]], dtype=np.int16)
    with pytest.raises(InputError) as caught:
        read_heights(metres(write_raster(stored)), grid(2, 2))
    assert "row 1, column 0 holds -1,234 m" in caught.value.what
    assert "nodata" in str(caught.value.fix)


def test_heights_in_feet_may_pass_nine_thousand(write_raster: Write) -> None:
    path = write_raster(np.full((2, 2), 14_505, dtype=np.float32))
    heights, _ = read_heights(HeightSource(path=path, unit="ft"), grid(2, 2))
    assert heights[0, 0] == np.float32(14_505 * 0.3048)


def test_scale_and_offset_are_applied(write_raster: Write) -> None:
    path = write_raster(np.array([[0, 1], [2, 255]], dtype=np.uint8), scale=0.5, offset=200.0,
                        nodata=255)  # fmt: skip
    heights, report = read_heights(metres(path), grid(2, 2))
    np.testing.assert_array_equal(heights, [[200, 200.5], [201, np.nan]])
    assert any("× 0.5 + 200" in words for words in report.done)


def test_masks_are_honoured(write_raster: Write, tmp_path: Path) -> None:
    stored = np.array([[1, 2], [3, 4]], dtype=np.float32)
    mask = np.array([[True, False], [True, True]])
    expected = [[1, np.nan], [3, 4]]
    inside, _ = read_heights(metres(write_raster(stored, mask=mask)), grid(2, 2))
    np.testing.assert_array_equal(inside, expected)
    beside = write_raster(stored, "beside.tif")
    with rasterio.Env(GDAL_TIFF_INTERNAL_MASK=False), rasterio.open(beside, "r+") as dataset:
        dataset.write_mask(mask.astype(np.uint8) * 255)
    assert (tmp_path / "beside.tif.msk").exists()
    np.testing.assert_array_equal(read_heights(metres(beside), grid(2, 2))[0], expected)


def test_an_alpha_band_is_honoured(tmp_path: Path) -> None:
    path = tmp_path / "alpha.tif"
    turn = Affine(10, 0, WEST, 0, -10, NORTH)
    with rasterio.open(
        path, "w", driver="GTiff", height=1, width=3, count=2, dtype="uint8", crs=UTM16,
        transform=turn, photometric="MINISBLACK", alpha="YES",
    ) as dataset:  # fmt: skip
        dataset.write(np.array([[[5, 6, 7]], [[255, 0, 255]]], dtype=np.uint8))
    heights, _ = read_heights(metres(path), grid(1, 3))
    np.testing.assert_array_equal(heights, [[5, np.nan, 7]])


def test_another_band_is_read(tmp_path: Path) -> None:
    path = tmp_path / "two.tif"
    with rasterio.open(
        path, "w", driver="GTiff", height=1, width=2, count=2, dtype="float32", crs=UTM16,
        transform=Affine(10, 0, WEST, 0, -10, NORTH),
    ) as dataset:  # fmt: skip
        dataset.write(np.array([[[1, 2]], [[3, 4]]], dtype=np.float32))
    assert read_heights(metres(path, band=2), grid(1, 2))[0].tolist() == [[3, 4]]
    assert "band 1 of 2" in describe_raster(path)
    with pytest.raises(InputError, match="no band 3"):
        read_heights(metres(path, band=3), grid(1, 2))


@pytest.mark.parametrize("dtype", ["uint8", "int16", "uint16", "int32", "float32", "float64"])
def test_codes_of_any_type_are_codes(write_raster: Write, dtype: str) -> None:
    stored = np.array([[11, 0], [41, 250]], dtype=dtype)
    codes, report = read_classes(
        ClassSource(path=write_raster(stored, nodata=0)), grid(2, 2), nodata=(250,)
    )
    assert codes.dtype == np.int16
    assert codes.tolist() == [[11, NO_CLASS], [41, NO_CLASS]]
    assert report.outside_share == 0.5


def test_what_is_no_code_is_refused(write_raster: Write) -> None:
    halves = write_raster(np.array([[11, 41.5]], dtype=np.float32), "halves.tif")
    with pytest.raises(InputError, match=r"41\.5 is no land-cover code"):
        read_classes(ClassSource(path=halves), grid(1, 2))
    negative = write_raster(np.array([[11, -9999]], dtype=np.int16), "negative.tif")
    with pytest.raises(InputError, match="-9999 cannot be"):
        read_classes(ClassSource(path=negative), grid(1, 2))


def test_a_raster_without_data_here_is_refused(write_raster: Write) -> None:
    path = write_raster(np.array([[5, 5, -9999]], dtype=np.float32), nodata=-9999)
    with pytest.raises(InputError, match="holds no data there"):
        read_heights(metres(path), grid(1, 1, west=WEST + 20))


def test_a_very_fine_raster_is_read_in_pieces(
    write_raster: Write, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("suitability.inputs.warp.MOST_SOURCE_CELLS", 900)
    stored = np.random.default_rng(3).normal(300, 20, (120, 160)).astype(np.float32)
    heights, _ = read_heights(metres(write_raster(stored, cell=1.0)), grid(12, 16))
    expected = stored.reshape(12, 10, 16, 10).mean(axis=(1, 3))
    np.testing.assert_allclose(heights, expected, rtol=1e-5)
