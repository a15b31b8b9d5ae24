"""What lies within a radius: against a plain count, cell by cell."""

import math

import numpy as np
import pytest

from suitability.layers.focal import (
    above_mean_within,
    count_within,
    density_within,
    half_widths,
    reach_cells,
    share_within,
    window_cells,
)

NAN = np.nan


def around(values, row, col, radius_m, cell_m):
    """Return the values whose centres lie within a radius of a cell's, one by one."""
    rows, cols = values.shape
    return [
        values[r, c]
        for r in range(rows)
        for c in range(cols)
        if math.hypot(r - row, c - col) * cell_m <= radius_m * (1 + 1e-9)
    ]


def inner(values, radius_m, cell_m):
    """Yield the cells that have all their surroundings, in the arrays of all and of the found."""
    reach = reach_cells(radius_m, cell_m)
    for r in range(values.shape[0] - 2 * reach):
        for c in range(values.shape[1] - 2 * reach):
            yield (r, c), (r + reach, c + reach)


@pytest.mark.parametrize(
    ("radius_m", "cell_m", "widths", "cells"),
    [
        (0.9, 1.0, [0], 1),
        (1.0, 1.0, [1, 0], 5),
        (1.5, 1.0, [1, 1], 9),
        (2.0, 1.0, [2, 1, 0], 13),
        (5.0, 1.0, [5, 4, 4, 4, 3, 0], 81),  # Gauss's circle problem: 81 points within 5
        (500.0, 100.0, [5, 4, 4, 4, 3, 0], 81),
        (0.3, 0.1, [3, 2, 2, 0], 29),  # 0.3 / 0.1 is less than 3 in floats
    ],
)
def test_a_round_window_holds_the_cells_whose_centres_it_does(radius_m, cell_m, widths, cells):
    assert half_widths(radius_m, cell_m).tolist() == widths
    assert window_cells(radius_m, cell_m) == cells
    assert reach_cells(radius_m, cell_m) == len(widths) - 1


@pytest.mark.parametrize("radius_m", [0.0, 2.0, 5.0, 7.1, 16.0])
def test_counts_are_those_of_a_plain_count(radius_m):
    marked = np.random.default_rng(3).random((23, 29)) < 0.4
    found = count_within(marked, radius_m, 2.0)
    assert found.dtype == np.int32
    for here, there in inner(marked, radius_m, 2.0):
        assert found[here] == sum(around(marked, *there, radius_m, 2.0))


def test_counts_of_land_wider_than_what_is_worked_at_once():
    marked = np.random.default_rng(5).random((9, 1300)) < 0.5
    whole = count_within(marked, 3.0, 1.0)
    for first in (0, 505, 512, 900):
        part = count_within(marked[:, first : first + 106], 3.0, 1.0)
        np.testing.assert_array_equal(part, whole[:, first : first + 100])


def test_what_is_not_known_does_not_count():
    marked = np.array([[1, 1, 0, 1, 0]], bool)
    known = np.array([[1, 0, 1, 1, 1]], bool)
    tall = [np.repeat(each, 3, axis=0) for each in (marked, known)]
    # Of each cell, the one above, the one below and those on either side: 5, those unknown fewer.
    np.testing.assert_allclose(share_within(*tall, 1.0, 1.0), [[1 / 2, 1 / 4, 3 / 5]])
    found = share_within(marked.T.repeat(3, 1), np.zeros((5, 3), bool), 1.0, 1.0)
    assert np.isnan(found).all()


def test_density_is_that_of_the_window():
    counts = np.zeros((7, 7), np.int32)
    counts[3, 3] = 4
    found = density_within(counts, 200.0, 100.0)  # 13 cells of a hectare
    np.testing.assert_allclose(found[1, 1], 4 / 0.13)
    np.testing.assert_allclose(found, np.where(found > 0, 4 / 0.13, 0))
    assert (found > 0).sum() == 9  # of 13, those that have all their surroundings


@pytest.mark.parametrize("beyond_m", [0.0, 4.0])
def test_above_the_mean_around(beyond_m):
    ground = np.random.default_rng(7).normal(300, 40, (19, 21)).astype(np.float32)
    ground[4, 9] = NAN
    found = above_mean_within(ground, 8.0, 2.0, beyond_m=beyond_m)
    for here, there in inner(ground, 8.0, 2.0):
        disc = around(ground, *there, 8.0, 2.0)
        hole = around(ground, *there, beyond_m, 2.0) if beyond_m else []
        ring = (np.nansum(disc) - np.nansum(hole)) / (
            np.isfinite(disc).sum() - np.isfinite(hole).sum()
        )
        expected = ground[there] - ring
        assert found[here] == pytest.approx(expected, abs=1e-3, nan_ok=True)
    assert np.isnan(found).sum() == 1


def test_a_slope_stands_as_high_as_its_mean_and_a_hill_above_it():
    plane = np.add.outer(np.arange(15.0), 2 * np.arange(15.0)).astype(np.float32)
    np.testing.assert_allclose(above_mean_within(plane, 3.0, 1.0), 0, atol=1e-3)
    plane[7, 7] += 29
    assert above_mean_within(plane, 3.0, 1.0)[4, 4] == pytest.approx(28, abs=1e-3)  # of 29 cells


def test_means_of_pieces_are_those_of_the_whole_to_the_bit():
    ground = np.random.default_rng(1).normal(1000, 300, (40, 50)).astype(np.float32)
    whole = above_mean_within(ground, 6.0, 1.0, beyond_m=2.0)
    part = above_mean_within(ground[10:35, 7:40], 6.0, 1.0, beyond_m=2.0)
    np.testing.assert_array_equal(part, whole[10:23, 7:28])
