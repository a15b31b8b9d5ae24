"""The layers on land small enough to work by hand."""

import math

import geopandas
import numpy as np
import pyproj
import pytest
import shapely

from suitability.config import RunSettings
from suitability.config.units import unit_of
from suitability.grid import Grid, Window
from suitability.inputs.legend import NO_CLASS, load_legend
from suitability.layers import (
    Cover,
    Land,
    canopy_edge_m,
    clearance_m,
    exact_water_distance_m,
    slope_deg,
    water_distance_m,
)
from suitability.layers.measurement import Measurement
from suitability.layers.registry import layers_of, measure, reaches
from suitability.sun import Scene, season_hours, sun_positions

UTM = pyproj.CRS.from_epsg(32616)
WEST, NORTH, CELL = 500_000.0, 4_500_000.0, 10.0
NAN = np.nan
NLCD = load_legend("nlcd")
WATER, PASTURE = 11, 81
LAYERS = layers_of(
    RunSettings.model_validate(
        {"inputs": {"elevation": "a.tif", "land_cover": "b.tif", "streams": "c.gpkg"}}
    )
)
FAR_M = 1000.0  # further than anything on these grids


def land_of(canopy, *, buildings=None, ground=None, mount=4.6):
    canopy = np.asarray(canopy, np.float32)
    flat = np.zeros_like(canopy)
    return Land(
        grid=Grid(UTM, WEST, NORTH, CELL, *canopy.shape),
        ground=flat + 100 if ground is None else np.asarray(ground, np.float32),
        canopy=canopy,
        buildings=flat if buildings is None else np.asarray(buildings, np.float32),
        mount_height_m=mount,
    )


def grid_of(rows, cols):
    return Grid(UTM, WEST, NORTH, CELL, rows, cols)


def features_of(*shapes):
    return geopandas.GeoDataFrame(geometry=list(shapes), crs=UTM)


def cover_of(grid, codes, around=650):
    """Return land cover of a grid, by NLCD codes, and none for some cells around it."""
    known = grid.whole.grown(around)
    wide = np.full((known.rows, known.cols), NO_CLASS, np.int16)
    wide[grid.whole.within(known)] = codes
    return Cover(wide, known, NLCD)


def distance_of(grid, shapes=(), reach_m=FAR_M, *, covered=None):
    """Return the distance to water: shapes, and cells that the land cover calls so."""
    codes = np.where(np.zeros(grid.shape, bool) if covered is None else covered, WATER, PASTURE)
    return water_distance_m(grid, grid.whole, features_of(*shapes), cover_of(grid, codes), reach_m)


# ------------------------------------------------------------------------------------ the land


def test_surface_is_the_top_of_everything():
    land = land_of([[0, 12, NAN, 3]], buildings=[[0, 0, 7, 8]], ground=[[5, 6, 7, 8]])
    np.testing.assert_array_equal(land.surface, [[5, 18, 14, 16]])


def test_unknown_ground_has_an_unknown_surface():
    land = land_of([[0, 12]], ground=[[NAN, NAN]])
    assert np.isnan(land.surface).all()
    assert np.isnan(land.receiver).all()


def test_receiver_hangs_at_mount_height_but_not_under_leaves_or_in_buildings():
    land = land_of([[0, 4.6, 4.7, 20, NAN, 0]], buildings=[[0, 0, 0, 0, 0, 3]])
    np.testing.assert_allclose(land.receiver, [[104.6, 104.6, NAN, NAN, 104.6, NAN]], rtol=1e-6)
    np.testing.assert_array_equal(land.under_canopy, [[0, 0, 1, 1, 0, 0]])
    # Seeing to the receiver has changed nothing else.
    np.testing.assert_array_equal(land.ground, np.full((1, 6), 100))


@pytest.mark.parametrize(
    ("mount", "trees"), [(4.6, [0, 0, 1, 1, 1]), (6.0, [0, 0, 0, 1, 1]), (3.0, [0, 1, 1, 1, 1])]
)
def test_trees_start_at_five_metres_or_at_the_box(mount, trees):
    # 5 m: National Land Cover Database, definition of forest (from memory).
    land = land_of([[0, 4.0, 4.6, 5.0, 20.0]], mount=mount)
    np.testing.assert_array_equal(land.trees[0], trees)


# ---------------------------------------------------------------------------------- canopy edge


def test_edge_runs_between_cells_and_is_negative_inside():
    land = land_of([[0, 0, 0, 9, 9, 9, 0]])
    np.testing.assert_allclose(canopy_edge_m(land, FAR_M), [[25, 15, 5, -5, -15, -5, 5]])


def test_edge_is_measured_slantwise_too():
    canopy = np.zeros((3, 4))
    canopy[0, 0] = 20
    found = canopy_edge_m(land_of(canopy), FAR_M)
    assert found[0, 0] == -5
    assert found[2, 3] == pytest.approx(10 * np.hypot(2, 3) - 5)


def test_unknown_canopy_gives_an_unknown_edge_there_only():
    found = canopy_edge_m(land_of([[0, NAN, 9, 0]]), FAR_M)
    np.testing.assert_allclose(found, [[15, NAN, -5, 5]])


@pytest.mark.parametrize(("height", "sign"), [(0.0, 1), (20.0, -1)])
def test_land_without_an_edge_gets_its_reach(height, sign):
    found = canopy_edge_m(land_of(np.full((3, 4), height)), 50.0)
    np.testing.assert_allclose(found, sign * 50.0)


def test_an_edge_is_told_up_to_its_reach_of_either_sign():
    land = land_of([[0, 0, 0, 9, 9, 9]])
    np.testing.assert_allclose(canopy_edge_m(land, 12.0), [[12, 12, 5, -5, -12, -12]])


# ------------------------------------------------------------------------------------ clearance


def test_clearance_is_to_the_nearer_of_canopy_and_building():
    land = land_of([[9, 0, 0, 0, 0, 0, 0]], buildings=[[0, 0, 0, 0, 0, 4, 0]])
    edge = canopy_edge_m(land, FAR_M)
    np.testing.assert_allclose(clearance_m(land, edge, FAR_M), [[0, 5, 15, 15, 5, 0, 5]])


def test_clearance_without_buildings_is_to_the_canopy():
    land = land_of([[0, 0, 9, 9, 0, NAN]])
    edge = canopy_edge_m(land, FAR_M)
    np.testing.assert_allclose(clearance_m(land, edge, FAR_M), [[15, 5, 0, 0, 5, NAN]])


def test_clearance_without_anything_is_its_reach():
    land = land_of(np.zeros((3, 4)))
    np.testing.assert_allclose(clearance_m(land, canopy_edge_m(land, 50.0), 50.0), 50.0)


def test_clearance_is_told_up_to_its_reach():
    land = land_of([[9, 0, 0, 0, 0]])
    edge = canopy_edge_m(land, FAR_M)
    np.testing.assert_allclose(clearance_m(land, edge, 20.0), [[0, 5, 15, 20, 20]])


# ---------------------------------------------------------------------------------------- water


def test_distance_to_water_cells():
    grid = grid_of(1, 4)
    found = distance_of(grid, covered=[[0, 0, 0, 1]])
    np.testing.assert_allclose(found, [[30, 20, 10, 0]])


def test_lines_make_every_cell_that_they_touch_water():
    x = WEST + 25
    line = shapely.LineString([(x, NORTH + 5), (x, NORTH - 100)])
    grid = grid_of(2, 5)
    np.testing.assert_allclose(distance_of(grid, [line]), [[20, 10, 0, 10, 20]] * 2)


def test_water_beyond_the_grid_counts():
    # A brook 205 m east of the last cell's centre runs north to south.
    x = WEST + 4 * CELL + 200
    line = shapely.LineString([(x + 0.5, NORTH + 400), (x + 0.5, NORTH - 400)])
    grid = grid_of(3, 4)
    found = distance_of(grid, [line])
    assert found.shape == (3, 4)
    np.testing.assert_allclose(found, [[240, 230, 220, 210]] * 3, atol=CELL * np.sqrt(0.5))
    for row in range(3):
        exact = exact_water_distance_m(*grid.xy([row] * 4, np.arange(4)), features_of(line))
        np.testing.assert_allclose(found[row], exact, atol=CELL * np.sqrt(0.5))


@pytest.mark.parametrize(("dx", "dy"), [(-300, 0), (0, 250), (0, -420), (310, 200)])
def test_ponds_on_every_side_count(dx, dy):
    centre = shapely.Point(WEST + 20 + dx, NORTH - 15 + dy)
    grid = grid_of(3, 4)
    pond = centre.buffer(30)
    x, y = grid.xy(*np.mgrid[:3, :4])
    exact = exact_water_distance_m(x.ravel(), y.ravel(), features_of(pond)).reshape(3, 4)
    found = distance_of(grid, [pond])
    np.testing.assert_allclose(found, exact, atol=CELL * np.sqrt(0.5))
    assert exact.min() > 100


def test_water_further_away_than_the_reach_gets_the_reach():
    far = shapely.Point(WEST + 5_000, NORTH).buffer(50)
    grid = grid_of(3, 4)
    for features in ([far], []):
        found = distance_of(grid, features, 1609.344)
        np.testing.assert_array_equal(found, np.float32(1609.344))
    found = distance_of(grid, [far], 6_000.0)  # far enough to see it
    assert (found < 6_000).all()


def test_a_window_has_the_distances_of_the_whole():
    line = shapely.LineString([(WEST + 35, NORTH + 5), (WEST + 60, NORTH - 200)])
    grid = grid_of(12, 15)
    covered = np.zeros(grid.shape, bool)
    covered[9, 13] = True
    whole = distance_of(grid, [line], 60.0, covered=covered)
    assert whole[10, 14] < 20  # nearest is the covered cell
    window = Window(7, 10, 4, 5)
    cover = cover_of(grid, np.where(covered, WATER, PASTURE))
    known = window.grown(6)
    part = Cover(cover.within(known), known, NLCD)
    found = water_distance_m(grid, window, features_of(line), part, 60.0)
    np.testing.assert_array_equal(found, whole[window.slices])


# ------------------------------------------------------------------------------------- registry


def test_slope_of_a_hillside():
    ground = np.repeat(np.arange(5.0)[:, None] * 10 * np.tan(np.radians(20)), 6, axis=1)
    np.testing.assert_allclose(slope_deg(land_of(np.zeros((5, 6)), ground=ground)), 20, atol=1e-3)


def measurement_of(canopy, window=None):
    """Return what a window of land that is wet under its canopy is measured from."""
    land = land_of(canopy)
    sun = sun_positions(40.0, -86.0, start="06-01", end="06-30", step_min=60, every_days=30)
    window = land.grid.whole if window is None else window
    hours = season_hours(Scene.of(land.surface, land.receiver, CELL), sun, 0.0, part=window.slices)
    return Measurement(
        grid=land.grid,
        window=window,
        around=land.grid.whole,
        land=land,
        water=features_of(),
        cover=cover_of(land.grid, np.where(canopy > 0, WATER, PASTURE)),
        sun=hours,
        reach_m=reaches(LAYERS, {}),
        features={},
        given=lambda name: pytest.fail(f"{name} is no raster's value"),
        ground_of=lambda window: pytest.fail(f"no layer wants the ground of {window}"),
    )


def block_of_canopy():
    canopy = np.zeros((6, 7))
    canopy[2:4, 2:4] = 20
    return canopy


def test_measure_gives_every_layer_in_the_registrys_order():
    canopy = block_of_canopy()
    measurement = measurement_of(canopy)
    every = dict(measure(LAYERS, measurement))
    np.testing.assert_array_equal(every["direct_sun_h"], measurement.sun.mean)
    assert np.isnan(every["direct_sun_h"][canopy > 0]).all()
    assert list(measurement.found) == ["canopy_edge_m"]  # of the others nothing is kept
    assert list(every) == list(LAYERS)
    for name, values in every.items():
        assert unit_of(name) == LAYERS[name].unit
        assert values.shape == (6, 7)
        assert values.dtype == np.float32
    halves = every["morning_sun_h"] + every["afternoon_sun_h"]
    np.testing.assert_allclose(every["direct_sun_h"], halves, atol=1e-5)
    np.testing.assert_array_equal(every["ground_elevation_m"], 100)


def test_a_windows_layers_are_those_of_the_whole():
    canopy = block_of_canopy()
    window = Window(1, 3, 4, 2)
    whole = dict(measure(LAYERS, measurement_of(canopy)))
    part = dict(measure(LAYERS, measurement_of(canopy, window)))
    assert list(part) == list(whole)
    for name, values in part.items():
        np.testing.assert_array_equal(values, whole[name][window.slices], err_msg=name)


def test_distances_reach_as_far_as_a_run_tells_them_apart():
    plain = reaches(LAYERS, {})
    assert plain == {name: spec.reach_m for name, spec in LAYERS.items()}
    assert reaches(LAYERS, {"water_distance_m": 10.0}) == plain  # no nearer than by default
    assert reaches(LAYERS, {"water_distance_m": 5_000.0})["water_distance_m"] == 5_000.0
    # The edge is measured as far as the clearance, which is made from it.
    further = reaches(LAYERS, {"clearance_m": 800.0})
    assert further["clearance_m"] == further["canopy_edge_m"] == 800.0
    assert reaches(LAYERS, {"slope_deg": 90.0})["slope_deg"] == 0  # a slope is no distance


def test_every_layers_needs_come_before_it_and_its_reach_is_a_length():
    names = list(LAYERS)
    for at, (name, spec) in enumerate(LAYERS.items()):
        assert set(spec.needs) <= set(names[:at]), name
        assert spec.reach_m >= 0
        assert not math.isnan(spec.reach_m)
