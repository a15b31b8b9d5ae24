"""Slope and hillshade: Horn's gradients.

B. K. P. Horn, Hill shading and the reflectance map, Proc. IEEE 69, 14-47, 1981 (formula as in the
teaching window of Masaryk University's course Z8113, whose elevations are used here; its results
were computed from the printed formula). xarray-spatial is an independent implementation.
"""

import numpy as np
import pyproj
import pytest
import xarray
import xrspatial

from suitability.grid import Grid
from suitability.kernels.terrain import horn_gradients
from suitability.layers import Land, aspect_deg, slope_deg
from suitability.sun import hillshade

WINDOW = np.array([[80, 74, 63], [69, 67, 56], [60, 52, 48]], np.float32)
INSIDE = (slice(1, -1), slice(1, -1))
UTM = pyproj.CRS.from_epsg(32616)


def slope_of(ground, cell):
    ground = np.asarray(ground, np.float32)
    grid = Grid(UTM, 500_000.0, 4_500_000.0, cell, *ground.shape)
    flat = np.zeros_like(ground)
    return slope_deg(Land(grid, ground, flat, flat, 4.0))


def aspect_of(ground, cell=1.0, convergence=0.0, **more):
    ground = np.asarray(ground, np.float32)
    grid = Grid(UTM, 500_000.0, 4_500_000.0, cell, *ground.shape)
    flat = np.zeros_like(ground)
    return aspect_deg(Land(grid, ground, flat, flat, 4.0), convergence, **more)


def rolling_land(rows=37, cols=52):
    row, col = np.mgrid[:rows, :cols]
    return (9 * np.sin(col / 5) + 7 * np.cos(row / 7) + 0.02 * row * col / 9).astype(np.float32)


@pytest.mark.parametrize(
    ("cell", "slope", "shade"), [(10, 50.271, 0.0), (30, 21.855, 0.3972), (100, 6.861, 0.6189)]
)
def test_teaching_window(cell, slope, shade):
    east, north = horn_gradients(WINDOW, float(cell))
    assert east[1, 1] * cell == pytest.approx(-6.875, abs=1e-4)
    assert north[1, 1] * cell == pytest.approx(9.875, abs=1e-4)
    downhill = np.degrees(np.arctan2(-east[1, 1], -north[1, 1])) % 360
    assert downhill == pytest.approx(145.154, abs=1e-3)
    assert slope_of(WINDOW, cell)[1, 1] == pytest.approx(slope, abs=1e-3)
    assert hillshade(WINDOW, cell, 315.0, 45.0)[1, 1] == pytest.approx(shade, abs=1e-4)


def test_light_behind_the_window_is_cut_at_zero_not_wrapped():
    # At 10 m the cosine is -0.0833; a lower window of the same shape shows that number as light.
    east, north = (g[1, 1] for g in horn_gradients(WINDOW, 10.0))
    toward = np.sin(np.radians(315)), np.cos(np.radians(315))
    cosine = (
        (1 - toward[0] * east - toward[1] * north)
        * np.sqrt(0.5)
        / np.hypot(1, np.hypot(east, north))
    )
    assert cosine == pytest.approx(-0.0833, abs=1e-4)
    assert hillshade(WINDOW, 10.0)[1, 1] == 0
    assert hillshade(WINDOW, 10.0, azimuth_deg=135.0)[1, 1] > 0.9


@pytest.mark.parametrize("cell", [0.5, 2.0, 30.0])
@pytest.mark.parametrize(("a", "b"), [(0, 0), (1, 0), (0, -1), (0.3, 0.4), (-2.0, 0.7)])
def test_planes_are_exact_up_to_the_edge(a, b, cell):
    row, col = np.mgrid[:7, :11] * cell
    z = (a * col - b * row + 100).astype(np.float32)
    east, north = horn_gradients(z, cell)
    np.testing.assert_allclose(east, a, atol=2e-5)
    np.testing.assert_allclose(north, b, atol=2e-5)
    np.testing.assert_allclose(slope_of(z, cell), np.degrees(np.arctan(np.hypot(a, b))), atol=2e-3)
    light = np.array([np.sin(2.1) * 0.6, np.cos(2.1) * 0.6, 0.8])
    normal = np.array([-a, -b, 1.0]) / np.sqrt(1 + a * a + b * b)
    found = hillshade(z, cell, np.degrees(2.1), np.degrees(np.arcsin(0.8)))
    np.testing.assert_allclose(found, max(light @ normal, 0), atol=1e-4)


def test_light_square_on_a_plane_is_one():
    z = np.repeat(np.arange(8, dtype=np.float32)[:, None], 5, axis=1)  # falls northwards by 45
    np.testing.assert_allclose(hillshade(z, 1.0, 0.0, 45.0), 1.0, atol=1e-6)
    np.testing.assert_allclose(hillshade(z, 1.0, 180.0, 45.0), 0.0, atol=1e-6)


def test_quadratics_are_exact_at_the_centre():
    row, col = np.mgrid[-4:5, -4:5].astype(float)
    x, y = col * 3, -row * 3
    z = (0.02 * x**2 + 0.01 * x * y - 0.03 * y**2 + 0.5 * x).astype(np.float32)
    east, north = horn_gradients(z, 3.0)
    np.testing.assert_allclose(east[INSIDE], (0.04 * x + 0.01 * y + 0.5)[INSIDE], atol=1e-5)
    np.testing.assert_allclose(north[INSIDE], (0.01 * x - 0.06 * y)[INSIDE], atol=1e-5)


def test_unknown_cells_give_unknown_slope_around_them():
    z = rolling_land(9, 9)
    z[4, 5] = np.nan
    unknown = np.zeros(z.shape, bool)
    unknown[3:6, 4:7] = True
    np.testing.assert_array_equal(np.isnan(slope_of(z, 10.0)), unknown)
    np.testing.assert_array_equal(np.isnan(hillshade(z, 10.0)), unknown)


@pytest.mark.parametrize("shape", [(1, 1), (1, 6), (6, 1), (2, 2)])
def test_narrow_grids(shape):
    z = np.arange(np.prod(shape), dtype=np.float32).reshape(shape)
    east, north = horn_gradients(z, 1.0)
    # Along the numbers of a row the land rises by 1; down a row by the row's length.
    np.testing.assert_allclose(east, 1.0 if shape[1] > 1 else 0.0, atol=1e-6)
    np.testing.assert_allclose(north, -shape[1] if shape[0] > 1 else 0.0, atol=1e-6)


def as_xarray(z, cell):
    rows, cols = z.shape
    return xarray.DataArray(
        z,
        dims=("y", "x"),
        coords={"y": np.arange(rows)[::-1] * cell, "x": np.arange(cols) * cell},
        attrs={"res": (cell, cell)},
    )


@pytest.mark.parametrize("cell", [1.0, 10.0])
def test_slope_as_xarray_spatial_finds_it(cell):
    z = rolling_land()
    expected = xrspatial.slope(as_xarray(z, cell)).to_numpy()
    np.testing.assert_allclose(slope_of(z, cell)[INSIDE], expected[INSIDE], atol=1e-3)


def test_downhill_as_xarray_spatial_finds_it():
    z = rolling_land()
    east, north = horn_gradients(z, 1.0)
    downhill = np.degrees(np.arctan2(-east, -north)) % 360
    expected = xrspatial.aspect(as_xarray(z, 1.0)).to_numpy()
    sloping = np.hypot(east, north)[INSIDE] > 1e-3
    apart = (downhill - expected)[INSIDE][sloping]
    assert np.abs((apart + 180) % 360 - 180).max() < 0.02


@pytest.mark.parametrize(("azimuth", "altitude"), [(315, 45), (10, 60), (140, 20), (250, 75)])
def test_hillshade_as_xarray_spatial_finds_it(azimuth, altitude):
    # It takes two-point differences on cells of 1 m, which are Horn's on a plane, and returns
    # (cosine + 1) / 2.
    row, col = np.mgrid[:9, :12]
    for a, b in [(0.2, 0.5), (-0.7, 0.1), (0.0, -1.2)]:
        z = (a * col - b * row).astype(np.float32)
        theirs = xrspatial.hillshade(as_xarray(z, 1.0), azimuth, altitude).to_numpy()
        expected = np.maximum(2 * theirs - 1, 0)
        found = hillshade(z, 1.0, azimuth, altitude)
        np.testing.assert_allclose(found[INSIDE], expected[INSIDE], atol=1e-5)


def test_cast_shadows_darken_and_nothing_else():
    z = np.zeros((20, 30), np.float32)
    z[8:12, 10:14] = 6.0
    plain = hillshade(z, 1.0, 270.0, 30.0)
    cast = hillshade(z, 1.0, 270.0, 30.0, cast_shadows=True)
    shadow = np.zeros(z.shape, bool)
    shadow[8:12, 14:24] = True  # 6 m at 30 degrees: 10.4 m eastwards
    assert (cast[shadow] == 0).all()
    far = np.zeros(z.shape, bool)
    far[:6], far[14:], far[:, :9], far[:, 26:] = True, True, True, True
    np.testing.assert_array_equal(cast[far], plain[far])
    assert (cast <= plain).all()


def test_exaggeration_steepens_the_shading():
    z = rolling_land()
    np.testing.assert_allclose(
        hillshade(z, 10.0, exaggeration=3.0), hillshade(3 * z, 10.0), atol=1e-5
    )


@pytest.mark.parametrize("cell", [10.0, 30.0, 100.0])
def test_aspect_of_the_teaching_window(cell):
    assert aspect_of(WINDOW, cell)[1, 1] == pytest.approx(145.154, abs=1e-3)


def test_aspect_is_from_true_north():
    # True azimuth = grid azimuth + meridian convergence, with PROJ's sign.
    assert aspect_of(WINDOW, convergence=2.5)[1, 1] == pytest.approx(147.654, abs=1e-3)
    falls_north = np.repeat(np.arange(4.0)[:, None], 5, axis=1)
    np.testing.assert_allclose(aspect_of(falls_north, convergence=-1.5), 358.5, atol=1e-3)


@pytest.mark.parametrize(("a", "b", "facing"), [(0, -1, 0), (-1, 0, 90), (0, 1, 180), (1, 0, 270)])
def test_planes_face_downhill(a, b, facing):
    row, col = np.mgrid[:5, :6]
    found = aspect_of(a * col - b * row)
    np.testing.assert_allclose((found - facing + 180) % 360 - 180, 0, atol=1e-4)
    assert ((found >= 0) & (found < 360)).all()


def test_level_ground_faces_nowhere():
    assert np.isnan(aspect_of(np.full((4, 5), 7.0))).all()
    gentle = np.repeat(np.arange(5.0)[None] * 0.01, 4, axis=0)  # 0.57 degrees
    assert np.isfinite(aspect_of(gentle)).all()
    assert np.isnan(aspect_of(gentle, level_below_deg=1.0)).all()


def test_aspect_as_xarray_spatial_finds_it():
    z = rolling_land()
    expected = xrspatial.aspect(as_xarray(z, 1.0)).to_numpy()
    sloping = slope_of(z, 1.0)[INSIDE] > 0.1
    apart = (aspect_of(z) - expected)[INSIDE][sloping]
    assert np.abs((apart + 180) % 360 - 180).max() < 0.02
