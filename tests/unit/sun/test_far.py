"""Land beyond a scene, seen coarsely: its squares by hand, and whether it casts its shadows."""

import numpy as np
import pyproj
import pytest

from suitability.grid import Grid, Window
from suitability.plan import far_square
from suitability.sun import FarLand, Scene, season_hours, sun_positions

NAN = np.nan
UTM = pyproj.CRS.from_epsg(32616)


# --- squares by hand --------------------------------------------------------------------------

HILLS = np.array(
    [
        [1, 2, 3, 4, 5],
        [6, 0, NAN, 8, 7],
        [NAN, NAN, 10, 30, NAN],
        [NAN, NAN, 20, 40, NAN],
    ],
    np.float32,
)


def test_light_along_the_rows_meets_the_highest_of_each_column():
    # Squares of 2: maxima down the columns (6, 2; 3, 8; 7, and below 20, 40), then their mean.
    found = FarLand.of(HILLS, 2)
    np.testing.assert_array_equal(found.along_rows, np.float32([[4, 5.5, 7], [NAN, 30, NAN]]))
    assert found.along_rows.dtype == np.float32
    assert found.block == 2


def test_light_along_the_columns_meets_the_highest_of_each_row():
    # Maxima along the rows (2, 6; 4, 8; 5, 7, and below 30, 40), then their mean; turned.
    found = FarLand.of(HILLS, 2)
    np.testing.assert_array_equal(found.along_cols, np.float32([[4, NAN], [6, 35], [6, NAN]]))


def test_a_turned_land_is_seen_turned():
    straight, turned = FarLand.of(HILLS, 2), FarLand.of(HILLS.T.copy(), 2)
    np.testing.assert_array_equal(straight.along_rows, turned.along_cols)
    np.testing.assert_array_equal(straight.along_cols, turned.along_rows)


def test_squares_of_one_cell_are_the_land_and_one_square_is_all_of_it():
    np.testing.assert_array_equal(FarLand.of(HILLS, 1).along_rows, HILLS)
    np.testing.assert_array_equal(FarLand.of(HILLS, 1).along_cols, HILLS.T)
    # Maxima of the columns: 6, 2, 20, 40, 7.
    assert FarLand.of(HILLS, 8).along_rows.tolist() == [[15.0]]


@pytest.mark.parametrize("side", [4, 8, 12])
def test_tiles_of_whole_squares_see_what_the_whole_sees(side):
    land = np.random.default_rng(2).normal(300, 20, (30, 41)).astype(np.float32)
    land[5:12, 8:20] = NAN
    whole = FarLand.of(land, 4)
    for row in range(0, 30, side):
        for col in range(0, 41, side):
            part = FarLand.of(land[row : row + side, col : col + side], 4)
            down = slice(row // 4, row // 4 + part.along_rows.shape[0])
            across = slice(col // 4, col // 4 + part.along_rows.shape[1])
            np.testing.assert_array_equal(part.along_rows, whole.along_rows[down, across])
            np.testing.assert_array_equal(part.along_cols, whole.along_cols[across, down])


# --- land beyond a tile's surroundings --------------------------------------------------------

SIDE = 96  # cells along the tile
SEEN_M = 302.0  # around the tile at full resolution
CREST_M = 600.0  # from the tile's side to a ridge
AROUND_M = 800.0  # from the tile's side to the end of the land


class Place:
    """A tile amid its surroundings amid the whole land, in cells of a size."""

    def __init__(self, cell_m):
        self.cell_m = cell_m
        before = -(-int(AROUND_M / cell_m) // 16) * 16
        self.tile = Window(before, before, SIDE, SIDE)
        self.whole = Window(0, 0, SIDE + 2 * before, SIDE + 2 * before)
        # As wide as a run has them.
        self.square = far_square(Grid(UTM, 0.0, 0.0, cell_m, self.whole.rows, self.whole.cols))
        self.around = self.tile.grown(int(SEEN_M / cell_m))

    def beyond(self, side):
        """Return how far cells lie beyond a side of the tile, and how far along it. [m]."""
        row, col = np.mgrid[: self.whole.rows, : self.whole.cols] * self.cell_m
        first, last = self.tile.row * self.cell_m, (self.tile.row + SIDE) * self.cell_m
        return {
            "north": (first - row, col),
            "south": (row - last, col),
            "west": (first - col, row),
            "east": (col - last, row),
        }[side]

    def hours(self, land, sun, window, *, far=None):
        """Return the hours of the tile, its land seen from `window`."""
        seen = land[window.slices]
        return season_hours(
            Scene.of(seen, seen + np.float32(4), self.cell_m),
            sun,
            0.0,
            first_cell=(window.row, window.col),
            part=self.tile.within(window),
            far=far,
        )


def ridge(place, side):
    """Return rolling land with a wooded crest of 60 to 100 m beyond a side of the tile. [m]."""
    away, along = place.beyond(side)
    ground = 2 * np.sin(along / 90 + 1) + 1.5 * np.cos(away / 70)
    hill = (80 + 20 * np.sin(along / 150)) * np.exp(-(((away - CREST_M) / 60) ** 2))
    trees = np.random.default_rng(4).random(ground.shape) < 0.1
    return (ground + hill + 15 * trees * (hill > 10)).astype(np.float32)


def season(side):
    """Return the sun when it stands low beyond a side of the tile.

    In the east and west it does so at 45 degrees north on every morning and evening; in the north
    and south only nearer to the pole, about midsummer and from late summer on.
    """
    lat_deg, start, end = {
        "west": (45.0, "04-01", "09-30"),
        "east": (45.0, "04-01", "09-30"),
        "north": (60.0, "04-01", "09-30"),
        "south": (62.0, "08-15", "10-31"),
    }[side]
    return sun_positions(lat_deg, -86.0, start=start, end=end, step_min=10, every_days=5, year=2025)


@pytest.mark.parametrize("cell_m", [1.0, 2.0, 5.0, 10.0])
@pytest.mark.parametrize("side", ["west", "east", "north", "south"])
def test_a_far_ridge_shades_a_tile_as_it_does_in_the_whole(side, cell_m):
    place, sun = Place(cell_m), season(side)
    land = ridge(place, side)
    whole = place.hours(land, sun, place.whole)
    far = place.hours(land, sun, place.around, far=FarLand.of(land, place.square))
    alone = place.hours(land, sun, place.around)
    assert far.mean.shape == (SIDE, SIDE)
    apart, without = (np.abs(found.mean - whole.mean) for found in (far, alone))
    assert np.quantile(apart, 0.999) <= 0.05
    # What the ridge takes is not seen without far land.
    assert np.quantile(without, 0.999) > 0.06
    assert apart.mean() < 0.5 * without.mean()


@pytest.mark.parametrize("wall_m", [410.0, 430.0, 450.0, 470.0, 500.0])
def test_a_wall_close_behind_what_is_seen_is_not_lost(wall_m):
    """Its square tells it up to half a square too near or too far: 40 m of 410, not all of it."""
    place, sun = Place(5.0), season("west")
    away, _ = place.beyond("west")
    land = np.where((away >= wall_m) & (away < wall_m + 15), 70, 0).astype(np.float32)
    whole = place.hours(land, sun, place.whole)
    far = place.hours(land, sun, place.around, far=FarLand.of(land, place.square))
    alone = place.hours(land, sun, place.around)
    apart, without = (np.abs(found.mean - whole.mean) for found in (far, alone))
    assert apart.mean() < 0.5 * without.mean()
    assert np.quantile(apart, 0.999) <= 0.1


@pytest.mark.parametrize("cut", [0, 1, 7, 8, 9, 15])
def test_far_land_changes_nothing_where_the_tile_sees_all_of_it(cut):
    """Nor do squares at the end of the land that are cut short."""
    place = Place(5.0)
    land = ridge(place, "east")[: place.whole.rows - cut, : place.whole.cols - cut]
    # Ragged trees at the very edge, which must not shade one another from beyond it.
    land[-3:] += np.float32(20) * (np.random.default_rng(1).random(land[-3:].shape) < 0.6)
    everything = Window(0, 0, *land.shape)
    sun = season("south")
    whole = place.hours(land, sun, everything)
    scene = Scene.of(land, land + np.float32(4), 5.0)
    plain, far = (
        season_hours(scene, sun, 0.0, far=one).mean
        for one in (None, FarLand.of(land, place.square))
    )
    np.testing.assert_array_equal(far, plain)
    np.testing.assert_array_equal(whole.mean, plain[place.tile.slices])


def test_unknown_far_land_casts_no_shadow():
    place, sun = Place(5.0), season("east")
    land = ridge(place, "east")
    alone = place.hours(land, sun, place.around)
    unknown = FarLand.of(np.full_like(land, NAN), place.square)
    far = place.hours(land, sun, place.around, far=unknown)
    np.testing.assert_array_equal(far.mean, alone.mean)
