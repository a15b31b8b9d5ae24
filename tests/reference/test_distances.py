"""Distances on the grid: an exact table, a second transform, brute force and exact geometry.

Exact Euclidean distances to the nearest marked centre: P. F. Felzenszwalb, D. P. Huttenlocher,
Distance transforms of sampled functions, Theory of Computing 8, 2012 (definition, from memory).
"""

import geopandas
import numpy as np
import pyproj
import pytest
import scipy.ndimage
import shapely
import xarray
import xrspatial
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from suitability.grid import Grid
from suitability.layers import (
    distance_to,
    distance_to_features,
    exact_water_distance_m,
    signed_distance_to_edge,
)

UTM = pyproj.CRS.from_epsg(32616)
WEST, NORTH = 500_000.0, 4_500_000.0

BOOLS = arrays(bool, st.tuples(st.integers(1, 14), st.integers(1, 14)), elements=st.booleans())


def brute_force(cells, cell):
    """Look at every pair of cells."""
    rows, cols = np.nonzero(cells)
    r, c = np.mgrid[: cells.shape[0], : cells.shape[1]]
    return cell * np.hypot(r[..., None] - rows, c[..., None] - cols).min(axis=-1)


def test_table_of_three_by_four():
    cells = np.zeros((3, 4), bool)
    cells[0, 0] = True
    expected = [
        [0, 10, 20, 30],
        [10, 14.142, 22.361, 31.623],
        [20, 22.361, 28.284, 36.056],
    ]
    np.testing.assert_allclose(distance_to(cells, 10.0), expected, atol=5e-4)


@given(cells=BOOLS, cell=st.sampled_from([0.5, 1.0, 30.0]))
@settings(max_examples=60, deadline=None)
def test_as_brute_force_and_scipy_find_them(cells, cell):
    found = distance_to(cells, cell)
    if not cells.any():
        assert np.isinf(found).all()
        return
    np.testing.assert_allclose(found, brute_force(cells, cell), rtol=1e-6)
    transform = scipy.ndimage.distance_transform_edt(~cells, sampling=cell)
    np.testing.assert_allclose(found, transform, rtol=1e-6)


def test_large_grid_as_scipy_and_xarray_spatial_find_it():
    rng = np.random.default_rng(5)
    cells = rng.random((331, 278)) < 0.001
    cells[:, 200:] = False
    found = distance_to(cells, 2.0)
    transform = scipy.ndimage.distance_transform_edt(~cells, sampling=2.0)
    np.testing.assert_allclose(found, transform, rtol=1e-6)
    np.testing.assert_array_equal(found, distance_to(cells, 2.0, threads=1))
    data = xarray.DataArray(
        cells.astype(np.float32),
        dims=("y", "x"),
        coords={"y": np.arange(331)[::-1] * 2.0, "x": np.arange(278) * 2.0},
    )
    proximity = xrspatial.proximity(data).to_numpy()
    # Its two passes over the lines miss the nearest cell here and there.
    assert np.mean(np.abs(found - proximity) < 1e-3) > 0.99
    assert (found <= proximity + 1e-3).all()


@given(cells=BOOLS)
@settings(max_examples=60, deadline=None)
def test_signed_distance_changes_sign_between_cells(cells):
    found = signed_distance_to_edge(cells, 2.0)
    assert ((found < 0) == cells).all()
    np.testing.assert_array_equal(found, -signed_distance_to_edge(~cells, 2.0))
    if cells.any() and not cells.all():
        outside = np.where(cells, np.inf, brute_force(cells, 2.0) - 1.0)
        inside = np.where(cells, brute_force(~cells, 2.0) - 1.0, np.inf)
        np.testing.assert_allclose(found, np.where(cells, -inside, outside), rtol=1e-6)
        assert np.abs(found).min() == 1.0  # half a cell


def brook(seed, cell, rows, cols):
    """Return a winding line that crosses the grid."""
    rng = np.random.default_rng(seed)
    x = WEST + np.linspace(-0.2, 1.2, 40) * cols * cell
    y = NORTH - rows * cell * (0.5 + 0.1 * rng.standard_normal(40).cumsum())
    return shapely.LineString(np.column_stack([x, y]))


@pytest.mark.parametrize("cell", [2.0, 10.0])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_raster_distance_to_a_brook_within_half_a_diagonal(seed, cell):
    rows, cols = 90, 133
    frame = geopandas.GeoDataFrame(geometry=[brook(seed, cell, rows, cols)], crs=UTM)
    grid = Grid(UTM, WEST, NORTH, cell, rows, cols)
    found = distance_to_features(grid, grid.whole, frame, 1609.344)
    x, y = grid.xy(*np.mgrid[:rows, :cols])
    exact = shapely.distance(frame.geometry[0], shapely.points(x, y))
    half_diagonal = cell * np.sqrt(0.5)
    assert np.abs(found - exact).max() <= half_diagonal + 1e-3
    assert np.abs(found - exact).mean() < half_diagonal / 2
    at = np.random.default_rng(0).integers(0, exact.size, 200)
    np.testing.assert_allclose(
        exact_water_distance_m(x.ravel()[at], y.ravel()[at], frame),
        exact.ravel()[at],
        atol=1e-6,
    )


def test_nearest_of_ponds_and_brooks():
    pond = shapely.Point(WEST + 300, NORTH - 300).buffer(50)
    line = shapely.LineString([(WEST, NORTH - 20), (WEST + 800, NORTH - 20)])
    frame = geopandas.GeoDataFrame(geometry=[pond, line], crs=UTM)
    x = WEST + np.array([300.0, 300.0, 300.0])
    y = NORTH - np.array([300.0, 200.0, 100.0])
    np.testing.assert_allclose(exact_water_distance_m(x, y, frame), [0, 50, 80], atol=0.01)
    none = geopandas.GeoDataFrame(geometry=[], crs=UTM)
    assert np.isinf(exact_water_distance_m(x, y, none)).all()
