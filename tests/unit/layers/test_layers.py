"""The layers on land small enough to work by hand."""

import math

import geopandas
import numpy as np
import pyproj
import pytest
import shapely

from suitability.grid import Grid
from suitability.layers import (
    Land,
    canopy_edge_m,
    clearance_m,
    exact_water_distance_m,
    slope_deg,
    water_distance_m,
)
from suitability.layers.registry import LAYERS, measure
from suitability.sun import Scene, season_hours, sun_positions

UTM = pyproj.CRS.from_epsg(32616)
WEST, NORTH, CELL = 500_000.0, 4_500_000.0, 10.0
NAN = np.nan


def land_of(canopy, *, buildings=None, ground=None, water=None, features=(), mount=4.6):
    canopy = np.asarray(canopy, np.float32)
    flat = np.zeros_like(canopy)
    return Land(
        grid=Grid(UTM, WEST, NORTH, CELL, *canopy.shape),
        ground=flat + 100 if ground is None else np.asarray(ground, np.float32),
        canopy=canopy,
        buildings=flat if buildings is None else np.asarray(buildings, np.float32),
        water=flat > 0 if water is None else np.asarray(water, bool),
        water_features=geopandas.GeoDataFrame(geometry=list(features), crs=UTM),
        mount_height_m=mount,
    )


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
    np.testing.assert_allclose(canopy_edge_m(land), [[25, 15, 5, -5, -15, -5, 5]])


def test_edge_is_measured_slantwise_too():
    canopy = np.zeros((3, 4))
    canopy[0, 0] = 20
    found = canopy_edge_m(land_of(canopy))
    assert found[0, 0] == -5
    assert found[2, 3] == pytest.approx(10 * np.hypot(2, 3) - 5)


def test_unknown_canopy_gives_an_unknown_edge_there_only():
    found = canopy_edge_m(land_of([[0, NAN, 9, 0]]))
    np.testing.assert_allclose(found, [[15, NAN, -5, 5]])


@pytest.mark.parametrize(("height", "sign"), [(0.0, 1), (20.0, -1)])
def test_land_without_an_edge_gets_its_diagonal(height, sign):
    found = canopy_edge_m(land_of(np.full((3, 4), height)))
    np.testing.assert_allclose(found, sign * 50.0)


# ------------------------------------------------------------------------------------ clearance


def test_clearance_is_to_the_nearer_of_canopy_and_building():
    land = land_of([[9, 0, 0, 0, 0, 0, 0]], buildings=[[0, 0, 0, 0, 0, 4, 0]])
    edge = canopy_edge_m(land)
    np.testing.assert_allclose(clearance_m(land, edge), [[0, 5, 15, 15, 5, 0, 5]])


def test_clearance_without_buildings_is_to_the_canopy():
    land = land_of([[0, 0, 9, 9, 0, NAN]])
    edge = canopy_edge_m(land)
    np.testing.assert_allclose(clearance_m(land, edge), [[15, 5, 0, 0, 5, NAN]])


def test_clearance_without_anything_is_the_diagonal():
    land = land_of(np.zeros((3, 4)))
    np.testing.assert_allclose(clearance_m(land, canopy_edge_m(land)), 50.0)


# ---------------------------------------------------------------------------------------- water


def test_distance_to_water_cells():
    land = land_of(np.zeros((1, 4)), water=[[0, 0, 0, 1]])
    np.testing.assert_allclose(water_distance_m(land), [[30, 20, 10, 0]])


def test_lines_make_every_cell_that_they_touch_water():
    x = WEST + 25
    line = shapely.LineString([(x, NORTH + 5), (x, NORTH - 100)])
    land = land_of(np.zeros((2, 5)), features=[line])
    np.testing.assert_allclose(water_distance_m(land), [[20, 10, 0, 10, 20]] * 2)


def test_water_beyond_the_grid_counts():
    # A brook 205 m east of the last cell's centre runs north to south.
    x = WEST + 4 * CELL + 200
    line = shapely.LineString([(x + 0.5, NORTH + 400), (x + 0.5, NORTH - 400)])
    land = land_of(np.zeros((3, 4)), features=[line])
    found = water_distance_m(land)
    assert found.shape == (3, 4)
    np.testing.assert_allclose(found, [[240, 230, 220, 210]] * 3, atol=CELL * np.sqrt(0.5))
    for row in range(3):
        exact = exact_water_distance_m(*land.grid.xy([row] * 4, np.arange(4)), land.water_features)
        np.testing.assert_allclose(found[row], exact, atol=CELL * np.sqrt(0.5))


@pytest.mark.parametrize(("dx", "dy"), [(-300, 0), (0, 250), (0, -420), (310, 200)])
def test_ponds_on_every_side_count(dx, dy):
    centre = shapely.Point(WEST + 20 + dx, NORTH - 15 + dy)
    land = land_of(np.zeros((3, 4)), features=[centre.buffer(30)])
    x, y = land.grid.xy(*np.mgrid[:3, :4])
    exact = exact_water_distance_m(x.ravel(), y.ravel(), land.water_features).reshape(3, 4)
    found = water_distance_m(land)
    np.testing.assert_allclose(found, exact, atol=CELL * np.sqrt(0.5))
    assert exact.min() > 100


def test_water_more_than_a_mile_away_is_as_none():
    far = shapely.Point(WEST + 5_000, NORTH).buffer(50)
    land = land_of(np.zeros((3, 4)), features=[far])
    assert np.isinf(water_distance_m(land)).all()
    assert np.isinf(water_distance_m(land_of(np.zeros((3, 4))))).all()


# ------------------------------------------------------------------------------------- registry


def test_slope_of_a_hillside():
    ground = np.repeat(np.arange(5.0)[:, None] * 10 * np.tan(np.radians(20)), 6, axis=1)
    np.testing.assert_allclose(slope_deg(land_of(np.zeros((5, 6)), ground=ground)), 20, atol=1e-3)


def test_measure_brings_what_a_layer_needs_in_the_registrys_order():
    canopy = np.zeros((6, 7))
    canopy[2:4, 2:4] = 20
    land = land_of(canopy, water=canopy > 0)
    sun = sun_positions(40.0, -86.0, start="06-01", end="06-30", step_min=60, every_days=30)
    hours = season_hours(Scene.of(land.surface, land.receiver, CELL), sun, 0.0)
    told = []
    found = measure(["clearance_m", "direct_sun_h"], land, hours, progress=told.append)
    assert list(found) == ["direct_sun_h", "canopy_edge_m", "clearance_m"]
    assert told == [LAYERS[name].title for name in found]
    np.testing.assert_array_equal(found["direct_sun_h"].values, hours.mean)
    assert np.isnan(found["direct_sun_h"].values[canopy > 0]).all()

    every = measure(LAYERS, land, hours)
    assert list(every) == list(LAYERS)
    for name, layer in every.items():
        assert layer.name == name
        assert name.endswith(f"_{layer.unit}")
        assert layer.values.shape == (6, 7)
        assert layer.values.dtype == np.float32
        assert layer.grid is land.grid
    halves = every["morning_sun_h"].values + every["afternoon_sun_h"].values
    np.testing.assert_allclose(every["direct_sun_h"].values, halves, atol=1e-5)


def test_every_layers_needs_come_before_it_and_its_reach_is_a_length():
    names = list(LAYERS)
    for at, (name, spec) in enumerate(LAYERS.items()):
        assert set(spec.needs) <= set(names[:at]), name
        assert spec.reach_m >= 0
        assert not math.isnan(spec.reach_m)
