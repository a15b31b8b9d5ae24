"""Shares of land cover, with the edge of woodland worked by hand."""

import numpy as np
import pytest

from suitability.grid import Window
from suitability.inputs.legend import NO_CLASS, load_legend
from suitability.layers import Cover, cover_share

NLCD = load_legend("nlcd")
WATER, CROP, WOOD, PASTURE = 11, 82, 41, 81
FORAGING = NLCD.codes_of(["water", "wetland", "grass"])


def share(codes, window, **more):
    codes = np.asarray(codes, np.int16)
    known = Window(0, 0, *codes.shape)
    return cover_share(Cover(codes, known, NLCD), window, FORAGING, cell_m=10.0, **more)


def test_groups_names_and_codes():
    assert {11, 71, 72, 81, 90, 95} == FORAGING
    assert NLCD.codes_of(["Deciduous forest", 82]) == {41, 82}
    assert NLCD.codes_of(["Grass"]) == {71, 72, 81}
    assert load_legend("worldcover").codes_of(["wetland"]) == {90, 95}


def test_share_of_land_that_counts():
    row = [CROP, WATER, PASTURE, CROP, WOOD, CROP, CROP]
    found = share([row] * 3, Window(1, 1, 1, 5), within_m=10.0)
    # Each cell, its two neighbours across, and two of its own kind above and below.
    np.testing.assert_allclose(found, [[4 / 5, 4 / 5, 1 / 5, 0, 0]])


def test_unknown_cover_does_not_count():
    row = [NO_CLASS, WATER, CROP]
    found = share([row] * 3, Window(1, 1, 1, 1), within_m=10.0)
    np.testing.assert_allclose(found, [[3 / 4]])
    assert np.isnan(share(np.full((3, 3), NO_CLASS), Window(1, 1, 1, 1), within_m=10.0)).all()


@pytest.mark.parametrize(
    ("edge_m", "edges"), [(None, [0, 0, 0, 0]), (10.0, [1, 0, 0, 0]), (20.0, [1, 1, 0, 0]),
                          (4.0, [1, 0, 0, 0])]
)  # fmt: skip
def test_woodland_counts_as_far_as_its_edge_reaches(edge_m, edges):
    # Crops, then a wood to the end of what is known: only towards the crops has it an edge. An
    # edge narrower than a cell is the first cell.
    codes = np.full((9, 12), WOOD)
    codes[:, :4] = CROP
    codes[:, 9:] = NO_CLASS
    found = share(codes, Window(4, 4, 1, 4), within_m=0.0, woodland_edge_m=edge_m)
    np.testing.assert_array_equal(found, [edges])


def test_crops_beside_a_wood_are_no_edge():
    codes = np.full((7, 8), WOOD)
    codes[:, :4] = CROP
    found = share(codes, Window(3, 2, 1, 2), within_m=0.0, woodland_edge_m=10.0)
    np.testing.assert_array_equal(found, [[0, 0]])


def test_a_piece_has_the_shares_of_the_whole():
    codes = np.random.default_rng(2).choice([WATER, CROP, WOOD, PASTURE, NO_CLASS], (60, 70))
    options = {"within_m": 95.0, "woodland_edge_m": 20.0}
    whole = share(codes, Window(11, 11, 38, 48), **options)
    for window in (Window(11, 11, 7, 9), Window(30, 40, 19, 19), Window(11, 50, 38, 9)):
        part = window.grown(11)
        cover = Cover(np.asarray(codes, np.int16)[part.slices], part, NLCD)
        found = cover_share(cover, window, FORAGING, cell_m=10.0, **options)
        np.testing.assert_array_equal(found, whole[window.within(Window(11, 11, 38, 48))])
