"""Inputs that a user may well have: each is either put right or told in words, never half read."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import geopandas
import numpy as np
import pytest
import rasterio
from affine import Affine
from gathered import Gathered, gathered
from rasterio.errors import NotGeoreferencedWarning
from shapely import LineString, box

from suitability.config import LoadedRun, load_run
from suitability.errors import InputError
from suitability.inputs.preflight import preflight

WEST, NORTH = 500_000.0, 4_500_000.0
ROWS, COLS = 60, 80
Write = Callable[..., Path]

RUN = """\
title: Bad inputs
inputs:
  elevation: {path: dem.tif, unit: m}
  land_cover: {path: cover.tif, legend: nlcd}
  streams: {path: streams.gpkg, where: "kind = 'creek'"}
"""


def ground() -> Any:
    rows, cols = np.indices((ROWS, COLS))
    return (300 + rows * 0.5 - cols * 0.25).astype(np.float32)


@pytest.fixture
def folder(tmp_path: Path, write_raster: Write, write_vector: Write) -> Path:
    write_raster(ground(), "dem.tif")
    write_raster(np.full((ROWS, COLS), 41, dtype=np.uint8), "cover.tif")
    creek = LineString([(WEST + 5, NORTH - 5), (WEST + 700, NORTH - 500)])
    write_vector([creek, creek], "streams.gpkg", kind=["creek", "ditch"])
    return tmp_path


def load(folder: Path, text: str = RUN) -> LoadedRun:
    (folder / "run.yaml").write_text(text)
    return load_run(folder / "run.yaml")


def read(folder: Path, text: str = RUN) -> Gathered:
    return gathered(load(folder, text))


def refused(folder: Path, text: str = RUN, *, in_samples: bool = True) -> InputError:
    """Return the error of a run; the look before it must give the very same."""
    with pytest.raises(InputError) as caught:
        read(folder, text)
    if in_samples:
        run = load(folder, text)
        with pytest.raises(InputError) as before:
            preflight(run.settings, run.locate, {})
        assert str(before.value) == str(caught.value)
    assert caught.value.fix
    assert caught.value.where
    assert "run.yaml, line" in caught.value.where
    return caught.value


def test_the_good_inputs_are_good(folder: Path) -> None:
    np.testing.assert_array_equal(read(folder).rasters.ground, ground())


@pytest.mark.parametrize("name", ["dem.tif", "cover.tif"])
def test_a_raster_without_crs(folder: Path, write_raster: Write, name: str) -> None:
    write_raster(ground(), name, crs=None)
    error = refused(folder)
    assert "no coordinate reference system" in error.what
    assert f"rio edit-info --crs EPSG:26916 {name}" in str(error.fix)


def test_a_raster_without_a_place(folder: Path, write_raster: Write) -> None:
    with pytest.warns(NotGeoreferencedWarning):
        write_raster(ground(), "dem.tif", transform=Affine.identity())
    assert "where its cells lie" in refused(folder).what


def test_a_geographic_elevation_without_vertical_unit(folder: Path, write_raster: Write) -> None:
    turn = Affine(1e-4, 0, -87.0, 0, -1e-4, 40.65)
    write_raster(ground(), "dem.tif", crs="EPSG:4326", transform=turn)
    write_raster(np.full((ROWS, COLS), 41, dtype=np.uint8), "cover.tif", crs="EPSG:4326",
                 transform=turn)  # fmt: skip
    error = refused(folder, RUN.replace(", unit: m", ""))
    assert "in which unit the heights are" in error.what
    assert "us_survey_ft" in str(error.fix)
    # With the unit it is read: 666 m by 676 m in cells of 10 m.
    assert read(folder).rasters.ground.shape == (68, 68)


def test_rasters_that_do_not_overlap(folder: Path, write_raster: Write) -> None:
    write_raster(np.full((ROWS, COLS), 41, dtype=np.uint8), "cover.tif", north=NORTH + 90_000)
    error = refused(folder)
    assert "share no land" in error.what
    assert error.what.count("° N") == 4


def test_a_canopy_that_does_not_overlap(folder: Path, write_raster: Write) -> None:
    write_raster(ground() * 0, "canopy.tif", west=WEST - 90_000)
    error = refused(folder, RUN + "  canopy_height: canopy.tif\n")
    assert "canopy height raster does not reach the grid" in error.what
    assert "line 6: inputs.canopy_height" in str(error.where)


def test_an_unknown_land_cover_code(folder: Path, write_raster: Write) -> None:
    codes = np.full((ROWS, COLS), 41, dtype=np.uint8)
    codes[3, 4:7], codes[9, 9] = 77, 13
    write_raster(codes, "cover.tif")
    error = refused(folder)
    assert "NLCD has no class for 13 (1 cells), 77 (3 cells)" in error.what


def test_the_other_legend(folder: Path, write_raster: Write) -> None:
    codes = np.full((ROWS, COLS), 10, dtype=np.uint8)
    codes[:9] = 80
    write_raster(codes, "cover.tif")
    assert "legend: worldcover" in str(refused(folder).fix)
    assert read(folder, RUN.replace("nlcd", "worldcover")).water[:9].all()


def test_streams_with_nothing_in_them(folder: Path) -> None:
    error = refused(folder, RUN.replace("'creek'", "'river'"))
    assert "none of 2 features in streams.gpkg pass \"kind = 'river'\"" in error.what
    assert "unknown everywhere" in error.what


def test_streams_of_another_land(folder: Path, write_vector: Write) -> None:
    write_vector([LineString([(0, 0), (9, 9)])], "streams.gpkg", kind=["creek"])
    assert "none of 1 features in streams.gpkg reach this land" in refused(folder).what


def test_streams_without_crs(folder: Path) -> None:
    (folder / "streams.gpkg").unlink()
    line = LineString([(WEST, NORTH), (WEST + 9, NORTH - 9)])
    frame = geopandas.GeoDataFrame({"kind": ["creek"]}, geometry=[line], crs="EPSG:32616")
    frame.to_file(folder / "streams.shp")
    (folder / "streams.prj").unlink()
    error = refused(folder, RUN.replace("streams.gpkg", "streams.shp"))
    assert "layer has no coordinate reference system" in error.what
    assert ".prj" in str(error.fix)


@pytest.mark.parametrize("keep", [0, 40, 3000])
def test_a_truncated_geotiff(folder: Path, keep: int) -> None:
    path = folder / "dem.tif"
    whole = path.read_bytes()
    # GDAL writes the directory first here, so that a cut file still opens.
    path.write_bytes(whole[: len(whole) - keep if keep == 3000 else keep])
    error = refused(folder, in_samples=keep != 3000)
    assert ("cut off or damaged" in error.what) == (keep == 3000)


def test_files_that_are_not_there(folder: Path) -> None:
    (folder / "dem.tif").unlink()
    assert refused(folder).what == "there is no such file"
    (folder / "streams.gpkg").unlink()
    (folder / "dem.tif").write_text("no raster")
    assert "cannot be opened as a raster" in refused(folder).what


@pytest.mark.parametrize("turn_deg", [7.0, 90.0, 200.0])
def test_a_rotated_elevation_gives_its_plane(
    folder: Path, write_raster: Write, turn_deg: float
) -> None:
    angle = np.radians(turn_deg)
    a, d = 10 * np.cos(angle), 10 * np.sin(angle)
    side = 120
    x0, y0 = WEST + 400 - side / 2 * (a + d), NORTH - 300 - side / 2 * (d - a)
    row, col = np.indices((side, side)) + 0.5
    x, y = x0 + a * col + d * row, y0 + d * col - a * row
    heights = 300 + 0.04 * (x - WEST) - 0.07 * (y - NORTH)
    write_raster(heights.astype(np.float32), "dem.tif", transform=Affine(a, d, x0, d, -a, y0))
    found = read(folder, RUN + "grid: {cell: 5 m}\n")
    x, y = found.grid.xy(*np.indices(found.grid.shape))
    inner = (np.abs(x - WEST - 400) < 380) & (np.abs(y - NORTH + 300) < 280)
    expected = 300 + 0.04 * (x - WEST) - 0.07 * (y - NORTH)
    np.testing.assert_allclose(found.rasters.ground[inner], expected[inner], atol=2e-3)


def test_a_south_up_elevation(folder: Path, write_raster: Write) -> None:
    turn = Affine(10, 0, WEST, 0, 10, NORTH - 10 * ROWS)
    write_raster(ground()[::-1], "dem.tif", transform=turn)
    np.testing.assert_allclose(read(folder).rasters.ground, ground(), atol=2e-3)


@pytest.mark.parametrize(
    ("dtype", "nodata", "declared"),
    [("int16", -32768, True), ("int16", -32768, False), ("float32", 3.4028235e38, True),
     ("float32", 3.4028235e38, False), ("float32", -9999, False)],
)  # fmt: skip
def test_nodata_never_becomes_ground(
    folder: Path, write_raster: Write, dtype: str, nodata: float, declared: bool
) -> None:
    heights = ground().astype(dtype)
    heights[20:30, 30:40] = nodata
    write_raster(heights, "dem.tif", nodata=nodata if declared else None)
    # Smaller, shifted cells: every value is interpolated.
    found = read(folder, RUN + "grid: {cell: 7 m}\n")
    known = found.rasters.ground[np.isfinite(found.rasters.ground)]
    assert known.min() >= ground().min() - 1  # integers lost up to 1 m
    assert known.max() <= ground().max()
    # Unknown is what has its centre in the hole or beyond the raster, and nothing else.
    x, y = found.grid.xy(*np.indices(found.grid.shape))
    col, row = (x - WEST) / 10, (NORTH - y) / 10
    hole = (col > 30) & (col < 40) & (row > 20) & (row < 30)
    beyond = (col < 0) | (col > COLS) | (row < 0) | (row > ROWS)
    np.testing.assert_array_equal(np.isnan(found.rasters.ground), hole | beyond)
    assert any("taken as nodata" in warning for warning in found.warnings) != declared


def test_scaled_integers(folder: Path, write_raster: Write) -> None:
    stored = np.round((ground() - 250) / 0.125).astype(np.uint16)
    write_raster(stored, "dem.tif", scale=0.125, offset=250.0)
    np.testing.assert_array_equal(read(folder).rasters.ground, ground())


def test_an_internal_mask(folder: Path, write_raster: Write) -> None:
    mask = np.ones((ROWS, COLS), dtype=bool)
    mask[5:9, 60:] = False
    write_raster(ground(), "dem.tif", mask=mask)
    np.testing.assert_array_equal(np.isnan(read(folder).rasters.ground), ~mask)


def test_a_boundary_elsewhere(folder: Path, write_vector: Write) -> None:
    write_vector([box(WEST - 9000, NORTH, WEST - 8000, NORTH + 9)], "land.gpkg")
    error = refused(folder, RUN + "  boundary: land.gpkg\n")
    assert "the boundary covers" in error.what
    assert "share no land" in error.what


def test_interpolated_land_cover(folder: Path, write_raster: Write) -> None:
    codes = np.full((ROWS, COLS), 41, dtype=np.float32)
    codes[4] = 61.5
    write_raster(codes, "cover.tif")
    assert "61.5 is no land-cover code" in refused(folder).what


def test_nothing_of_the_raster_stays_open(folder: Path) -> None:
    read(folder)
    for path in folder.glob("*.tif"):
        with rasterio.open(path, "r+") as dataset:
            dataset.update_tags(seen="yes")
