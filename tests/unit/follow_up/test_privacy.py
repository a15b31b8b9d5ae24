"""Coarse places: they hold the true one, do not lead to it, and are the same each time."""

import mgrs
import numpy as np
import pytest
from pyproj import Geod

from suitability.follow_up.privacy import SQUARES_M, coarse_place

EARTH = Geod(ellps="WGS84")
rng = np.random.default_rng(4)
PLACES = [
    (-84.3034, 40.1950),
    (-34.9, -8.01),
    (11.963, 57.707),
    *zip(rng.uniform(-179, 179, 20), rng.uniform(-60, 70, 20), strict=True),
]


@pytest.mark.parametrize("side_m", [1000, 10_000, 100_000])
@pytest.mark.parametrize("place", PLACES)
def test_a_place_lies_in_its_square(place, side_m):
    found = coarse_place(*place, side_m)
    *_, away_m = EARTH.inv(*place, found.lon_deg, found.lat_deg)
    # Half the diagonal, the zone's scale (0.1 %) and the rounding to 4 decimals (11 m).
    if mgrs.MGRS().toMGRS(place[1], place[0], MGRSPrecision=SQUARES_M[side_m]) == found.square:
        assert away_m <= side_m / np.sqrt(2) * 1.002 + 12
    else:  # its own square is cut to less than half, and is told by the one beside
        assert away_m <= side_m * np.hypot(1, 0.5) * 1.002 + 12
    assert found.side_m == side_m


def test_all_places_of_a_square_are_told_alike():
    here = coarse_place(-84.3034, 40.1950, 1000)
    for direction in (0, 90, 180, 270):
        lon, lat, _ = EARTH.fwd(here.lon_deg, here.lat_deg, direction, 400)
        assert coarse_place(lon, lat, 1000) == here


def test_wider_squares_hold_narrower_ones():
    names = [coarse_place(-84.3034, 40.1950, side).square for side in (100_000, 10_000, 1000)]
    assert names == ["16TGK", "16TGK25", "16TGK2952"]


def test_other_sides_and_polar_places_are_refused():
    with pytest.raises(ValueError, match="1,000 m"):
        coarse_place(0, 0, 500)
    with pytest.raises(ValueError, match="latitude 85"):
        coarse_place(0, 85)
