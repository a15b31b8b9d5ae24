"""A season's hours over a scene, by hand: open land, a wall in the east, land that is unknown."""

from dataclasses import replace

import numpy as np
import pytest

from suitability.sun import Scene, margin_needed_m, season_hours, sun_positions

FLAT = np.zeros((6, 9), np.float32)
SUN = sun_positions(40.0, -86.0, start="04-20", end="06-10", step_min=60, every_days=10)


def hours(surface, receiver=None, **more):
    scene = Scene.of(surface, np.zeros_like(surface) if receiver is None else receiver, 10.0)
    return season_hours(scene, SUN, 0.0, **more)


def test_open_land_has_all_the_hours_of_the_sun():
    found = hours(FLAT)
    by_month = {m: SUN.hours[SUN.month == m].sum() for m in (4, 5, 6)}
    assert set(found.months) == {4, 5, 6}
    for month, expected in by_month.items():
        np.testing.assert_allclose(found.months[month], expected, rtol=1e-6)
    np.testing.assert_allclose(found.darkest_month, min(by_month.values()), rtol=1e-6)
    morning = SUN.season_hours[SUN.is_morning].sum()
    np.testing.assert_allclose(found.morning, morning, rtol=1e-6)
    np.testing.assert_allclose(found.afternoon, SUN.season_hours.sum() - morning, rtol=1e-6)
    np.testing.assert_allclose(found.mean, SUN.season_hours.sum(), rtol=1e-6)
    assert {values.dtype for values in (found.mean, found.morning, *found.months.values())} == {
        np.dtype(np.float32)
    }


def test_a_wall_in_the_east_takes_the_morning():
    surface = FLAT.copy()
    surface[:, -1] = 40.0
    found, open_land = hours(surface), hours(FLAT)
    near = (3, 7)
    assert found.morning[near] < 0.5 * open_land.morning[near]
    assert found.afternoon[near] == open_land.afternoon[near]
    assert found.mean[near] == found.morning[near] + found.afternoon[near]


def test_a_receiver_that_is_unknown_has_no_hours_and_a_part_is_cut_out():
    receiver = FLAT.copy()
    receiver[2, 3] = np.nan
    whole = hours(FLAT, receiver)
    for values in (whole.mean, whole.morning, whole.afternoon, whole.darkest_month):
        assert np.argwhere(np.isnan(values)).tolist() == [[2, 3]]
    part = (slice(1, 4), slice(2, 9))
    cut = hours(FLAT, receiver, part=part)
    np.testing.assert_array_equal(cut.mean, whole.mean[part])
    np.testing.assert_array_equal(cut.months[5], whole.months[5][part])


@pytest.mark.parametrize("threads", [1, 3])
def test_progress_rises_to_one_and_threads_change_nothing(threads):
    shares: list[float] = []
    found = hours(FLAT, threads=threads, progress=shares.append)
    assert shares == sorted(shares)
    assert len(shares) == 6  # three months' mornings and afternoons
    assert 0 < shares[0] < 1
    assert shares[-1] == pytest.approx(1)
    np.testing.assert_array_equal(found.mean, hours(FLAT).mean)


def test_margin_is_the_relief_above_a_receiver_over_the_lowest_sun():
    surface = np.array([[0, 30, np.nan]], np.float32)
    receiver = np.array([[10, 40, 0]], np.float32)
    sun = replace(SUN.those(np.arange(3)), altitude_deg=np.array([60.0, 45.0, 70.0]))
    found = margin_needed_m(surface, receiver, sun)
    np.testing.assert_allclose(found, [[20, 0, 30]], rtol=1e-6)
    assert found.dtype == np.float32
    never = margin_needed_m(surface, receiver, SUN.those(np.arange(0)))
    np.testing.assert_array_equal(never, np.zeros((1, 3)))
