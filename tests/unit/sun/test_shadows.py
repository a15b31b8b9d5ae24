"""Cast shadows on small land, by hand; and what is refused."""

import numpy as np
import pytest

from suitability.sun import (
    Scene,
    lit_hours,
    margin_needed_m,
    season_hours,
    sun_positions,
    sweep_hours,
)


def test_post_casts_its_height_at_45_degrees():
    surface = np.zeros((1, 9))
    surface[0, 2] = 2.5
    ground = np.zeros((1, 9))
    from_west = sweep_hours(surface, ground, 1.0, 270.0, 45.0, 2.0)
    np.testing.assert_array_equal(from_west, [[2, 2, 2, 0, 0, 2, 2, 2, 2]])  # not itself: it is lit
    from_east = sweep_hours(surface, ground, 1.0, 90.0, 45.0, 2.0)
    np.testing.assert_array_equal(from_east, [[0, 0, 2, 2, 2, 2, 2, 2, 2]])
    from_north = sweep_hours(surface.T, ground.T, 1.0, 0.0, 45.0, 2.0)
    np.testing.assert_array_equal(from_north, from_west.T)
    higher = sweep_hours(surface, ground + 1.0, 1.0, 270.0, 45.0, 2.0)
    np.testing.assert_array_equal(higher, [[2, 2, 2, 0, 2, 2, 2, 2, 2]])


def test_hours_of_positions_add_up():
    surface = np.zeros((1, 9))
    surface[0, 4] = 2.5
    found = sweep_hours(surface, surface * 0, 1.0, [270, 90, 270], [45, 45, -1], [0.5, 0.25, 9])
    expected = [[0.75, 0.75, 0.5, 0.5, 0.75, 0.25, 0.25, 0.75, 0.75]]
    np.testing.assert_array_equal(found, expected)


@pytest.mark.parametrize(
    ("lat", "month", "lit_side"), [(-40.0, "06", "north"), (40.0, "12", "south")]
)
def test_winter_sun_lights_the_equatorward_side_of_a_wall(lat, month, lit_side):
    surface = np.zeros((40, 81), np.float32)
    surface[19:21] = 8.0
    sun = sun_positions(lat, 147.0, start=f"{month}-01", end=f"{month}-30", linke_turbidity=3.0)
    scene = Scene.of(surface, np.full_like(surface, 2.0), 1.0)
    mean = season_hours(scene, sun, 0.0).mean
    north, south = mean[16:19, 30:50].mean(), mean[21:24, 30:50].mean()
    lit, dark = (north, south) if lit_side == "north" else (south, north)
    assert lit > dark + 4


def test_morning_sun_lights_the_east_side_and_afternoon_sun_the_west():
    surface = np.zeros((81, 40), np.float32)
    surface[:, 19:21] = 8.0
    sun = sun_positions(40.0, -86.0, start="06-01", end="06-30", every_days=10)
    season = season_hours(Scene.of(surface, np.full_like(surface, 2.0), 1.0), sun, 0.0)
    west, east = np.s_[30:50, 15:18], np.s_[30:50, 22:25]
    assert season.morning[east].mean() > season.morning[west].mean() + 3
    assert season.afternoon[west].mean() > season.afternoon[east].mean() + 3


def test_season_is_the_mean_of_its_months_and_halves():
    rng = np.random.default_rng(1)
    surface = rng.uniform(0, 6, (30, 23)).astype(np.float32)
    receiver = rng.uniform(2, 5, (30, 23)).astype(np.float32)
    receiver[3, 4] = np.nan
    sun = sun_positions(45.0, 10.0, start="03-20", end="06-05", step_min=30)
    scene = Scene.of(surface, receiver, 2.0)
    season = season_hours(scene, sun, 1.5)
    assert set(season.months) == {3, 4, 5, 6}
    mean = sum(sun.share_of_season[m] * hours for m, hours in season.months.items())
    np.testing.assert_allclose(season.mean, mean, atol=1e-5)
    np.testing.assert_allclose(season.morning + season.afternoon, season.mean, atol=1e-6)
    direct = lit_hours(scene, sun.azimuth_deg - 1.5, sun.altitude_deg, sun.season_hours)
    known = ~np.isnan(receiver)
    np.testing.assert_allclose(season.mean[known], direct[known], atol=1e-4)
    for values in (season.mean, season.morning, season.afternoon, *season.months.values()):
        np.testing.assert_array_equal(np.isnan(values), ~known)
    stacked = np.stack(list(season.months.values()))
    np.testing.assert_array_equal(season.darkest_month, stacked.min(axis=0))
    # The number of threads changes no bit.
    alone = season_hours(scene, sun, 1.5, threads=1)
    np.testing.assert_array_equal(alone.mean, season.mean)


def test_progress_runs_to_the_end():
    told = []
    sun = sun_positions(45.0, 10.0, start="05-01", end="06-30", step_min=60)
    season_hours(Scene.of(np.zeros((4, 4)), np.ones((4, 4)), 1.0), sun, 0.0, progress=told.append)
    assert told == sorted(told)
    assert told[-1] == 1


def test_polar_night_has_no_hours():
    sun = sun_positions(80.0, 0.0, start="12-01", end="12-31")
    season = season_hours(Scene.of(np.zeros((4, 4)), np.ones((4, 4)), 1.0), sun, 0.0)
    assert (season.mean == 0).all()
    assert (season.darkest_month == 0).all()
    assert (margin_needed_m(np.ones((4, 4)), np.zeros((4, 4)), sun) == 0).all()


def test_margin_is_relief_over_the_lowest_sun():
    sun = sun_positions(40.0, 0.0, rule="altitude", min_altitude_deg=10.0)
    surface = np.array([[30.0, 0.0, np.nan]], np.float32)
    receiver = np.array([[40.0, 4.0, np.nan]], np.float32)
    lowest = sun.altitude_deg.min()
    assert 10 < lowest < 11
    expected = [[0, 26 / np.tan(np.radians(lowest)), np.nan]]
    np.testing.assert_allclose(margin_needed_m(surface, receiver, sun), expected, rtol=1e-5)


@pytest.mark.parametrize(
    ("surface", "receiver", "cell", "says"),
    [
        (np.zeros((2, 3)), np.zeros((3, 2)), 1.0, "must be alike"),
        (np.zeros(3), np.zeros(3), 1.0, "2-D"),
        (np.zeros((0, 3)), np.zeros((0, 3)), 1.0, "2-D"),
        (np.zeros((2, 3)), np.zeros((2, 3)), 0.0, "not a length"),
        (np.zeros((2, 3)), np.zeros((2, 3)), np.nan, "not a length"),
    ],
)
def test_scene_is_refused(surface, receiver, cell, says):
    with pytest.raises(ValueError, match=says):
        Scene.of(surface, receiver, cell)


@pytest.mark.parametrize(
    ("azimuth", "altitude", "hours", "lines", "says"),
    [
        ([1, 2], [1], [1, 1], 1, "differ"),
        ([[1]], [[1]], [[1]], 1, "differ"),
        ([np.nan], [10], [1], 1, "finite"),
        ([10], [np.inf], [1], 1, "finite"),
        ([10], [10], [1], 3, "1 or 2, not 3"),
    ],
)
def test_positions_are_refused(azimuth, altitude, hours, lines, says):
    level = np.zeros((2, 3))
    with pytest.raises(ValueError, match=says):
        sweep_hours(level, level, 1.0, azimuth, altitude, hours, lines_per_cell=lines)


def test_inputs_are_left_as_they_were():
    surface = np.arange(12, dtype=np.float32).reshape(3, 4)
    receiver = surface + 1
    copies = surface.copy(), receiver.copy()
    sweep_hours(surface, receiver, 1.0, [10, 100], [20, 20], [1, 1])
    np.testing.assert_array_equal(surface, copies[0])
    np.testing.assert_array_equal(receiver, copies[1])
