"""Walls: which edges are walls, which way they look, what stands before them."""

import numpy as np
import pytest
import shapely
from walls import clear_day, footprints, places_of, program_lit, ray_lit

from suitability.box.walls import (
    SETBACK_M,
    is_open_ahead,
    is_walled_up,
    wall_places,
    with_own_wall,
)

BARN = shapely.box(100, 200, 120, 212)


def facings(places):
    return sorted(set(places.facing_deg.round(6).tolist()))


def by_facing(places, facing):
    return places.those(np.isclose(places.facing_deg, facing))


def test_places_lie_evenly_along_each_wall_just_before_it():
    places = places_of(footprints(BARN), 5)
    south = by_facing(places, 180)
    assert sorted(south.x_m.tolist()) == [102.5, 107.5, 112.5, 117.5]
    np.testing.assert_allclose(south.y_m, 200 - SETBACK_M)
    assert sorted(by_facing(places, 90).y_m.tolist()) == [203, 209]
    assert facings(places) == [0, 90, 180, 270]
    with pytest.raises(ValueError, match="above 0"):
        wall_places(footprints(BARN), 0)


@pytest.mark.parametrize("turn", [0, 20, 137.5])
@pytest.mark.parametrize("flip", [False, True])
def test_walls_look_outwards_however_the_footprint_is_drawn(turn, flip):
    ell = shapely.Polygon([(0, 0), (30, 0), (30, 10), (10, 10), (10, 25), (0, 25)])
    ell = shapely.affinity.rotate(ell, -turn, origin=(0, 0))
    places = places_of(footprints(ell.reverse() if flip else ell))
    ahead = np.radians(places.facing_deg)
    step = np.column_stack([np.sin(ahead), np.cos(ahead)])
    at = np.column_stack([places.x_m, places.y_m])
    assert not shapely.contains_xy(ell, at + 0.1 * step).any()
    assert shapely.contains_xy(ell, at - 0.5 * step).all()
    told = {round(one) % 360 for one in np.unique((places.facing_deg - turn).round(3))}
    assert told == {0, 90, 180, 270}


def test_courtyards_have_walls_that_look_into_them():
    ring = BARN.difference(shapely.box(105, 204, 115, 208))
    inner = places_of(footprints(ring), 50)
    inside = inner.those(shapely.contains_xy(BARN, inner.x_m, inner.y_m))
    middle = np.column_stack([110 - inside.x_m, 206 - inside.y_m])
    ahead = np.radians(inside.facing_deg)
    assert len(inside) == 4
    assert ((middle * np.column_stack([np.sin(ahead), np.cos(ahead)])).sum(axis=1) > 0).all()
    # Four metres across: a box on a long side looks at the other.
    is_open = is_open_ahead(inside, footprints(ring), 6.0)
    assert dict(zip(inside.facing_deg.tolist(), is_open.tolist(), strict=True)) == {
        0: False, 180: False, 90: False, 270: False,
    }  # fmt: skip
    assert is_open_ahead(inside, footprints(ring), 2.0).all()


def test_each_part_of_a_building_has_its_walls():
    parts = shapely.MultiPolygon([BARN, shapely.box(200, 200, 210, 210)])
    places = places_of(footprints(shapely.box(0, 0, 9, 9), parts), 50)
    assert np.bincount(places.building).tolist() == [4, 8]


def test_narrow_walls_and_round_ones_carry_no_box():
    assert len(places_of(footprints(shapely.box(0, 0, 0.9, 0.9)))) == 0
    shed = places_of(footprints(shapely.box(0, 0, 0.9, 3)))
    assert facings(shed) == [90, 270]
    silo = shapely.Point(0, 0).buffer(2, quad_segs=32)
    assert len(places_of(footprints(silo))) == 0
    assert len(places_of(footprints())) == 0


def test_a_surveyed_corner_within_a_straight_wall_makes_no_second_wall():
    drawn = shapely.Polygon([(0, 0), (4, 0.01), (4.4, -0.01), (12, 0), (12, 8), (0, 8)])
    assert len(by_facing(places_of(footprints(drawn), 50), 180)) == 1


def test_a_wall_shared_with_the_next_building_is_none():
    next_door = shapely.box(120, 200, 135, 206)  # against half of the barn's eastern wall
    both = footprints(BARN, next_door)
    places = places_of(both, 3)
    shut = places.those(is_walled_up(places, both))
    assert set(zip(shut.building.tolist(), shut.facing_deg.tolist(), strict=True)) == {
        (0, 90.0), (1, 270.0),
    }  # fmt: skip
    free = by_facing(places.those(~is_walled_up(places, both)), 90)
    assert sorted(free.y_m[free.building == 0].tolist()) == [207.5, 210.5]


def test_open_space_is_asked_for_ahead_not_along_the_wall():
    row = [BARN, shapely.box(121, 199, 140, 212)]  # next door, a metre away and a metre ahead
    places = places_of(footprints(*row), 2)
    south = by_facing(places, 180).those(by_facing(places, 180).building == 0)
    assert is_open_ahead(south, footprints(*row), 6).all()
    opposite = footprints(*row, shapely.box(100, 190, 120, 195))
    assert not is_open_ahead(south, opposite, 6).any()
    assert is_open_ahead(south, opposite, 4).all()
    assert is_open_ahead(south, opposite, 0).all()


def test_a_wings_shadow_falls_on_its_own_building_as_rays_tell():
    ell = shapely.Polygon([(0, 0), (30, 0), (30, 10), (10, 10), (10, 25), (0, 25)])
    ell = shapely.affinity.rotate(ell, -25, origin=(0, 0))
    yard = shapely.box(5, -30, 25, -18)
    church = shapely.Point(45, 30).buffer(6)
    buildings, tall, mount = footprints(ell, yard, church), [14.0, 12.0, 30.0], 4.0
    sun = clear_day(42, -8.0, step_s=60)
    places = places_of(buildings, 4)
    places = places.those(~is_walled_up(places, buildings))
    lit = program_lit(sun, places, buildings, tall, mount)
    told = np.array(
        [
            ray_lit(sun.azimuth_deg, sun.altitude_deg, x, y, facing, buildings, tall, mount)
            for x, y, facing in zip(places.x_m, places.y_m, places.facing_deg, strict=True)
        ]
    )
    shaded = np.cos(np.radians(sun.azimuth_deg - places.facing_deg[:, None])) > 0
    assert 0.05 < (shaded & ~told).sum() / shaded.sum() < 0.6  # shadows there are
    off = np.abs((lit.astype(int) - told) @ sun.hours)
    # A whole degree of azimuth, or less, on either side of a corner of a building.
    assert off.max() < 0.15
    assert off.mean() < 0.04
    assert abs(((lit.astype(int) - told) @ sun.hours).mean()) < 0.02


def test_true_north_is_not_grid_north():
    barn = footprints(BARN)
    places = by_facing(places_of(barn, 50), 180)
    sun = clear_day(40, 0.0)
    straight = program_lit(sun, places, barn, [9.0], 4.0) @ sun.hours
    turned = program_lit(sun, places, barn, [9.0], 4.0, turned_deg=30.0) @ sun.hours
    assert straight == pytest.approx(12.0, abs=0.02)
    # It looks 30 degrees west of south, and sees the sun until 6 h after noon from when the sun
    # has passed 120 degrees: tan A = tan w / sin 40 at the equinox.
    since_h = np.degrees(np.arctan(np.tan(np.radians(60)) * np.sin(np.radians(40)))) / 15
    assert turned == pytest.approx(6 + since_h, abs=0.02)


def test_a_box_sees_its_own_wall_behind_it():
    seen = with_own_wall(np.full((1, 360), -1.0), np.array([180.0]), np.array([2.0]))[0]
    assert seen[0] == pytest.approx(np.degrees(np.arctan(2 / SETBACK_M)))
    assert seen[60] == pytest.approx(np.degrees(np.arctan(2 / (SETBACK_M / np.cos(np.pi / 3)))))
    assert (seen[91:270] == -1).all()
