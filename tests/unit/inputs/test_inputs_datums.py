"""Moves between datums whose grids of shifts are not installed: told, not passed over.

Source: the EPSG Dataset (as PROJ ships it) states 4 m for NAD83 to WGS 84 (operation 1188), and
for NAD27 to NAD83 knows only grids (NADCON), which are no part of PROJ's own data.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pyproj
import pytest
import shapely

from suitability.config.sources import ClassSource, HeightSource, VectorSource
from suitability.grid import Grid
from suitability.inputs.datums import doubted_move
from suitability.inputs.raster import read_classes, read_heights
from suitability.inputs.vector import read_features

INDIANA = Grid(pyproj.CRS.from_epsg(26916), 500_000.0, 4_500_000.0, 10.0, 20, 20)


def told(source: str, epsg: int, x_m: float = 600_000, y_m: float = 4_400_000) -> tuple[str, ...]:
    grid = Grid(pyproj.CRS.from_epsg(epsg), x_m, y_m, 10.0, 10, 10)
    return doubted_move(pyproj.CRS(source), grid.crs, grid.bounds)


@pytest.mark.parametrize(
    ("source", "epsg"),
    [
        ("EPSG:26916", 26916),  # the same
        ("EPSG:4269", 26916),  # the same datum, in degrees
        ("EPSG:4269", 32616),  # NAD83 to WGS 84
        ("EPSG:4326", 26916),
        ("EPSG:2965", 32616),  # NAD83 in feet
        ("EPSG:3857", 32616),
        ("EPSG:4267", 26716),  # NAD27 within NAD27
    ],
)
def test_good_moves_are_not_doubted(source: str, epsg: int) -> None:
    assert told(source, epsg) == ()


def test_a_move_without_its_grid_is_told_with_the_way_out() -> None:
    (warning,) = told("EPSG:26716", 26916)
    assert "from NAD27 to NAD83" in warning
    assert "by tens of metres" in warning
    assert "pyproj sync --bbox -87,39,-85,41" in warning
    assert "state such a CRS in metres in `grid.crs`, now EPSG:26916" in warning
    (warning,) = told("EPSG:4301", 32654, 400_000, 4_000_000)
    assert "from Tokyo to WGS 84" in warning
    assert "by some 9 m" in warning


def test_rasters_and_vectors_of_an_old_datum_are_told(
    write_raster: Callable[..., Path], write_vector: Callable[..., Path]
) -> None:
    old = {"crs": "EPSG:26716", "north": 4_499_800.0}  # 200 m of northing lie between the datums
    heights = write_raster(np.full((40, 40), 200, np.float32), "dem.tif", **old)
    classes = write_raster(np.full((40, 40), 41, np.uint8), "cover.tif", **old)
    streams = write_vector([shapely.box(500_000, 4_499_500, 500_100, 4_499_700)], crs="EPSG:26716")
    reports = [
        read_heights(HeightSource(path=str(heights), unit="m"), INDIANA)[1],
        read_classes(ClassSource(path=str(classes)), INDIANA)[1],
        read_features(VectorSource(path=str(streams)), INDIANA)[1],
    ]
    for report in reports:
        assert any("from NAD27 to NAD83" in text for text in report.warnings), report
