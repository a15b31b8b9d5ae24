"""Hours of sun on walls: the geometry of the sphere, and the profile angle of a wall opposite.

A wall under a level horizon: sin h = sin φ sin δ + cos φ cos δ cos ω, and the sun's azimuth within
90° of the wall's facing; hours from these by quadrature. A long wall opposite: it hides the sun
where the profile angle, tan h / cos(azimuth - facing), is below its own (Duffie and Beckman, Solar
Engineering of Thermal Processes, chapter 14, from memory).
"""

import numpy as np
import pytest
import shapely
from walls import clear_day, footprints, places_of, program_lit

from suitability.box.walls import SETBACK_M
from suitability.sun import hours_by_facing

LEVEL = np.zeros(360)
FACES = (0, 45, 90, 135, 180, 225, 270, 315)


@pytest.mark.parametrize(
    ("lat", "declination", "sky", "hours"),
    [  # north, north-east and north-west, east and west, south-east and south-west, south
        (30, 23.44, 13.93, (8.42, 6.50, 6.97, 7.43, 5.51)),
        (35, 23.44, 14.36, (7.46, 6.39, 7.18, 7.97, 6.90)),
        (40, 23.44, 14.84, (6.99, 6.32, 7.42, 8.52, 7.85)),
        (45, 23.44, 15.43, (6.85, 6.33, 7.71, 9.10, 8.57)),
        (50, 23.44, 16.15, (6.99, 6.43, 8.07, 9.72, 9.16)),
        (40, 0.0, 12.00, (0.0, 3.82, 6.00, 8.18, 12.00)),
        (40, 15.0, 13.73, (4.22, 5.35, 6.87, 8.39, 9.52)),
    ],
)
def test_faces_under_a_level_horizon(lat, declination, sky, hours):
    sun = clear_day(lat, declination)
    found = hours_by_facing(sun, LEVEL, 0.0, FACES)
    north, north_east, east, south_east, south = hours
    told = [north, north_east, east, south_east, south, south_east, east, north_east]
    np.testing.assert_allclose(found, told, atol=0.02)
    assert sun.season_hours.sum() == pytest.approx(sky, abs=0.02)
    np.testing.assert_allclose(found[:4] + found[4:], sky, atol=0.02)


def test_the_four_faces_of_a_barn_have_those_hours():
    barn = footprints(shapely.box(0, 0, 20, 12))
    places = places_of(barn, 30)
    sun = clear_day(40, 23.44)
    hours = program_lit(sun, places, barn, [8.0], 3.0) @ sun.season_hours
    by_face = dict(zip(places.facing_deg.round().astype(int).tolist(), hours, strict=True))
    assert by_face == pytest.approx({0: 6.99, 90: 7.42, 180: 7.85, 270: 7.42}, abs=0.02)


@pytest.mark.parametrize("facing", [180.0, 135.0, 90.0])
@pytest.mark.parametrize("taller_m", [2.0, 6.0])
def test_a_long_wall_opposite_hides_the_sun_below_its_profile_angle(facing, taller_m):
    street_m, mount_m = 10.0, 4.0
    near = shapely.box(-20, 0, 20, 5)  # its wall at y = 0 looks to the south
    far = shapely.box(-9000, -street_m - 5, 9000, -street_m)
    turned = [shapely.affinity.rotate(one, 180 - facing, origin=(0, 0)) for one in (near, far)]
    both = footprints(*turned)
    places = places_of(both, 100)
    looks = np.isclose(places.facing_deg, facing) & (places.building == 0)
    place = places.those(looks)
    assert len(place) == 1
    sun = clear_day(40, -10.0)
    lit = program_lit(sun, place, both, [6.0, mount_m + taller_m], mount_m)[0]
    ahead = np.cos(np.radians(sun.azimuth_deg - facing))
    profile = np.tan(np.radians(sun.altitude_deg)) / np.where(ahead > 0, ahead, np.nan)
    told = sun.hours[profile > taller_m / (street_m - SETBACK_M)].sum()
    assert told < sun.hours[ahead > 0].sum() - 0.3  # it does hide some
    assert lit @ sun.hours == pytest.approx(told, abs=0.02)
