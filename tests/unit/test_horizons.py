"""The horizons of sites: whole land, or surroundings at full resolution and the rest coarsely."""

import numpy as np
import pytest
import small_land

from suitability import horizons
from suitability.config import load_run
from suitability.grid import Window
from suitability.run import screen


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    folder = tmp_path_factory.mktemp("land")
    return screen(load_run(small_land.write_land(folder)), folder / "out")


def seen(found):
    x, y = (found.sites[name].to_numpy() for name in ("x_m", "y_m"))
    return horizons.site_horizons(found.plan, found.look, x, y)


def test_the_wood_stands_where_it_is(found):
    # The wood is rows 20 to 40, columns 30 to 50 of 5 m cells, 15 to 20 m high as land cover goes.
    x, y = np.array([500_000 + 5 * 25.5]), np.array([4_450_000 - 5 * 30.5])
    around = horizons.site_horizons(found.plan, found.look, x, y)[0]
    assert around[90] > 15  # 25 m west of its edge
    assert around[270] < 5
    assert around.shape == (360,)


def test_windows_see_what_the_whole_shows(found, monkeypatch):
    whole = seen(found)
    monkeypatch.setattr(horizons, "WHOLE_CELLS", 0)
    assert np.array_equal(seen(found), whole)  # their surroundings are all there is
    monkeypatch.setattr(horizons, "AROUND_M", 60.0)
    monkeypatch.setattr(horizons, "READ_SIDE", 16)
    coarse = seen(found)
    # Nearer squares of the coarse land are those cells themselves here: only their rims differ.
    assert np.abs(coarse - whole).max() < 3
    assert np.abs(coarse - whole).mean() < 0.2
    monkeypatch.setattr(horizons, "_coarse_beyond", lambda *_: np.full((60, 80), np.nan, "f4"))
    assert np.abs(seen(found) - whole).max() > 3  # it does look beyond


def test_windows_are_read_as_one_where_that_is_less():
    left, overlapping, far = Window(0, 0, 10, 10), Window(0, 4, 10, 10), Window(50, 50, 10, 10)
    assert horizons.read_together([left, overlapping, far], 1000) == [
        (Window(0, 0, 10, 14), {left, overlapping}),
        (far, {far}),
    ]
    assert len(horizons.read_together([left, overlapping, far], 139)) == 3  # 140 cells are too many


def test_what_is_read_at_once_changes_nothing(found, monkeypatch):
    monkeypatch.setattr(horizons, "WHOLE_CELLS", 0)
    monkeypatch.setattr(horizons, "AROUND_M", 60.0)
    monkeypatch.setattr(horizons, "READ_SIDE", 16)
    together = seen(found)
    monkeypatch.setattr(horizons, "READ_CELLS", 0)
    assert np.array_equal(seen(found), together)


def test_without_buildings_a_box_beside_a_wall_sees_what_else_there_is(found):
    x, y = (found.sites[name].to_numpy() for name in ("x_m", "y_m"))
    bare = horizons.site_horizons(found.plan, found.look, x, y, buildings=False)
    assert np.array_equal(bare, seen(found))  # this land has none
