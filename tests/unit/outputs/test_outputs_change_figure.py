"""The map of a comparison: its classes and what wins a coarse cell."""

import numpy as np
import pyproj
import pytest
from matplotlib.colors import to_rgb
from PIL import Image

from suitability.grid import Grid
from suitability.outputs import change_figure
from suitability.outputs.change_figure import (
    ChangeMap,
    class_ends,
    classes_of,
    draw_change,
    majority,
    paint,
)
from suitability.outputs.picture_page import Words

NAN = np.nan
GRID = Grid(pyproj.CRS.from_epsg(32616), 728_000.0, 4_454_000.0, 5.0, 4, 6)


def content(moved, came_in=None, went_out=None):
    moved = np.asarray(moved, np.float32)
    nowhere = np.zeros(moved.shape, np.bool_)
    return ChangeMap(
        GRID, moved, nowhere if came_in is None else came_in,
        nowhere if went_out is None else went_out, (1,), np.array([728_010.0]),
        np.array([4_453_990.0]), np.array([728_020.0]), np.array([4_453_985.0]),
    )  # fmt: skip


@pytest.mark.parametrize(("most", "last"), [(0, 0.02), (0.02, 0.02), (0.021, 0.05), (0.7, 1)])
def test_the_classes_reach_as_far_as_most_changes(most, last):
    moved = np.array([most, -most, most, NAN], np.float32)
    assert class_ends(moved) == pytest.approx((0.1 * last, 0.5 * last, last))


def test_few_cells_that_moved_far_do_not_stretch_the_classes():
    moved = np.full(1000, 0.01, np.float32)
    moved[:5] = 0.9
    assert class_ends(moved)[-1] == 0.02


def test_each_change_falls_into_the_class_the_key_names():
    moved = np.array([-1, -0.2, -0.19, -0.1, -0.05, -0.02, -0.01, 0, 0.02, 0.1, 0.2, 1], np.float32)
    expected = [0, 0, 1, 1, 2, 2, 3, 3, 4, 5, 6, 6]
    assert classes_of(moved, (0.02, 0.1, 0.2)).tolist() == expected


def test_land_that_came_in_or_went_out_has_its_own_colours():
    moved = np.full(GRID.shape, NAN, np.float32)
    came_in, went_out = (np.zeros(GRID.shape, np.bool_) for _ in range(2))
    came_in[0, 0] = went_out[1, 1] = True
    moved[2, 2] = 0.0
    picture = paint(content(moved, came_in, went_out), (0.02, 0.1, 0.2))
    assert picture[0, 0] == pytest.approx(to_rgb(change_figure._CAME_IN))
    assert picture[1, 1] == pytest.approx(to_rgb(change_figure._WENT_OUT))
    assert picture[2, 2] == pytest.approx(to_rgb(change_figure.CHANGE_COLOURS[3]))
    assert picture[3, 3] == pytest.approx((1, 1, 1))


def test_the_commonest_wins_a_coarse_cell():
    both, came, went = (
        np.array([3, 1, 0, 2, 0]),
        np.array([1, 2, 2, 2, 0]),
        np.array([0, 1, 3, 0, 0]),
    )
    is_in, is_out = majority((both, came, went))
    assert is_in.tolist() == [False, True, False, False, False]
    assert is_out.tolist() == [False, False, True, False, False]


def test_rises_are_drawn_where_they_are(tmp_path):
    moved = np.full(GRID.shape, -0.5, np.float32)
    moved[:, 3:] = 0.5
    path = tmp_path / "change.png"
    draw_change(path, Words("Land", ("how",)), content(moved))
    with Image.open(path) as picture:
        pixels = np.asarray(picture.convert("RGB"), np.float64) / 255
    middle = pixels.shape[0] // 2
    falls, rises = (np.array(to_rgb(change_figure.CHANGE_COLOURS[k])) for k in (0, 6))
    assert pixels[middle, 500] == pytest.approx(falls, abs=0.01)
    assert pixels[middle, 1300] == pytest.approx(rises, abs=0.01)
