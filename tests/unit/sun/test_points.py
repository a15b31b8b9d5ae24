"""The horizon of one point, by hand, and the hours that follow from it."""

from dataclasses import replace

import numpy as np
import pytest
from sun_geometry import path_of_day

from suitability.sun import face_is_lit, horizon, hours_by_facing, hours_by_month, is_lit


def wall_to_the_east(rows=41, cols=41, height=12.0):
    surface = np.zeros((rows, cols), np.float32)
    surface[:, 30:] = height
    return surface


def test_horizon_of_a_wall():
    # 10 cells of 2 m to the wall's top; the point hangs 4 m above the ground.
    found = horizon(wall_to_the_east(), 2.0, 20, 20, 4.0)
    assert found.shape == (360,)
    assert found[90] == pytest.approx(np.degrees(np.arctan(8 / 20)), abs=0.01)
    # Slantwise the same wall stands further away.
    away = 20 / np.sin(np.radians(60))
    assert found[60] == pytest.approx(np.degrees(np.arctan(8 / away)), abs=0.35)
    assert found[60] == pytest.approx(found[120], abs=1e-6)
    # Westwards the ground lies below the point as far as it is known: 20 cells.
    assert found[270] == pytest.approx(-np.degrees(np.arctan(4 / 40)), abs=1e-6)


@pytest.mark.parametrize(
    ("row", "col", "dark"), [(0, 5, [90, 270]), (8, 5, [90, 270]), (4, 0, [0, 180, 360])]
)
def test_ray_along_the_outer_cells_stays_on_them(row, col, dark):
    # sin(180 degrees) is not quite 0 in floating point: the ray must not leave by that.
    surface = np.full((9, 11), 5.0, np.float32)
    found = horizon(surface, 1.0, row, col, 0.0, azimuth_deg=dark)
    assert (found > 30).all()


def test_where_no_land_is_known_nothing_hides_the_sky():
    surface = np.full((9, 9), 5.0, np.float32)
    assert horizon(surface, 1.0, 0, 4, 0.0, azimuth_deg=[0.0])[0] == -90
    surface[:4] = np.nan
    assert horizon(surface, 1.0, 4, 4, 0.0, azimuth_deg=[0.0])[0] == -90
    assert horizon(surface, 1.0, 4, 4, 0.0, azimuth_deg=[180.0])[0] > 30


def test_point_between_centres():
    surface = wall_to_the_east()
    found = horizon(surface, 2.0, 20.0, 20.5, 4.0, azimuth_deg=[90.0])
    assert found[0] == pytest.approx(np.degrees(np.arctan(8 / 19)), abs=0.01)


def test_crown_half_a_cell_away():
    surface = np.zeros((9, 9), np.float32)
    surface[:, 5] = 10.0
    found = horizon(surface, 2.0, 4, 4.5, 8.0, azimuth_deg=[90.0])
    assert found[0] == pytest.approx(np.degrees(np.arctan(2 / 1)), abs=1e-4)


@pytest.mark.parametrize(
    ("row", "col", "height"), [(-0.1, 3, 1.0), (3, 9, 1.0), (3, 3, np.nan), (np.nan, 3, 1.0)]
)
def test_point_outside_is_refused(row, col, height):
    with pytest.raises(ValueError, match="no point"):
        horizon(np.zeros((9, 9)), 1.0, row, col, height)


def test_horizon_is_seen_in_the_grids_own_direction():
    # The wall stands to grid east; true east lies 30 degrees off it.
    profile = np.full(360, -1.0)
    profile[80:101] = 89.0
    sun = path_of_day(0, 0)  # rises due east, sets due west
    lit = is_lit(sun, profile, 0.0)
    assert not lit[sun.altitude_deg.argmax() - 300]  # the morning sun
    assert is_lit(sun, profile, 30.0)[:100].all()
    # True azimuth 90 less a convergence of -30 is grid azimuth 120.
    turned = np.roll(profile, 30)
    np.testing.assert_array_equal(is_lit(sun, turned, -30.0)[:200], is_lit(sun, profile, 0.0)[:200])


def test_coarse_profile_is_interpolated_across_north():
    sun = path_of_day(-40, 0, step_min=1.0)  # noon in the north
    profile = np.array([50.0, 0.0, 0.0, 50.0])  # at 0, 90, 180, 270 degrees
    at = np.interp(sun.azimuth_deg, [0, 90, 180, 270, 360], [50, 0, 0, 50, 50])
    np.testing.assert_array_equal(is_lit(sun, profile, 0.0), sun.altitude_deg >= at)


def test_hours_add_up():
    sun = path_of_day(40, 10)
    profile = np.where(np.arange(360) < 180, 20.0, 0.0)  # a ridge to the east
    hours = hours_by_month(sun, profile, 0.0)
    assert set(hours) == {6}
    faces = hours_by_facing(sun, profile, 0.0, [90.0, 270.0])
    assert faces.sum() == pytest.approx(hours[6])
    assert faces[0] < faces[1]
    assert hours_by_facing(sun, np.full(360, 90.0), 0.0, 180.0) == pytest.approx([0.0])


@pytest.mark.parametrize(("row", "col"), [(0, 0), (8, 6), (7.5, 6), (8, 5.5)])
def test_a_point_on_the_outer_cells_is_inside(row, col):
    assert horizon(np.zeros((9, 7)), 1.0, row, col, 1.0).max() < 0


@pytest.mark.parametrize(("row", "col"), [(8.1, 3), (9, 3), (3, 6.1), (3, 7), (3, -0.1)])
def test_a_point_beyond_them_is_not(row, col):
    with pytest.raises(ValueError, match="in 9 x 7 cells"):
        horizon(np.zeros((9, 7)), 1.0, row, col, 1.0)


def test_horizon_closes_across_north_whatever_the_convergence():
    profile = [0] * 360  # whole numbers, as somebody may write them
    profile[0], profile[350] = 40, 60
    sun = path_of_day(40, 10)
    some = sun.those(np.arange(4))
    for azimuth, convergence, hidden in (
        (359.5, 0.0, 20.0),  # halfway between 0 at 359 and 40 at 0 degrees
        (0.25, 0.0, 30.0),
        (10.0, 20.0, 60.0),  # grid azimuth 350
        (340.0, -10.0, 60.0),
        (340.0, -20.0, 40.0),
    ):
        at = replace(
            some,
            azimuth_deg=np.full(4, azimuth),
            altitude_deg=hidden + np.array([-1, -0.01, 0, 0.01]),
        )
        assert is_lit(at, profile, convergence).tolist() == [False, False, True, True]


def test_faces_get_the_sun_before_them_alone():
    some = path_of_day(40, 10).those(np.arange(4))
    sun = replace(
        some, azimuth_deg=np.array([1.0, 89.0, 91.0, 179.0]), altitude_deg=np.full(4, 10.0)
    )
    found = face_is_lit(sun, [0] * 8, 0.0, [0, 90, 180])  # whole numbers again
    assert found.tolist() == [
        [True, True, False, False],
        [True, True, True, True],
        [False, False, True, True],
    ]
    hours = hours_by_facing(sun, [0] * 8, 0.0, [0, 90])
    assert hours == pytest.approx([sun.season_hours[:2].sum(), sun.season_hours.sum()])
