"""Places for the public, anywhere on Earth: however often they are told, one square is all."""

import numpy as np
import pyproj
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st

from suitability.follow_up.privacy import SQUARES_M, coarse_place

EARTH = pyproj.Geod(ellps="WGS84")
SIDES_M = sorted(SQUARES_M)
# Where bats live. Zones of the grid meet at every sixth degree, and otherwise off Norway.
PLACES = st.tuples(
    st.one_of(
        st.floats(-179.99, 179.99),
        st.integers(-29, 29).flatmap(lambda zone: st.floats(6 * zone - 0.05, 6 * zone + 0.05)),
    ),
    st.one_of(
        st.floats(-60, 70),
        st.integers(-7, 8).flatmap(lambda band: st.floats(8 * band - 0.05, 8 * band + 0.05)),
    ),
)


def held_by(place):
    return shapely.Polygon(place.corners_deg)


@settings(deadline=None)
@given(PLACES, st.sampled_from(SIDES_M), st.floats(0, 360), st.floats(0, 1.4))
@example((-84.0001, 40.0001), 10_000, 0.0, 0.5)
@example((2.999, 60.0), 10_000, 90.0, 0.5)
def test_places_told_alike_are_told_alike_in_wider_squares(place, side_m, bearing, share):
    """Exports of several widths lead to the finest of them and no further."""
    lon, lat, _ = EARTH.fwd(*place, bearing, share * side_m)
    here, there = coarse_place(*place, side_m), coarse_place(lon, lat, side_m)
    if here.square == there.square:
        assert here == there
        for wider in SIDES_M[SIDES_M.index(side_m) :]:
            assert coarse_place(*place, wider) == coarse_place(lon, lat, wider)


@settings(deadline=None, max_examples=40)  # some forty looks each
@given(PLACES, st.sampled_from(SIDES_M[:2]))
@example((-84.0001, 40.0001), 10_000)
def test_no_area_told_is_a_strip(place, side_m):
    """Half a square at the least can be meant, so nothing is narrower than half the distance.

    From a place, some point a quarter of a side or more away across is told alike, in one of two
    opposite directions or both.
    """
    square = coarse_place(*place, side_m)
    for bearing in (0, 45, 90, 135):
        reach = 0.0
        for turned in (bearing, bearing + 180):
            for step in np.arange(0.03, 0.5, 0.03):
                lon, lat, _ = EARTH.fwd(square.lon_deg, square.lat_deg, turned, step * side_m)
                if coarse_place(lon, lat, side_m) != square:
                    break
                reach += 0.03
        assert reach >= 0.45


@settings(deadline=None)
@given(PLACES, st.sampled_from(SIDES_M))
@example((-84.0001, 40.0001), 100_000)
def test_a_place_is_in_its_square_or_in_the_one_beside(place, side_m):
    square = held_by(coarse_place(*place, side_m))
    lon = place[0] + 360 * round((square.centroid.x - place[0]) / 360)
    metre_deg = 1 / 111_000 / np.cos(np.radians(place[1]))
    assert square.distance(shapely.Point(lon, place[1])) <= 0.55 * side_m * metre_deg
