"""The grid as a value: where its cells lie, and which grids are refused."""

import dataclasses

import numpy as np
import pyproj
import pytest

from suitability.errors import GridError
from suitability.grid import Grid, Layer, utm_crs

UTM = pyproj.CRS.from_epsg(32616)


@pytest.fixture
def grid():
    """Return three rows and four columns of 10 m."""
    return Grid(UTM, 500_000.0, 4_500_000.0, 10.0, 3, 4)


def test_outline(grid):
    assert grid.shape == (3, 4)
    assert grid.bounds == (500_000, 4_499_970, 500_040, 4_500_000)
    assert grid.centre == (500_020, 4_499_985)
    assert tuple(grid.transform)[:6] == (10, 0, 500_000, 0, -10, 4_500_000)
    assert grid.label == "EPSG:32616"


def test_centres_of_cells(grid):
    x, y = grid.xy([0, 2], [0, 3])
    np.testing.assert_array_equal(x, [500_005, 500_035])
    np.testing.assert_array_equal(y, [4_499_995, 4_499_975])
    row, col = grid.position(x, y)
    np.testing.assert_array_equal(row, [0, 2])
    np.testing.assert_array_equal(col, [0, 3])
    assert grid.position(500_000, 4_500_000) == (-0.5, -0.5)


@pytest.mark.parametrize(
    ("x", "y", "cell"),
    [
        (500_000.0, 4_500_000.0, (0, 0)),  # the outer corner
        (500_009.9, 4_499_990.1, (0, 0)),
        (500_010.0, 4_499_990.0, (1, 1)),  # a corner of four cells belongs to the last
        (500_039.9, 4_499_970.1, (2, 3)),
        (500_040.0, 4_499_985.0, None),
        (500_020.0, 4_499_970.0, None),
        (499_999.9, 4_499_985.0, None),
        (500_020.0, 4_500_000.1, None),
    ],
)
def test_cell_of_a_point(grid, x, y, cell):
    assert grid.cell_of(x, y) == cell


def test_one_cell_is_centred_on_its_point():
    one = Grid(UTM, 500_000.0, 4_500_000.0, 30.0, 1, 1)
    assert one.xy(0, 0) == one.centre == (500_015, 4_499_985)


def test_covering_keeps_to_multiples_of_the_cell():
    grid = Grid.covering(UTM, (500_003.0, 4_499_961.0, 500_041.0, 4_499_999.0), 10.0)
    assert grid.bounds == (500_000, 4_499_960, 500_050, 4_500_000)
    assert grid.shape == (4, 5)


@pytest.mark.parametrize("cell", [0.1, 0.3, 1 / 3, 30.0, 0.3048])
def test_covering_of_exact_multiples_gains_no_cell(cell):
    west, south = round(500_000 / cell) * cell, round(4_200_000 / cell) * cell
    bounds = (west, south, west + 40 * cell, south + 25 * cell)
    grid = Grid.covering(UTM, bounds, cell)
    assert grid.shape == (25, 40)
    np.testing.assert_allclose(grid.bounds, bounds, atol=1e-5)


@pytest.mark.parametrize(("code", "lon", "lat"), [(32616, -86.5, 40.2), (32756, 151.2, -33.9)])
def test_degrees_and_back(code, lon, lat):
    crs = pyproj.CRS.from_epsg(code)
    x, y = Grid(crs, 500_000.0, 4_500_000.0, 10.0, 3, 4).from_lonlat(lon, lat)
    grid = Grid(crs, x, y, 10.0, 3, 4)
    np.testing.assert_allclose(grid.lonlat(x, y), (lon, lat), atol=1e-9)


def test_longitude_comes_first_whatever_the_crs_says():
    # IOGP Guidance Note 7-2, Lambert azimuthal equal area (from memory): 50 N, 5 E lies at east
    # 3962799.45, north 2999718.85 of EPSG:3035, whose own axes are north first.
    grid = Grid(pyproj.CRS.from_epsg(3035), 3_962_700.0, 2_999_800.0, 10.0, 20, 20)
    assert grid.from_lonlat(5.0, 50.0) == pytest.approx((3_962_799.45, 2_999_718.85), abs=0.01)
    lon, lat = grid.lonlat(3_962_799.45, 2_999_718.85)
    assert (lon, lat) == pytest.approx((5.0, 50.0), abs=1e-6)


@pytest.mark.parametrize(
    ("crs", "says"),
    [
        (4326, "degrees"),
        (2965, "US survey foot"),  # Indiana East
        (4978, "need a projected CRS"),  # geocentric
    ],
)
def test_crs_without_metres_is_refused(crs, says):
    with pytest.raises(GridError, match=says) as caught:
        Grid(pyproj.CRS.from_epsg(crs), 0.0, 0.0, 10.0, 3, 4)
    assert caught.value.where == "grid.crs"
    assert "UTM" in str(caught.value.fix)


def test_stretched_crs_is_refused_where_it_stretches():
    mercator = pyproj.CRS.from_epsg(3857)
    with pytest.raises(GridError, match=r"1\.3\d\d times true"):
        Grid(mercator, -9_570_000.0, 4_865_942.0, 10.0, 3, 4)  # 40 N
    assert Grid(mercator, -9_570_000.0, 200_000.0, 10.0, 3, 4).scale_factor() < 1.01  # near 2 N


@pytest.mark.parametrize("cell", [0.0, -1.0, np.nan, np.inf])
def test_cell_must_be_a_length(cell):
    with pytest.raises(GridError, match="cannot make a grid"):
        Grid(UTM, 500_000.0, 4_500_000.0, cell, 3, 4)


@pytest.mark.parametrize(("rows", "cols"), [(0, 4), (3, 0), (-1, 2)])
def test_grid_needs_cells(rows, cols):
    with pytest.raises(GridError, match=f"{rows} rows and {cols} columns"):
        Grid(UTM, 500_000.0, 4_500_000.0, 10.0, rows, cols)


@pytest.mark.parametrize(
    ("lon", "lat", "code"),
    [(-86.5, 40.0, 32616), (151.2, -33.9, 32756), (25.7, 66.5, 32635), (-179.9, 10.0, 32601)],
)
def test_utm_zone(lon, lat, code):
    # A zone is 6 degrees wide, the first starts at 180 W; southern zones count from 32700.
    assert utm_crs(lon, lat).to_epsg() == code
    assert code % 100 == int((lon + 180) // 6) + 1


@pytest.mark.parametrize("lat", [88.0, -85.0])
def test_poles_have_no_utm_zone(lat):
    with pytest.raises(GridError, match="no UTM zone"):
        utm_crs(10.0, lat)


def test_a_value_cannot_be_changed_and_equals_its_like(grid):
    assert grid == dataclasses.replace(grid)
    assert grid != dataclasses.replace(grid, cell_m=5.0)
    with pytest.raises(dataclasses.FrozenInstanceError):
        grid.cell_m = 5.0


def test_layer_has_the_shape_of_its_grid(grid):
    values = np.zeros((3, 4), np.float32)
    assert Layer("slope_deg", values, grid, "deg").values is values
    with pytest.raises(ValueError, match=r"\(4, 3\).*\(3, 4\)"):
        Layer("slope_deg", values.T, grid, "deg")
