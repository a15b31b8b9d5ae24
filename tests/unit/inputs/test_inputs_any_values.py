"""Values that rasters of ground, canopy and land cover may hold: read right, told, or refused."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import rasterio
from affine import Affine
from small_land import CRS, RUN, cover, heights, write_config, write_land, write_raster

from suitability.config import load_run
from suitability.config.sources import ClassSource
from suitability.errors import InputError
from suitability.inputs.common import choose_grid
from suitability.inputs.gather import doubted, gather_features, gather_rasters
from suitability.inputs.land import doubted_spikes, read_canopy, read_land_cover
from suitability.inputs.report import InputReport


@pytest.fixture
def land(tmp_path: Path) -> Path:
    write_land(tmp_path)
    return tmp_path


def ground_warnings(land: Path) -> list[str]:
    run = load_run(land / "run.yaml")
    grid, _ = choose_grid(run.settings, run.locate)
    features = gather_features(run.settings, grid, run.locate, {"water_distance_m": 1600.0})
    rasters = doubted(run.settings, grid, gather_rasters(run.settings, grid, run.locate, features))
    return [w for r in rasters.reports if r.role == "elevation" for w in r.warnings]


@pytest.mark.parametrize("height_m", [60.0, -60.0])
def test_a_single_cell_far_out_of_the_ground_is_told_with_its_place(
    land: Path, height_m: float
) -> None:
    values = heights()
    values[30, 40] += height_m
    values[10, 70] += height_m
    write_raster(land / "dem.tif", values)
    (warning,) = ground_warnings(land)
    assert warning.startswith("2 single cells of the elevation stand more than 25 m above or below")
    # Row 10, column 70: 352.5 m east of the corner, 52.5 m south of it; 87° W is x = 500,000.
    east_deg = 352.5 / (111_320 * np.cos(np.radians(40.2)))
    told = float(warning.partition("longitude ")[2].partition(",")[0])
    assert told == pytest.approx(-87 + east_deg, abs=2e-5)


@pytest.mark.parametrize("height_m", [20.0, -20.0])
def test_what_ground_may_be_is_not_doubted(land: Path, height_m: float) -> None:
    values = heights()
    values[30, 40] += height_m  # a boulder, a pit
    values[:, 60:] += 90  # a cliff
    values[5:8, 5:8] += 90  # a tower of rock, three cells wide
    write_raster(land / "dem.tif", values)
    assert ground_warnings(land) == []


def test_holes_beside_a_cell_are_no_spike(land: Path) -> None:
    grid, _ = choose_grid(load_run(land / "run.yaml").settings, str)
    values = heights()
    values[30, 40] += 60
    values[30, 41] = np.nan
    report = InputReport("elevation", "dem.tif")
    assert doubted_spikes(report, values, grid) is report


@pytest.mark.parametrize(("factor", "is_told"), [(1, False), (100, True)])
def test_land_steeper_than_mountains_is_told(land: Path, factor: float, *, is_told: bool) -> None:
    """Centimetres for metres: a slope of 5 degrees becomes one of 84."""
    rows, cols = np.indices(heights().shape)
    slope = 2 + np.tan(np.radians(5)) * 5 * (0.6 * rows + 0.8 * cols)
    write_raster(land / "dem.tif", (slope * factor).astype(np.float32))
    told = [text for text in ground_warnings(land) if "as no mountains are" in text]
    assert len(told) == is_told
    assert not is_told or "steeper than 83°" in told[0]


def test_canopy_below_the_ground_is_none_and_told(land: Path) -> None:
    canopy = np.full(cover().shape, 12, np.float32)
    canopy[:3] = -2.5
    write_raster(land / "canopy.tif", canopy)
    run = load_run(
        write_config(land, RUN.replace("season:", "  canopy_height: canopy.tif\nseason:"))
    )
    grid, _ = choose_grid(run.settings, run.locate)
    found, report = read_canopy(run.settings.inputs.canopy_height, grid)
    np.testing.assert_array_equal(found, np.where(canopy < 0, 0, canopy))
    assert "240 cells below the ground (lowest -2.5 m) set to 0" in report.done


def test_a_colour_table_changes_no_code(land: Path) -> None:
    with rasterio.open(land / "cover.tif", "r+") as target:
        target.write_colormap(1, {41: (40, 100, 30, 255), 81: (220, 200, 60, 255)})
    run = load_run(land / "run.yaml")
    grid, _ = choose_grid(run.settings, run.locate)
    codes, _, _ = read_land_cover(run.settings, grid, run.locate)
    np.testing.assert_array_equal(codes, cover())


def test_a_picture_of_land_cover_is_refused(land: Path) -> None:
    """Colours where codes belong: what a map server sends."""
    red = np.where(cover() == 41, 40, 220).astype(np.uint8)
    with rasterio.open(
        land / "cover.tif", "w", driver="GTiff", height=60, width=80, count=3, dtype="uint8",
        crs=CRS, transform=Affine(5, 0, 500_000, 0, -5, 4_450_000), photometric="RGB",
    ) as target:  # fmt: skip
        target.write(np.stack([red, red // 2, red // 4]))
    run = load_run(land / "run.yaml")
    grid, _ = choose_grid(run.settings, run.locate)
    with pytest.raises(InputError, match="has no class for") as caught:
        read_land_cover(run.settings, grid, run.locate)
    assert "cover.tif" in str(caught.value.where)


def test_land_cover_of_complex_numbers_is_refused(write_raster: Callable[..., Path]) -> None:
    from suitability.inputs.opening import describe_raster

    path = write_raster(np.ones((4, 4), np.complex64))
    with pytest.raises(InputError, match="complex64, not numbers on a line"):
        describe_raster(ClassSource(path=str(path)).path)
