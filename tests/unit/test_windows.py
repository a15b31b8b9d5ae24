"""Windows, tiles and coarser grids, worked by hand."""

import numpy as np
import pyproj
import pytest

from suitability.grid import Grid, Window

UTM = pyproj.CRS.from_epsg(32616)
GRID = Grid(UTM, 500_000.0, 4_500_000.0, 10.0, 5, 8)
NUMBERS = np.arange(40).reshape(5, 8)


def test_a_window_selects_its_cells():
    np.testing.assert_array_equal(NUMBERS[Window(1, 2, 2, 3).slices], [[10, 11, 12], [18, 19, 20]])
    np.testing.assert_array_equal(NUMBERS[GRID.whole.slices], NUMBERS)
    assert GRID.whole == Window(0, 0, 5, 8)


def test_a_window_grows_on_every_side_and_is_cut_at_the_grid():
    grown = Window(1, 2, 2, 3).grown(2)
    assert grown == Window(-1, 0, 6, 7)
    assert grown.clipped(GRID.shape) == Window(0, 0, 5, 7)
    assert Window(1, 2, 2, 3).grown(0) == Window(1, 2, 2, 3)
    assert Window(3, 6, 9, 9).clipped(GRID.shape) == Window(3, 6, 2, 2)
    assert GRID.whole.grown(9).clipped(GRID.shape) == GRID.whole


def test_the_window_around_two_has_both_within():
    one, other = Window(1, 7, 2, 3), Window(4, 2, 1, 6)
    assert one.around(other) == other.around(one) == Window(1, 2, 4, 8)
    assert one.around(one) == one
    assert one.cells == 6


def test_a_window_is_found_in_one_around_it():
    outer, inner = Window(1, 2, 4, 6), Window(2, 5, 2, 1)
    found = NUMBERS[outer.slices][inner.within(outer)]
    np.testing.assert_array_equal(found, [[21], [29]])
    np.testing.assert_array_equal(found, NUMBERS[inner.slices])
    # An outer window may begin before the grid.
    assert Window(0, 0, 2, 2).within(Window(-3, -1, 9, 9)) == (slice(3, 5), slice(1, 3))


def test_windows_stand_in_order_of_rows_then_columns():
    tiles = [Window(4, 0, 1, 4), Window(0, 4, 4, 4), Window(0, 0, 4, 4)]
    assert sorted(tiles) == tiles[::-1]


def test_the_grid_of_a_window_has_the_cells_of_the_whole():
    part = GRID.window(Window(1, 2, 2, 3))
    assert part == Grid(UTM, 500_020.0, 4_499_990.0, 10.0, 2, 3)
    np.testing.assert_array_equal(part.xy([0, 1], [0, 2]), GRID.xy([1, 2], [2, 4]))
    assert GRID.window(GRID.whole) == GRID


def test_the_grid_of_a_window_may_reach_beyond():
    wide = GRID.window(GRID.whole.grown(3))
    assert wide.bounds == (499_970, 4_499_920, 500_110, 4_500_030)
    assert wide.shape == (11, 14)


def test_tiles_cover_the_grid_row_by_row_and_the_last_are_cut():
    assert GRID.tiles(3) == (
        Window(0, 0, 3, 3), Window(0, 3, 3, 3), Window(0, 6, 3, 2),
        Window(3, 0, 2, 3), Window(3, 3, 2, 3), Window(3, 6, 2, 2),
    )  # fmt: skip
    assert GRID.tiles(8) == GRID.tiles(1000) == (GRID.whole,)


@pytest.mark.parametrize("side", [1, 2, 3, 4, 5, 7, 8, 9])
def test_every_cell_lies_in_one_tile(side):
    times = np.zeros(GRID.shape, int)
    for tile in GRID.tiles(side):
        times[tile.slices] += 1
        assert 0 < tile.rows <= side
        assert 0 < tile.cols <= side
    np.testing.assert_array_equal(times, 1)


def test_a_coarser_grid_keeps_its_corner_and_may_reach_beyond():
    coarse = GRID.coarser(3)
    assert (coarse.west, coarse.north, coarse.cell_m) == (500_000, 4_500_000, 30)
    assert coarse.shape == (2, 3)  # 5 rows of 8 in squares of 3
    assert coarse.bounds == (500_000, 4_499_940, 500_090, 4_500_000)
    assert GRID.coarser(1) == GRID
    assert GRID.coarser(100).shape == (1, 1)
    assert GRID.coarser(2).shape == (3, 4)
