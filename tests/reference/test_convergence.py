"""True north on the grid, against published marks and closed forms.

GDA Technical Manual (ICSM, Australia): Flinders Peak and Buninyong, worked by hand there. The
manual's sign is the opposite of PROJ's; which way north lies is checked apart from any sign.
Spherical and conic formulae: J. P. Snyder, Map Projections - A Working Manual, USGS Professional
Paper 1395, 1987 (from memory).
"""

import numpy as np
import pyproj
import pytest

from suitability.grid import WGS84, Grid, transformer
from suitability.sun import sweep_hours


def grid_at(code, x, y, cell=1.0, size=20):
    crs = pyproj.CRS.from_epsg(code)
    half = size * cell / 2
    return Grid(crs, x - half, y + half, cell, size, size)


def grid_at_lonlat(code, lon, lat, **size):
    x, y = transformer(WGS84, pyproj.CRS.from_epsg(code)).transform(lon, lat)
    return grid_at(code, x, y, **size)


def degrees(d, m, s):
    return d + m / 60 + s / 3600


def true_north_from_grid_north(grid):
    """Return where true north lies at the centre, clockwise from grid north, by projecting."""
    x, y = grid.centre
    lon, lat = grid.lonlat(x, y)
    to_grid = transformer(WGS84, grid.crs)
    (x0, x1), (y0, y1) = to_grid.transform([lon, lon], [lat - 1e-5, lat + 1e-5])
    return np.degrees(np.arctan2(x1 - x0, y1 - y0))


MARKS = [  # EPSG, east, north, lon, lat, the manual's convergence
    (
        28355,
        273741.297,
        5796489.777,
        degrees(144, 25, 29.52440),
        -degrees(37, 57, 3.72030),
        -degrees(1, 35, 3.65),
        1.00023056,
    ),
    (
        28354,
        758173.797,
        5828674.340,
        degrees(143, 55, 35.38390),
        -degrees(37, 39, 10.15610),
        degrees(1, 47, 19.36),
        1.00042107,
    ),
    (  # convergence and scale of this row from memory
        28355,
        228854.051,
        5828259.038,
        degrees(143, 55, 35.38390),
        -degrees(37, 39, 10.15610),
        -degrees(1, 52, 43.22),
        1.00050567,
    ),
]


@pytest.mark.parametrize(("code", "east", "north", "lon", "lat", "printed", "scale"), MARKS)
def test_marks_of_the_gda_manual(code, east, north, lon, lat, printed, scale):
    grid = grid_at(code, east, north)
    assert grid.from_lonlat(lon, lat) == pytest.approx((east, north), abs=1e-3)
    # The manual: grid bearing = azimuth + convergence; here: azimuth - convergence.
    assert grid.convergence_deg() == pytest.approx(-printed, abs=0.01 / 3600)
    assert grid.scale_factor() == pytest.approx(scale, abs=1e-8)
    assert true_north_from_grid_north(grid) == pytest.approx(printed, abs=1e-4)


def test_bearing_from_flinders_peak_to_buninyong():
    # The manual: azimuth 306 52 05.37, grid bearing 305 17 01.72.
    grid = grid_at(28355, 273741.297, 5796489.777)
    bearing = degrees(306, 52, 5.37) - grid.convergence_deg()
    assert bearing == pytest.approx(degrees(305, 17, 1.72), abs=0.01 / 3600)
    # The projected geodesic is bent: the straight line of the grid lies 20" beside it.
    east, north = 228854.051 - 273741.297, 5828259.038 - 5796489.777
    assert bearing == pytest.approx(np.degrees(np.arctan2(east, north)) % 360, abs=0.01)


@pytest.mark.parametrize(
    ("lon", "expected"), [(-96, 0.0), (-85, 6.63193), (-75, 12.66096), (-120, -14.46967)]
)
@pytest.mark.parametrize("lat", [35.0, 41.0])
def test_albers_of_the_united_states(lon, expected, lat):
    grid = grid_at_lonlat(5070, lon, lat)
    assert grid.convergence_deg() == pytest.approx(expected, abs=1e-4)
    # A cone: n times the longitude from the middle, n = 0.602903.
    assert grid.convergence_deg() == pytest.approx(0.602903 * (lon + 96), abs=1e-4)
    assert true_north_from_grid_north(grid) == pytest.approx(-expected, abs=1e-3)


@pytest.mark.parametrize("lon", [-90.0, -88.5, -87.0, -84.0])
@pytest.mark.parametrize(("code", "lat"), [(32616, 33.0), (32616, 60.0), (32716, -40.0)])
def test_utm_by_the_formula_of_the_sphere(code, lon, lat):
    grid = grid_at_lonlat(code, lon, lat)
    sphere = np.degrees(np.arctan(np.tan(np.radians(lon + 87)) * np.sin(np.radians(lat))))
    assert grid.convergence_deg() == pytest.approx(sphere, abs=1e-3)
    assert true_north_from_grid_north(grid) == pytest.approx(-sphere, abs=1e-3)
    if (code, lat) == (32616, 33.0):
        computed = {-90.0: -1.63498, -88.5: -0.81709, -87.0: 0.0, -84.0: 1.63498}
        assert grid.convergence_deg() == pytest.approx(computed[lon], abs=1e-4)


@pytest.mark.parametrize(
    ("code", "lon", "lat"),
    [
        *[(32616, -89.9, 60.0), (32616, -84.1, 45.0), (32716, -89.9, -55.0)],
        *[(5070, -75.0, 41.0), (3035, -8.0, 40.0)],
    ],
)
@pytest.mark.parametrize("azimuth", [180.0, 135.0, 260.0, 10.0])
def test_shadow_of_a_tower_lies_on_the_geodesic(code, lon, lat, azimuth):
    """The shadow's end is where a walk on the earth, not on the grid, would look for it."""
    cell, height, altitude = 1.0, 100.0, 22.0
    grid = grid_at_lonlat(code, lon, lat, cell=cell, size=601)
    surface = np.zeros(grid.shape, np.float32)
    surface[299:302, 299:302] = height
    lit = sweep_hours(
        surface,
        np.zeros_like(surface),
        cell,
        azimuth - grid.convergence_deg(),
        altitude,
        1.0,
        lines_per_cell=2,
    )
    length = height / np.tan(np.radians(altitude))
    shaded = np.argwhere((lit == 0) & (surface == 0))
    away = np.hypot(*(shaded - 300).T)
    assert away.max() * cell == pytest.approx(length, abs=3 * cell)
    row, col = shaded[away > 0.6 * length].mean(axis=0)
    x, y = grid.west + (col + 0.5) * cell, grid.north - (row + 0.5) * cell
    lons, lats = grid.lonlat([grid.centre[0], x], [grid.centre[1], y])
    forward, _, distance = pyproj.Geod(ellps="WGS84").inv(lons[0], lats[0], lons[1], lats[1])
    # Half a cell across at the shadow's end; and a grid that does not keep angles (equal-area
    # cones and planes) bends other directions than north by up to its angular distortion.
    bent = pyproj.Proj(grid.crs).get_factors(lon, lat).angular_distortion
    allowed = np.degrees(0.5 * cell / distance) + bent
    turned = (forward - (azimuth + 180) + 180) % 360 - 180
    assert abs(turned) <= allowed
    # Without the turn the shadow would miss by the convergence, which is far more.
    assert abs(grid.convergence_deg()) > 3 * allowed
