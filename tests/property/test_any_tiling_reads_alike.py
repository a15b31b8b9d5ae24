"""Any piece of a grid reads the bits of the whole, whatever is done to the raster on the way."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pyproj
import pytest
import rasterio
from affine import Affine
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from suitability.config.sources import ClassSource, HeightSource
from suitability.grid import Grid
from suitability.inputs.raster import read_classes, read_heights

UTM16 = pyproj.CRS.from_epsg(32616)
WEST, NORTH = 579_900.0, 4_480_120.0
LON, LAT = pyproj.Transformer.from_crs(UTM16, 4326, always_xy=True).transform(WEST, NORTH)

# CRS and transform of a raster that covers a part of the grids below, with its cell.
SOURCES = {
    "degrees": ("EPSG:4326", Affine(1 / 3600, 0, LON, 0, -1 / 3600, LAT)),
    "fine degrees": ("EPSG:4326", Affine(1 / 18_000, 0, LON, 0, -1 / 18_000, LAT)),
    "shifted": ("EPSG:32616", Affine(10, 0, WEST + 3.3, 0, -10, NORTH - 1.7)),
    "own cells": ("EPSG:32616", Affine(7, 0, WEST, 0, -7, NORTH)),
    "rotated": ("EPSG:32616", Affine(9, 2, WEST, 2, -9, NORTH)),
    "feet": ("EPSG:2965", None),
}
ROWS, COLS = 1300, 1100  # of the whole grid: several blocks of the lattice each way


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("tilings")


def write(path: Path, name: str, dtype: str) -> Path:
    crs, turn = SOURCES[name]
    if turn is None:
        x, y = pyproj.Transformer.from_crs(UTM16, crs, always_xy=True).transform(WEST, NORTH)
        turn = Affine(40, 0, x - 300, 0, -40, y + 300)
    values = np.random.default_rng(7).integers(1, 250, (700, 900)).astype(dtype)
    path = path / f"{name}-{dtype}.tif"
    if not path.exists():
        with rasterio.open(
            path, "w", driver="GTiff", height=700, width=900, count=1, dtype=dtype, crs=crs,
            transform=turn, nodata=17, tiled=True,
        ) as dataset:  # fmt: skip
            dataset.write(values, 1)
    return path


@lru_cache
def whole(path: Path, read: Any, cell: float) -> Any:
    return read(path, Grid(UTM16, WEST, NORTH, cell, ROWS, COLS))


def heights(path: Path, grid: Grid) -> Any:
    return read_heights(HeightSource(path=path, unit="m"), grid)[0]


def codes(path: Path, grid: Grid) -> Any:
    return read_classes(ClassSource(path=path), grid)[0]


@pytest.mark.parametrize("name", SOURCES)
@pytest.mark.parametrize(("read", "dtype"), [(heights, "float32"), (codes, "uint8")])
@settings(
    max_examples=6,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(data=st.data())
def test_a_piece_reads_the_bits_of_the_whole(
    folder: Path, name: str, read: Any, dtype: str, data: st.DataObject
) -> None:
    path = write(folder, name, dtype)
    cell = data.draw(st.sampled_from([7.0, 7.3]))
    all_of_it = whole(path, read, cell)
    assert np.unique(all_of_it).size > 100  # it does cover the grid
    row = data.draw(st.integers(0, 600))
    col = data.draw(st.integers(0, 600))
    rows = data.draw(st.integers(150, ROWS - row))
    cols = data.draw(st.integers(150, COLS - col))
    piece = Grid(UTM16, WEST + col * cell, NORTH - row * cell, cell, rows, cols)
    assert read(path, piece).tobytes() == all_of_it[row : row + rows, col : col + cols].tobytes()
