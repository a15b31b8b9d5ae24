"""Filling, D8 directions and upstream cells on a real DEM, against a plain second way.

Rules: J. F. O'Callaghan & D. M. Mark, The extraction of drainage networks from digital elevation
data, Comput. Vis. Graph. Image Process. 28, 323-344, 1984 (steepest of eight neighbours; each cell
counts itself and what drains into it). The second way fills by morphological reconstruction and
counts by solving the linear system of what leads where (tests/drainage.py).

Data: Jacksboro fault, Tennessee, SRTM, as it ships with matplotlib (344 × 403 cells of 3″).
"""

import matplotlib.cbook
import numpy as np
import pytest
from drainage import STEPS, counted, drops, filled

from suitability.flow.engines import Pyflwdir
from suitability.kernels.flow import OUTLET, d8_directions


@pytest.fixture(scope="module")
def ground():
    data = matplotlib.cbook.get_sample_data("jacksboro_fault_dem.npz")
    return np.asarray(data["elevation"], dtype=np.float32)


@pytest.fixture(scope="module")
def surface(ground):
    return Pyflwdir().fill(ground)


@pytest.fixture(scope="module")
def directions(surface):
    return d8_directions(surface)


def test_filling_is_reconstruction(ground, surface) -> None:
    np.testing.assert_array_equal(surface, filled(ground))
    assert (surface > ground).any()


def test_where_the_ground_falls_water_takes_the_steepest_way(surface, directions) -> None:
    down = drops(surface)
    steepest = np.nanmax(down, axis=0)
    falls = steepest > 0
    assert falls.mean() > 0.8
    number = {code: place for place, code in enumerate(STEPS)}
    taken = np.vectorize(lambda code: number.get(code, 0))(directions)
    drop = np.take_along_axis(down, taken[None], axis=0)[0]
    np.testing.assert_allclose(drop[falls], steepest[falls], rtol=1e-12)


def test_across_flats_water_neither_rises_nor_stops_short_of_the_rim(surface, directions) -> None:
    down = drops(surface)
    level = np.nanmax(down, axis=0) <= 0
    for place, code in enumerate(STEPS):
        led = level & (directions == code)
        assert (down[place][led] == 0).all()
    inside = np.zeros(surface.shape, bool)
    inside[1:-1, 1:-1] = True
    assert not (inside & (directions == OUTLET)).any()


def test_each_cell_counts_all_that_drain_into_it(directions) -> None:
    counts = Pyflwdir().accumulate(directions)
    np.testing.assert_array_equal(counts, counted(directions))
    # All land leaves by some outlet, and no land twice.
    assert counts[directions == OUTLET].sum() == directions.size
