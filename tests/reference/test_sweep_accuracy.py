"""The sweep against a plain ray march over the same bilinear surface.

Bars: over a random tree scene |bias| <= 0.02 h a day, root mean square error <= 0.08 and 99th
percentile <= 0.30 with one line a cell; 0.045 and 0.16 with two. Errors come from the edges of
crowns, so they grow with the trees; where crowns cover a fifth of the land and more, one line
keeps the bar away from the crowns only, and two lines everywhere.

The march costs far more than the sweep, so it looks at a random part of the cells.
"""

from functools import lru_cache
from typing import NamedTuple

import matplotlib.cbook
import numpy as np
import pytest
from brute_force import march_hours, tree_scene

from suitability.layers import distance_to
from suitability.sun import (
    Scene,
    horizon,
    hours_by_month,
    season_hours,
    sun_positions,
    sweep_hours,
)

MOUNT_M = 4.6
# Root mean square error and 99th percentile, by lines a cell. [h]
BARS = {1: (0.08, 0.30), 2: (0.045, 0.16)}
BIAS = 0.02


class Case(NamedTuple):
    """What is measured: a scene, its sun, and the march's hours where it looked (else NaN)."""

    surface: np.ndarray
    receiver: np.ndarray
    cell: float
    sun: tuple[np.ndarray, np.ndarray, np.ndarray]  # azimuth, altitude, hours
    marched: np.ndarray
    away: np.ndarray  # distance to the nearest crown, in cells


@lru_cache
def season():
    return sun_positions(40.0, -86.0, step_min=20, every_days=10)


def season_sun():
    path = season()
    return path.azimuth_deg, path.altitude_deg, path.season_hours


def all_round_sun(count=640):
    """Return the season's altitudes in every direction alike, with the hours of its mean day."""
    path = season()
    altitude = np.sort(path.altitude_deg)[np.linspace(0, len(path) - 1, count).astype(int)]
    golden = np.arange(count) * 137.50776 % 360
    return golden, altitude, np.full(count, path.season_hours.sum() / count)


def marched_part(surface, receiver, cell, sun, part):
    unseen = np.random.default_rng(7).random(receiver.shape) > part
    seen = np.where(unseen, np.float32(np.nan), receiver)
    marched = march_hours(surface, seen, cell, *sun)
    marched[np.isnan(seen)] = np.nan
    return marched


@lru_cache
def trees(rows, cols, seed, cover, light):
    ground, canopy = tree_scene(rows, cols, seed=seed, cover=cover)
    surface = ground + canopy
    under = canopy > MOUNT_M
    receiver = np.where(under, np.float32(np.nan), ground + np.float32(MOUNT_M))
    sun = season_sun() if light == "season" else all_round_sun()
    marched = marched_part(surface, receiver, 1.0, sun, 0.15)
    return Case(surface, receiver, 1.0, sun, marched, distance_to(under, 1.0))


@lru_cache
def mountains():
    """Return real terrain without trees: the Jacksboro fault, shipped with matplotlib."""
    data = matplotlib.cbook.get_sample_data("jacksboro_fault_dem.npz")
    ground = data["elevation"].astype(np.float32)
    receiver = ground + np.float32(MOUNT_M)
    marched = marched_part(ground, receiver, 90.0, season_sun(), 0.15)
    return Case(ground, receiver, 90.0, season_sun(), marched, np.full(ground.shape, np.inf))


def errors(case, lines, chosen=slice(None)):
    azimuth, altitude, hours = (values[chosen] for values in case.sun)
    swept = sweep_hours(
        case.surface, case.receiver, case.cell, azimuth, altitude, hours, lines_per_cell=lines
    )
    return swept - case.marched


def assert_within_bars(error, lines, share=1.0):
    known = error[~np.isnan(error)]
    rmse, high = BARS[lines]
    assert known.size > 5000
    assert abs(known.mean()) <= BIAS * share
    assert np.sqrt(np.mean(known**2)) <= rmse * share
    assert np.percentile(np.abs(known), 99) <= high * share


SCENES = [(410, 440, 1, 0.12, "season"), (520, 401, 2, 0.08, "season")]


@pytest.mark.parametrize("lines", [1, 2])
@pytest.mark.parametrize("scene", SCENES)
def test_season_among_trees(scene, lines):
    case = trees(*scene)
    assert case.sun[0].size >= 600
    assert 10 < case.sun[2].sum() < 14  # the hours of a mean day
    assert case.marched[~np.isnan(case.marched)].std() > 1  # a scene with sun and shade
    assert_within_bars(errors(case, lines), lines)


@pytest.mark.parametrize("lines", [1, 2])
def test_sun_from_every_side(lines):
    case = trees(410, 440, 1, 0.12, "all round")
    octants, count = np.unique(case.sun[0] // 45, return_counts=True)
    assert list(octants) == list(range(8))
    assert count.min() >= 75
    assert_within_bars(errors(case, lines), lines)


@pytest.mark.parametrize("octant", range(8))
def test_each_octant_apart(octant):
    # An eighth of the positions spread their errors less than all: the root of an eighth, not an
    # eighth, of the bars is due to them.
    azimuth, altitude, hours = all_round_sun()
    chosen = azimuth // 45 == octant
    ground, canopy = tree_scene(410, 440, seed=4, cover=0.12)
    receiver = np.where(canopy > MOUNT_M, np.float32(np.nan), ground + np.float32(MOUNT_M))
    sun = azimuth[chosen], altitude[chosen], hours[chosen]
    marched = marched_part(ground + canopy, receiver, 1.0, sun, 0.08)
    for lines in (1, 2):
        swept = sweep_hours(ground + canopy, receiver, 1.0, *sun, lines_per_cell=lines)
        assert_within_bars(swept - marched, lines, share=8**-0.5)
        assert abs(np.nanmean(swept - marched)) <= BIAS / 8


@pytest.mark.parametrize("lines", [1, 2])
def test_dense_trees(lines):
    case = trees(402, 430, 3, 0.25, "season")
    error = errors(case, lines)
    if lines == 1:
        error = np.where(case.away >= 2, error, np.nan)
    assert_within_bars(error, lines)


@pytest.mark.parametrize("lines", [1, 2])
def test_season_among_mountains(lines):
    case = mountains()
    assert np.nanmin(case.marched) < np.nanmax(case.marched) - 1
    assert_within_bars(errors(case, lines), lines)


@pytest.mark.parametrize(("lines", "bar"), [(1, 0.30), (2, 0.16)])
def test_march_of_a_points_horizon_agrees_with_the_raster(lines, bar):
    case = trees(*SCENES[0])
    convergence = 1.7
    path = season()
    scene = Scene.of(case.surface, case.receiver, case.cell)
    raster = season_hours(scene, path, convergence, lines_per_cell=lines)
    open_cells = np.argwhere(case.away >= 2)  # touching no crown
    at = open_cells[np.random.default_rng(2).integers(0, len(open_cells), 60)]
    for row, col in at:
        profile = horizon(case.surface, case.cell, row, col, case.receiver[row, col])
        months = hours_by_month(path, profile, convergence)
        mean = sum(hours * path.share_of_season[month] for month, hours in months.items())
        assert mean == pytest.approx(raster.mean[row, col], abs=bar)
        for month, hours in months.items():
            # A month has three sampled days here: a position is 0.11 hours of it.
            assert hours == pytest.approx(raster.months[month][row, col], abs=0.6)
        halves = raster.morning[row, col] + raster.afternoon[row, col]
        assert raster.mean[row, col] == pytest.approx(halves, abs=1e-5)
