"""How a run goes about its land: how far it looks, and how large its tiles are."""

import numpy as np
import pyproj
import pytest
import small_land
from command import parts, refused

from suitability.config import load_run
from suitability.errors import ResultError
from suitability.grid import Grid
from suitability.layers.registry import BUILT_IN, FORAGING
from suitability.plan import (
    BASE_BYTES,
    SMALLEST_SIDE,
    checked_judgement,
    far_square,
    near_cells,
    reaches_of,
    tile_bytes,
    tile_side,
)
from suitability.sun import sun_positions

UTM = pyproj.CRS.from_epsg(32616)
LAND = Grid(UTM, 500_000.0, 4_500_000.0, 2.0, 9_000, 12_000)


@pytest.fixture
def reach(tmp_path):
    """Return a function that gives how far layers reach for the small land and more settings."""

    def of(more=""):
        run = load_run(small_land.write_land(tmp_path / "land", small_land.RUN + more))
        return reaches_of(run, checked_judgement(run))

    return of


# --- how far ----------------------------------------------------------------------------------


def curve(layer, points):
    return f"criteria:\n  - {{layer: {layer}, weight: 1, value: {{points: {points}}}}}\n"


def test_layers_reach_as_far_as_the_default_curves_by_themselves(reach):
    # A mile of water, and 300 m of canopy edge: the ends of the default curves.
    found = reach()
    assert found["water_distance_m"] == pytest.approx(1609.344)
    assert found["canopy_edge_m"] == found["clearance_m"] == 300
    assert found[FORAGING] == 500 + 30  # its radius, and as far as woodland has its edge
    assert {name for name, far_m in found.items() if far_m} == {
        FORAGING,
        *(name for name, spec in BUILT_IN.items() if spec.is_distance),
    }


@pytest.mark.parametrize("layer", ["water_distance_m", "canopy_edge_m"])
def test_a_layer_reaches_to_the_end_of_its_curve_and_no_nearer_than_by_default(reach, layer):
    plain = reach()[layer]
    assert reach(curve(layer, "[[0 m, 0], [2500 m, 1]]"))[layer] == 2500
    assert reach(curve(layer, "[[0 m, 0], [40 m, 1]]"))[layer] == plain


def test_a_curve_that_starts_deep_within_a_wood_is_followed_there(reach):
    assert reach(curve("canopy_edge_m", "[[-800 m, 1], [20 m, 0]]"))["canopy_edge_m"] == 800


def test_rules_are_told_apart_from_what_lies_further(reach):
    assert reach("exclusions: {clearance: 170 m}\n")["clearance_m"] == 340
    assert reach("exclusions: {water_bank: 900 m}\n")["water_distance_m"] == 1800
    assert reach("exclusions: {clearance: null, water_bank: null}\n") == reach()
    # The edge is measured as far as the clearance, which is made from it.
    assert reach("exclusions: {clearance: 170 m}\n")["canopy_edge_m"] == 340


def test_a_tile_sees_as_far_as_shadows_and_layers_reach():
    reach_m = {"canopy_edge_m": 300.0, "clearance_m": 300.0, "water_distance_m": 1609.0}
    june = {"start": "06-20", "end": "06-22", "step_min": 60, "every_days": 1}
    high = sun_positions(40.0, -86.0, **june, rule="altitude", min_altitude_deg=40.0)
    assert near_cells(LAND, high, reach_m) == 152  # 300 m, and the cells that it ends between
    low = sun_positions(40.0, -86.0, start="06-20", end="06-22", step_min=5, every_days=1,
                        rule="altitude", min_altitude_deg=7.5)  # fmt: skip
    lowest = np.radians(low.altitude_deg.min())
    # A wood of 35 m, the sun low: 250 to 270 m.
    close = {**reach_m, "canopy_edge_m": 100.0, "clearance_m": 100.0}
    assert near_cells(LAND, low, close) == int(np.ceil(35 / np.tan(lowest) / 2)) + 2
    assert 125 <= near_cells(LAND, low, close) <= 137
    lower = sun_positions(40.0, -86.0, start="06-20", end="06-22", step_min=5, every_days=1,
                          rule="altitude", min_altitude_deg=1.0)  # fmt: skip
    assert near_cells(LAND, lower, close) == 152  # 300 m: from there on far land casts shadows
    assert near_cells(LAND, low, {**reach_m, "clearance_m": 700.0}) == 352


# --- how large --------------------------------------------------------------------------------

NEAR, WIDE = 200, 805


def test_tiles_grow_with_memory_and_keep_within_it():
    sides = []
    for memory in np.geomspace(0.7e9, 100e9, 40):
        side = tile_side(LAND, NEAR, WIDE, memory)
        assert tile_bytes(LAND, side, NEAR, WIDE) <= memory
        if len(LAND.tiles(side)) > 1:
            assert side % SMALLEST_SIDE == 0
            # Fewer would not keep within it, and none is much smaller than the others.
            along = -(-max(LAND.shape) // side)
            fewer = -(-max(LAND.shape) // ((along - 1) * SMALLEST_SIDE)) * SMALLEST_SIDE
            assert tile_bytes(LAND, fewer, NEAR, WIDE) > memory
            assert side - max(LAND.shape) / along < SMALLEST_SIDE
        sides.append(side)
    assert sides == sorted(sides)
    assert sides[0] <= 1280
    assert sides[-1] > 4000
    assert len(set(sides)) > 6
    assert len(LAND.tiles(sides[-1])) == 1


def test_a_tile_takes_more_with_its_side_and_its_surroundings():
    plain = tile_bytes(LAND, 1024, NEAR, WIDE)
    assert BASE_BYTES < plain < tile_bytes(LAND, 2048, NEAR, WIDE)
    assert plain < tile_bytes(LAND, 1024, NEAR + 100, WIDE)
    assert plain < tile_bytes(LAND, 1024, NEAR, WIDE + 100)
    # Nothing is seen beyond the land.
    small = Grid(UTM, 500_000.0, 4_500_000.0, 2.0, 300, 300)
    assert tile_bytes(small, 512, NEAR, WIDE) == tile_bytes(small, 512, NEAR + 999, WIDE)


def test_small_land_is_one_tile():
    small = Grid(UTM, 500_000.0, 4_500_000.0, 2.0, 300, 500)
    side = tile_side(small, NEAR, WIDE, 8e9)
    assert len(small.tiles(side)) == 1


@pytest.mark.parametrize("cell_m", [0.25, 0.5, 1.0, 1.7, 3.0, 5.0, 10.0, 30.0])
def test_squares_of_far_land_are_a_crown_wide_and_fit_into_tiles(cell_m):
    square = far_square(Grid(UTM, 500_000.0, 4_500_000.0, cell_m, 3000, 4000))
    assert SMALLEST_SIDE % square == 0
    assert square * cell_m <= 16.0 or square == 1
    assert 2 * square * cell_m > 16.0


@pytest.mark.parametrize("size", [70_000, 200_000, 1_000_000])
def test_far_land_has_wider_squares_where_it_would_take_much_memory(size):
    square = far_square(Grid(UTM, 500_000.0, 4_500_000.0, 1.0, size, size // 2))
    assert size / square <= 4096
    assert SMALLEST_SIDE % square == 0


def test_too_little_memory_is_told_with_what_is_needed():
    with pytest.raises(ResultError, match="500 MB of memory are too little") as caught:
        tile_side(LAND, NEAR, WIDE, 500e6)
    assert "--memory" in caught.value.where
    assert "grid.cell" in caught.value.fix
    needed = float(caught.value.what.rsplit(maxsplit=1)[-1]) * 1e6
    assert len(LAND.tiles(tile_side(LAND, NEAR, WIDE, needed + 1e6))) > 1


def test_the_command_tells_of_too_little_memory(tmp_path):
    run_file = small_land.write_land(tmp_path / "land")
    for memory in ("300MB", "0.2 GB"):
        what, where, fix = parts(
            refused("screen", run_file, "--out", tmp_path / "out", "--memory", memory)
        )
        assert "too little" in what
        assert where == "--memory"
        assert fix
