"""Cast shadows against closed forms: textbook solar geometry, nothing of the program in it.

The formulae are those of J. A. Duffie and W. A. Beckman, Solar Engineering of Thermal Processes
(chapter 1, from memory), worked out for each scene; every number was recomputed. A shadow may err
by one cell along its length; hours by what one cell changes in them.
"""

import numpy as np
import pytest
from sun_geometry import path_of_day, sun_of_day

from suitability.sun import hours_by_facing, sweep_hours

STEP_MIN = 2.0
STEP_H = STEP_MIN / 60
LINES = [1, 2]


def lit_hours_of_day(surface, receiver, cell, lat, declination, lines):
    _, azimuth, altitude = sun_of_day(lat, declination, step_min=STEP_MIN)
    hours = np.full(azimuth.size, STEP_H)
    return sweep_hours(surface, receiver, cell, azimuth, altitude, hours, lines_per_cell=lines)


# ----------------------------------------------------------------------------------- one tower


def tower(rows, cols, height, at):
    """Return level ground and a tower whose top spans five cells around `at`."""
    surface = np.zeros((rows, cols), np.float32)
    surface[at[0] - 2 : at[0] + 3, at[1] - 2 : at[1] + 3] = height
    return surface


@pytest.mark.parametrize("lines", LINES)
@pytest.mark.parametrize("cell", [0.25, 0.5, 1.0])
@pytest.mark.parametrize("azimuth", range(0, 360, 45))
@pytest.mark.parametrize(
    ("height", "altitude", "length"),
    [(10, 50, 8.391), (10, 26.565, 20.0), (10, 73.44, 2.974), (20, 10, 113.43)],
)
def test_shadow_of_a_tower(height, altitude, length, azimuth, cell, lines):
    reach = int(length / cell) + 12
    rows, cols = 2 * reach + 1, 2 * reach + 8
    at = (reach, reach + 4)
    surface = tower(rows, cols, height, at)
    ground = np.zeros_like(surface)
    lit = sweep_hours(surface, ground, cell, azimuth, altitude, 1.0, lines_per_cell=lines)
    # Walk from the far edge of the tower's top in the direction of the shadow.
    down, right = round(np.cos(np.radians(azimuth))), round(-np.sin(np.radians(azimuth)))
    steps = np.arange(1, reach - 4)
    beyond = lit[at[0] + (2 + steps) * down, at[1] + (2 + steps) * right]
    pace = cell * np.hypot(down, right)
    shaded = np.count_nonzero(beyond == 0)
    assert (beyond[:shaded] == 0).all()
    assert (beyond[shaded:] == 1).all()
    assert shaded * pace == pytest.approx(length, abs=pace)
    # Nothing on the sunny side of the tower is shaded.
    sunny = lit[at[0] - (2 + steps) * down, at[1] - (2 + steps) * right]
    assert (sunny == 1).all()


@pytest.mark.parametrize("lines", LINES)
@pytest.mark.parametrize(("raised", "length"), [(0.0, 10.0), (4.0, 6.0)])
def test_shadow_at_the_height_of_a_box(raised, length, lines):
    surface = tower(61, 41, 10.0, (30, 20))
    receiver = np.full_like(surface, raised)
    lit = sweep_hours(surface, receiver, 0.5, 180.0, 45.0, 1.0, lines_per_cell=lines)
    shaded = np.count_nonzero(lit[:28, 20] == 0)  # north of the tower's last row
    assert shaded * 0.5 == pytest.approx(length, abs=0.5)


# ---------------------------------------------------------------------------------- long walls


@pytest.mark.parametrize("lines", LINES)
@pytest.mark.parametrize("azimuth", [20, 50, 80, 90, 110, 135, 160, 200, 250, 275, 300, 340])
def test_height_of_the_shadow_behind_a_wall(azimuth, lines):
    # Across a wall that runs north to south the shadow's edge falls by tan(altitude) / |sin(az)|.
    cell, height, altitude, wall = 2.0, 30.0, 35.0, 100
    surface = np.zeros((130, 201), np.float32)
    surface[:, wall - 2 : wall + 3] = height
    fall = np.tan(np.radians(altitude)) / abs(np.sin(np.radians(azimuth)))
    away = np.arange(1, 10)
    edge = height - away * cell * fall
    columns = wall - np.sign(np.sin(np.radians(azimuth))).astype(int) * (2 + away)
    one_cell = (
        cell
        * np.tan(np.radians(altitude))
        / np.abs([np.sin(np.radians(azimuth)), np.cos(np.radians(azimuth))]).max()
    )
    middle = slice(50, 80)
    for off, lights in [(0.01, 1.0), (-one_cell - 0.01, 0.0)]:
        receiver = np.full_like(surface, 1e6)
        receiver[:, columns] = edge + off
        known = edge + off > 0.5  # above the ground
        lit = sweep_hours(surface, receiver, cell, azimuth, altitude, 1.0, lines_per_cell=lines)
        assert known.any()
        assert (lit[middle][:, columns[known]] == lights).all()


def wall_clears_at(lat, declination, profile_deg):
    """Return the solar hour at which the sun clears a wall to the east: a plane of that profile."""
    f, d, a = np.radians([lat, declination, profile_deg])
    size = np.cos(d) * np.hypot(np.cos(f), np.tan(a))
    psi = np.arctan2(np.tan(a) * np.cos(d), np.cos(f) * np.cos(d))
    return 12 - np.degrees(np.arccos(-np.sin(f) * np.sin(d) / size) - psi) / 15


def sets_at(lat, declination):
    f, d = np.radians([lat, declination])
    return 12 + np.degrees(np.arccos(-np.tan(f) * np.tan(d))) / 15


@pytest.mark.parametrize("lines", LINES)
@pytest.mark.parametrize("cell", [0.5, 2.0])
@pytest.mark.parametrize("side", ["east", "west"])
@pytest.mark.parametrize(
    ("lat", "declination", "profile", "clears", "hours"),
    [
        (0, 0, 45, 9.0, 9.0),
        (40, 0, 45, 9.5031, 8.4969),
        (40, 23.45, 45, 8.6506, 10.7724),
        (40, 23.45, 30, 7.3404, 12.0826),
    ],
)
def test_hours_beside_a_north_south_wall(
    lat, declination, profile, clears, hours, side, cell, lines
):
    assert wall_clears_at(lat, declination, profile) == pytest.approx(clears, abs=1e-4)
    away, mount = 24, 4.0
    surface = np.zeros((301, 40), np.float32)
    surface[:, 32:] = mount + away * cell * np.tan(np.radians(profile))
    if side == "west":
        surface = surface[:, ::-1].copy()
    receiver = np.full_like(surface, mount)
    lit = lit_hours_of_day(surface, receiver, cell, lat, declination, lines)
    column = 32 - away if side == "east" else 39 - (32 - away)
    found = lit[140:160, column]
    one_cell = np.degrees(np.arctan(np.tan(np.radians(profile)) * away / (away - 1))) - profile
    allowed = abs(wall_clears_at(lat, declination, profile + one_cell) - clears)
    np.testing.assert_allclose(found, hours, atol=allowed + STEP_H)
    # A wall along the cells is known exactly: what is left is the step.
    assert found.mean() == pytest.approx(hours, abs=2 * STEP_H)


@pytest.mark.parametrize("lines", LINES)
@pytest.mark.parametrize("cell", [1.0, 3.0])
def test_equatorward_wall_at_the_equinox_is_a_step(cell, lines):
    # At 40 degrees the profile angle of the equinox sun is 50 degrees all day: a wall that stands
    # higher shades all day, a lower one never.
    rows, cols, wall = 60, 1601, 55
    surface = np.zeros((rows, cols), np.float32)
    surface[wall:] = 20.5 * cell * np.tan(np.radians(50.0))
    _, azimuth, altitude = sun_of_day(40, 0, step_min=6)
    # The wall is not endless: keep the positions whose light would cross it.
    crosses = (altitude > 0) & (np.abs(np.tan(np.radians(azimuth - 180))) * 30 < cols / 2 - 2)
    # Lines of light that run mostly along the wall know its face to a cell.
    across = np.abs(np.cos(np.radians(azimuth))) > np.abs(np.sin(np.radians(azimuth)))
    for chosen, off in [(crosses & across, 0), (crosses & ~across, 1)]:
        hours = np.ones(chosen.sum())
        lit = sweep_hours(
            surface,
            np.zeros_like(surface),
            cell,
            azimuth[chosen],
            altitude[chosen],
            hours,
            lines_per_cell=lines,
        )
        assert hours.size > 30
        middle = lit[:, cols // 2]
        assert (middle[wall - 20 + off : wall] == 0).all()
        assert (middle[: wall - 20 - off] == hours.size).all()


@pytest.mark.parametrize("lines", LINES)
@pytest.mark.parametrize(
    ("lat", "declination", "rim", "hours"),
    [
        (0, 0, 30, 8.0),
        (40, 0, 10, 10.2531),
        (40, 23.45, 10, 12.8950),
        (40, -23.45, 10, 6.9777),
        (40, 23.45, 30, 9.2889),
        (40, -23.45, 26.55, 0.0),
    ],
)
def test_hours_at_the_middle_of_a_round_pit(lat, declination, rim, hours, lines):
    radius, cell, mount = 150, 2.0, 5.0
    row, col = np.mgrid[:321, :335]
    away = np.hypot(row - 155, col - 170)
    wall = mount + radius * cell * np.tan(np.radians(rim))
    surface = np.where(away >= radius, wall, 0.0).astype(np.float32)
    receiver = np.full_like(surface, mount)
    found = lit_hours_of_day(surface, receiver, cell, lat, declination, lines)[155, 170]
    # The rim stands within a cell of its circle: 0.2 degrees at most, at 7 degrees an hour.
    assert found == pytest.approx(hours, abs=0.06)


# --------------------------------------------------------------------------------- tilted planes

FACING = {"S": (1, 0), "N": (-1, 0), "E": (0, 1), "W": (0, -1)}  # rows and columns downhill


def plane(facing, tilt, cell, shape=(61, 53)):
    row, col = np.mgrid[: shape[0], : shape[1]] * cell
    down, right = FACING[facing]
    return (-np.tan(np.radians(tilt)) * (down * row + right * col)).astype(np.float32)


@pytest.mark.parametrize("lines", LINES)
@pytest.mark.parametrize("cell", [1.0, 5.0])
@pytest.mark.parametrize(
    ("lat", "declination", "tilt", "facing", "hours"),
    [
        (40, 23.45, 30, "S", 12.585),
        (40, -23.45, 30, "S", 9.154),
        (40, -23.45, 20, "N", 5.506),
        (40, -23.45, 30, "N", 0.0),
        (40, 23.45, 30, "N", 14.846),
        (40, 0, 30, "E", 9.533),
        (40, 0, 30, "W", 9.533),
        (40, 23.45, 45, "E", 10.772),
        (40, 23.45, 45, "W", 10.772),
        (40, 23.45, 75, "N", 11.975),
        (-40, -23.45, 30, "N", 12.585),  # mirrored in the equator
        (-40, 23.45, 20, "S", 5.506),
    ],
)
def test_hours_on_a_plane(lat, declination, tilt, facing, hours, cell, lines):
    surface = plane(facing, tilt, cell)
    lit = lit_hours_of_day(surface, surface + 0.005 * cell, cell, lat, declination, lines)
    # The outer cells have no land on the side of the sun.
    np.testing.assert_allclose(lit[20:-20, 20:-20], hours, atol=0.05)


def test_steep_poleward_plane_sees_two_sunrises():
    surface = plane("N", 75, 1.0)
    hour, azimuth, altitude = sun_of_day(40, 23.45, step_min=STEP_MIN)
    lights = [
        sweep_hours(surface, surface + 0.005, 1.0, a, h, 1.0)[30, 26] > 0
        for a, h in zip(azimuth, altitude, strict=True)
    ]
    changes = np.flatnonzero(np.diff(np.array(lights, int)))
    at = (hour[changes] + hour[changes + 1]) / 2
    np.testing.assert_allclose(at, [4.577, 10.565, 13.435, 19.423], atol=0.04)


def test_wall_and_plane_of_one_profile_get_the_same_hours():
    hill = plane("E", 45, 1.0)
    on_plane = lit_hours_of_day(hill, hill + 0.005, 1.0, 40, 23.45, 2)[30, 26]
    surface = np.zeros((301, 40), np.float32)
    surface[:, :8] = 24.0
    beside_wall = lit_hours_of_day(surface, np.zeros_like(surface), 1.0, 40, 23.45, 2)[150, 31]
    assert on_plane == pytest.approx(beside_wall, abs=2 * STEP_H)


# ---------------------------------------------------------------------------- faces of a box

FACES = [  # declination, latitude, sky, N, NE, E, SE, S, best
    (23.44, 30, 13.93, 8.42, 6.50, 6.97, 7.43, 5.51, 7.73),
    (23.44, 35, 14.36, 7.46, 6.39, 7.18, 7.97, 6.90, 8.44),
    (23.44, 40, 14.84, 6.99, 6.32, 7.42, 8.52, 7.85, 8.99),
    (23.44, 45, 15.43, 6.85, 6.33, 7.71, 9.10, 8.57, 9.53),
    (23.44, 50, 16.15, 6.99, 6.43, 8.07, 9.72, 9.16, 9.95),
    (0.0, 40, 12.00, 0.0, 3.82, 6.00, 8.18, 12.00, 12.00),
    (15.0, 40, 13.73, 4.22, 5.35, 6.87, 8.39, 9.52, 9.82),
]


@pytest.mark.parametrize(("declination", "lat", "sky", "n", "ne", "e", "se", "s", "best"), FACES)
@pytest.mark.parametrize("convergence", [0.0, 7.3])
def test_hours_on_upright_faces(declination, lat, sky, n, ne, e, se, s, best, convergence):
    sun = path_of_day(lat, declination, step_min=0.5)
    flat = np.zeros(360)
    assert sun.season_hours.sum() == pytest.approx(sky, abs=0.02)
    found = hours_by_facing(sun, flat, convergence, np.arange(0, 360, 45))
    np.testing.assert_allclose(found, [n, ne, e, se, s, se, e, ne], atol=0.02)
    # The best of the equatorward faces, looked for every 5 degrees.
    southward = hours_by_facing(sun, flat, convergence, np.arange(90, 271, 5))
    assert southward.max() == pytest.approx(best, abs=0.02)
    every = hours_by_facing(sun, flat, convergence, np.arange(360))
    # A face and the one behind it share the sky's hours.
    np.testing.assert_allclose(every[:180] + every[180:], sky, atol=0.04)


def test_best_face_at_30_degrees_looks_south_south_east():
    every = hours_by_facing(path_of_day(30, 23.44), np.zeros(360), 0.0, np.arange(360))
    assert abs(int(every[90:180].argmax()) + 90 - 150) <= 3
    assert abs(int(every[180:270].argmax()) + 180 - 210) <= 3
