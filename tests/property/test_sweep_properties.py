"""What must hold for any land and any sun, whatever the numbers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from suitability.sun import Scene, lit_hours, sweep_hours

MANY = settings(max_examples=80, deadline=None)

shapes = st.tuples(st.integers(1, 17), st.integers(1, 17))
seeds = st.integers(0, 2**32 - 1)
azimuths = st.integers(0, 35_999).map(lambda hundredths: hundredths / 100)
altitudes = st.floats(1, 85)
lines = st.sampled_from([1, 2])
cells = st.sampled_from([0.5, 1.0, 10.0])


def scene(shape, seed, cell):
    """Return a rough surface and receivers above its ground, as tall as a few cells."""
    rng = np.random.default_rng(seed)
    ground = rng.normal(0, cell / 3, shape)
    standing = np.where(rng.random(shape) < 0.2, rng.uniform(0, 6 * cell, shape), 0)
    surface = (ground + standing).astype(np.float32)
    return surface, (ground + rng.uniform(0, cell, shape)).astype(np.float32)


def suns(seed, count=6):
    rng = np.random.default_rng(seed)
    return rng.uniform(0, 360, count), rng.uniform(2, 70, count), rng.uniform(0.1, 1, count)


def lit(surface, receiver, cell, azimuth, altitude, n, first=(0, 0)):
    """Return which cells one position lights, anchored to the whole grid by `first`."""
    one = np.ones(1, np.float32)
    made = Scene.of(surface, receiver, cell)
    return lit_hours(made, [azimuth], [altitude], one, lines_per_cell=n, first_cell=first)


def assert_same_light(a, b):
    """Allow one cell on the very edge of a shadow, where the last bit decides."""
    assert a.shape == b.shape
    assert np.count_nonzero(a != b) <= 1


# ------------------------------------------------------------------------------------- symmetry


@MANY
@given(shape=shapes, seed=seeds, cell=cells, azimuth=azimuths, altitude=altitudes, n=lines)
def test_mirrors_and_turns(shape, seed, cell, azimuth, altitude, n):
    east, south = np.sin(np.radians(azimuth)), np.cos(np.radians(azimuth))
    assume(abs(abs(east) - abs(south)) > 1e-6)  # either axis may be swept at 45 degrees
    high, low = scene(shape, seed, cell)
    found = lit(high, low, cell, azimuth, altitude, n)

    turned_over = lit(high.T, low.T, cell, 270 - azimuth, altitude, n)
    np.testing.assert_array_equal(turned_over, found.T)

    # Lines are anchored to row and column 0 of the whole grid: mirrored, those are the last.
    last_row, last_col = 1 - shape[0], 1 - shape[1]
    west_east = lit(high[:, ::-1], low[:, ::-1], cell, -azimuth, altitude, n, (0, last_col))
    assert_same_light(west_east, found[:, ::-1])
    upside_down = lit(high[::-1], low[::-1], cell, 180 - azimuth, altitude, n, (last_row, 0))
    assert_same_light(upside_down, found[::-1])
    quarter = lit(np.rot90(high), np.rot90(low), cell, azimuth - 90, altitude, n, (last_col, 0))
    assert_same_light(quarter, np.rot90(found))


@MANY
@given(
    shape=shapes,
    seed=seeds,
    azimuth=st.sampled_from([0.0, 90.0, 180.0, 270.0]),
    altitude=altitudes,
    n=lines,
)
def test_light_along_the_cells_is_what_a_row_of_posts_gives(shape, seed, azimuth, altitude, n):
    """Lit is what stands as high as every cell towards the sun, less the fall of light."""
    cell = 2.0
    high, low = scene(shape, seed, cell)
    found = lit(high, low, cell, azimuth, altitude, n)
    # Turn the scene so that light comes from row 0.
    turns = {0.0: 0, 90.0: 1, 180.0: 2, 270.0: 3}[azimuth]
    posts, heads = np.rot90(high, turns).astype(float), np.rot90(low, turns).astype(float)
    fall = cell * np.tan(np.radians(altitude))
    expected = np.ones(posts.shape)
    for row in range(1, len(posts)):
        away = np.arange(row, 0, -1)[:, None]
        expected[row] = heads[row] >= (posts[:row] - away * fall).max(axis=0)
    assert_same_light(np.rot90(found, turns), expected)


@MANY
@given(seed=seeds, corner=st.sampled_from([45.0, 135.0, 225.0, 315.0]), n=lines)
def test_quarter_turns_keep_diagonal_light(seed, corner, n):
    high, low = scene((13, 9), seed, 1.0)
    found = lit(high, low, 1.0, corner, 20.0, n)
    turned = lit(np.rot90(high), np.rot90(low), 1.0, corner - 90, 20.0, n)
    assert_same_light(turned, np.rot90(found))


# -------------------------------------------------------------------------------- more and less


@MANY
@given(shape=shapes, seed=seeds, cell=cells, n=lines, data=st.data())
def test_raising_an_occluder_never_adds_sun(shape, seed, cell, n, data):
    high, low = scene(shape, seed, cell)
    row = data.draw(st.integers(0, shape[0] - 1))
    col = data.draw(st.integers(0, shape[1] - 1))
    taller = high.copy()
    taller[row, col] += np.float32(data.draw(st.floats(0, 50)))
    before = sweep_hours(high, low, cell, *suns(seed), lines_per_cell=n)
    after = sweep_hours(taller, low, cell, *suns(seed), lines_per_cell=n)
    assert (after <= before).all()
    # A cell does not shade itself.
    assert after[row, col] == before[row, col]


@MANY
@given(shape=shapes, seed=seeds, cell=cells, n=lines, lift=st.floats(0, 50))
def test_raising_a_receiver_never_removes_sun(shape, seed, cell, n, lift):
    high, low = scene(shape, seed, cell)
    before = sweep_hours(high, low, cell, *suns(seed), lines_per_cell=n)
    after = sweep_hours(high, low + np.float32(lift), cell, *suns(seed), lines_per_cell=n)
    assert (after >= before).all()


@MANY
@given(shape=shapes, seed=seeds, n=lines)
def test_order_of_positions_does_not_matter(shape, seed, n):
    high, low = scene(shape, seed, 1.0)
    azimuth, altitude, hours = suns(seed, 40)
    shuffled = np.random.default_rng(seed).permutation(40)
    one = sweep_hours(high, low, 1.0, azimuth, altitude, hours, lines_per_cell=n)
    two = sweep_hours(
        high, low, 1.0, azimuth[shuffled], altitude[shuffled], hours[shuffled], lines_per_cell=n
    )
    np.testing.assert_allclose(one, two, atol=2e-5)
    alone = sum(
        sweep_hours(high, low, 1.0, *position, lines_per_cell=n)
        for position in zip(azimuth, altitude, hours, strict=True)
    )
    np.testing.assert_allclose(one, alone, atol=2e-5)
    assert one.max() <= hours.sum() + 2e-5
    assert one.min() >= 0


@MANY
@given(shape=shapes, seed=seeds, azimuth=azimuths, altitude=altitudes, n=lines)
def test_datum_does_not_matter(shape, seed, azimuth, altitude, n):
    high, low = scene(shape, seed, 1.0)
    for height in (-64, 256):
        lifted = lit(high + height, low + height, 1.0, azimuth, altitude, n)
        assert_same_light(lifted, lit(high, low, 1.0, azimuth, altitude, n))


@MANY
@given(shape=shapes, seed=seeds, n=lines, scale=st.sampled_from([0.25, 0.5, 2.0, 8.0, 0.3048]))
def test_unit_of_length_does_not_matter(shape, seed, n, scale):
    high, low = scene(shape, seed, 1.0)
    one = sweep_hours(high, low, 1.0, *suns(seed), lines_per_cell=n)
    factor = np.float32(scale)
    other = sweep_hours(high * factor, low * factor, scale, *suns(seed), lines_per_cell=n)
    if scale == 0.3048:  # no power of two: the last bit may decide
        assert_same_light(one, other)
    else:
        np.testing.assert_array_equal(one, other)


# ------------------------------------------------------------------------------------- unknown


@MANY
@given(shape=shapes, seed=seeds, n=lines)
def test_unknown_receivers_stay_unknown_and_change_nothing(shape, seed, n):
    high, low = scene(shape, seed, 1.0)
    gone = np.random.default_rng(seed).random(shape) < 0.3
    known = sweep_hours(high, low, 1.0, *suns(seed), lines_per_cell=n)
    found = sweep_hours(
        high, np.where(gone, np.float32(np.nan), low), 1.0, *suns(seed), lines_per_cell=n
    )
    np.testing.assert_array_equal(np.isnan(found), gone)
    np.testing.assert_array_equal(found[~gone], known[~gone])


@MANY
@given(shape=shapes, seed=seeds, n=lines)
def test_unknown_surface_never_shades(shape, seed, n):
    high, low = scene(shape, seed, 1.0)
    gone = np.random.default_rng(seed).random(shape) < 0.3
    unknown = np.where(gone, np.float32(np.nan), high)
    found = sweep_hours(unknown, low, 1.0, *suns(seed), lines_per_cell=n)
    assert (found >= sweep_hours(high, low, 1.0, *suns(seed), lines_per_cell=n)).all()
    abyss = np.where(gone, np.float32(-1e20), high)
    np.testing.assert_array_equal(
        found, sweep_hours(abyss, low, 1.0, *suns(seed), lines_per_cell=n)
    )
    nothing = np.full(shape, np.float32(np.nan))
    every = sweep_hours(nothing, low, 1.0, *suns(seed), lines_per_cell=n)
    np.testing.assert_allclose(every, suns(seed)[2].sum(), rtol=1e-6)


# ------------------------------------------------------------------------------------ same bits


@MANY
@given(
    seed=seeds,
    quadrant=st.sampled_from([0, 90, 180, 270]),
    n=lines,
    cut=st.tuples(st.integers(0, 12), st.integers(0, 12)),
    origin=st.tuples(st.integers(0, 5000), st.integers(0, 5000)),
)
def test_part_with_all_that_lies_sunward_has_the_bits_of_the_whole(seed, quadrant, n, cut, origin):
    shape = (27, 22)
    high, low = scene(shape, seed, 1.0)
    rng = np.random.default_rng(seed)
    azimuth = quadrant + rng.uniform(0.5, 89.5, 20)
    altitude, hours = rng.uniform(2, 60, 20), rng.uniform(0.1, 1, 20)
    whole = lit_hours(
        Scene.of(high, low, 1.0), azimuth, altitude, hours, lines_per_cell=n, first_cell=origin
    )
    # North of the sun's quadrant is cut at the bottom, and so on.
    rows = slice(0, shape[0] - cut[0]) if quadrant in (0, 270) else slice(cut[0], None)
    cols = slice(cut[1], None) if quadrant in (0, 90) else slice(0, shape[1] - cut[1])
    part = Scene.of(high[rows, cols], low[rows, cols], 1.0)
    first = (origin[0] + (rows.start or 0), origin[1] + (cols.start or 0))
    found = lit_hours(part, azimuth, altitude, hours, lines_per_cell=n, first_cell=first)
    # A cell also takes light along the line beside it: one cell more must be known.
    inner_rows = slice(0, found.shape[0] - 1) if quadrant in (0, 270) else slice(1, None)
    inner_cols = slice(1, None) if quadrant in (0, 90) else slice(0, found.shape[1] - 1)
    np.testing.assert_array_equal(
        found[inner_rows, inner_cols], whole[rows, cols][inner_rows, inner_cols]
    )


def test_lines_are_anchored_to_the_whole_grid():
    high, low = scene((60, 50), 3, 1.0)
    azimuth, altitude, hours = suns(3, 50)
    made = Scene.of(high, low, 1.0)
    here = lit_hours(made, azimuth, altitude, hours)
    there = lit_hours(made, azimuth, altitude, hours, first_cell=(7, 13))
    assert (here != there).any()
    assert np.abs(here - there).mean() < 0.1 * here.mean()


# ------------------------------------------------------------------------------------- extremes


@MANY
@given(shape=shapes, seed=seeds, azimuth=azimuths, altitude=st.floats(-90, 0), n=lines)
def test_sun_at_or_under_the_horizon_gives_nothing(shape, seed, azimuth, altitude, n):
    high, low = scene(shape, seed, 1.0)
    assert (sweep_hours(high, low, 1.0, azimuth, altitude, 1.0, lines_per_cell=n) == 0).all()


@given(shape=shapes, n=lines)
@settings(max_examples=20, deadline=None)
def test_no_position_gives_no_hours(shape, n):
    high, low = scene(shape, 1, 1.0)
    found = sweep_hours(high, low, 1.0, [], [], [], lines_per_cell=n)
    assert found.shape == shape
    assert found.dtype == np.float32
    assert (found == 0).all()


@MANY
@given(shape=shapes, seed=seeds, azimuth=azimuths, n=lines)
@pytest.mark.parametrize("altitude", [89.95, 90.0])
def test_sun_overhead_lights_everything_but_deep_shafts(altitude, shape, seed, azimuth, n):
    high, low = scene(shape, seed, 1.0)
    assert (sweep_hours(high, low, 1.0, azimuth, altitude, 1.0, lines_per_cell=n) == 1).all()


@given(azimuth=azimuths, altitude=altitudes, n=lines, height=st.floats(-400, 3000))
@MANY
def test_one_cell_is_always_lit(azimuth, altitude, n, height):
    one = np.full((1, 1), height, np.float32)
    assert sweep_hours(one, one, 1.0, azimuth, altitude, 1.0, lines_per_cell=n)[0, 0] == 1


@MANY
@given(shape=shapes, azimuth=azimuths, altitude=altitudes, n=lines, height=st.floats(-400, 3000))
def test_level_land_is_lit_all_over(shape, azimuth, altitude, n, height):
    level = np.full(shape, height, np.float32)
    assert (sweep_hours(level, level, 10.0, azimuth, altitude, 1.0, lines_per_cell=n) == 1).all()
