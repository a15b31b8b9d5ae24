"""Any piece of a grid burns features into the cells of the whole."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pyproj
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon

from suitability.grid import Grid
from suitability.inputs.burn import building_heights, burn

UTM16 = pyproj.CRS.from_epsg(32616)
WEST, NORTH, CELL, ROWS, COLS = 579_901.5, 4_480_120.25, 1.5, 700, 900


def features(seed: int) -> gpd.GeoDataFrame:
    rng = np.random.default_rng(seed)
    x = WEST + rng.uniform(-50, COLS * CELL + 50, (12, 6))
    y = NORTH - rng.uniform(-50, ROWS * CELL + 50, (12, 6))
    lines = [LineString(zip(a, b, strict=True)) for a, b in zip(x[:6], y[:6], strict=True)]
    areas = [Polygon(zip(a[:3], b[:3], strict=True)) for a, b in zip(x[6:], y[6:], strict=True)]
    heights = rng.uniform(2, 20, 12)
    return gpd.GeoDataFrame({"height_m": heights}, geometry=lines + areas, crs=UTM16)


@settings(max_examples=25, deadline=None)
@given(
    seed=st.integers(0, 1000),
    row=st.integers(0, 650),
    col=st.integers(0, 850),
    rows=st.integers(1, 300),
    cols=st.integers(1, 300),
    all_touched=st.booleans(),
)
def test_a_piece_burns_the_cells_of_the_whole(seed, row, col, rows, cols, all_touched):
    rows, cols = min(rows, ROWS - row), min(cols, COLS - col)
    whole = Grid(UTM16, WEST, NORTH, CELL, ROWS, COLS)
    piece = Grid(UTM16, WEST + col * CELL, NORTH - row * CELL, CELL, rows, cols)
    window = np.s_[row : row + rows, col : col + cols]
    shapes = features(seed)
    found = burn(shapes, whole, all_touched=all_touched)
    assert found.any()
    np.testing.assert_array_equal(burn(shapes, piece, all_touched=all_touched), found[window])
    areas = shapes.iloc[6:]
    heights = building_heights(areas, whole, height_field="height_m", default_m=3.0)
    cut = building_heights(areas, piece, height_field="height_m", default_m=3.0)
    np.testing.assert_array_equal(cut, heights[window])
