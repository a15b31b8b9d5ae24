"""What stands about sites, by hand."""

import geopandas as gpd
import pytest
from shapely import LineString, Point, box

from suitability.heeding import away_m, next_building_m, wires_in_reach
from suitability.outputs.site_signs import SiteFacts
from suitability.quantities import Quantities

CRS = "EPSG:32616"


def shapes(*geometries):
    return gpd.GeoDataFrame(geometry=list(geometries), crs=CRS)


def warned(away, kind="pole", height_m=4.6, units="metric"):
    facts = SiteFacts(kind=kind, mount_height_m=height_m, wire_m=away)
    return list(wires_in_reach([7], [facts], Quantities(units)))


@pytest.mark.parametrize(("away", "near"), [(0, True), (8.6, True), (8.7, False), (None, False)])
def test_a_pole_wants_its_height_a_metre_and_ten_feet(away, near):
    # 4.6 + 1 + 3.048 m. OSHA 29 CFR 1926: 10 ft from lines of up to 50 kV.
    assert bool(warned(away)) == near


@pytest.mark.parametrize(("away", "near"), [(8.7, True), (8.75, False)])
def test_a_ladder_wants_its_length_and_ten_feet(away, near):
    # OSHA 29 CFR 1926.1053: 3 ft above where one works, one foot out for every four up:
    # (4.6 + 0.9144) m times sqrt(17) / 4 is 5.684 m, and 3.048 m come on top.
    assert bool(warned(away, "wall")) == near


def test_a_wall_site_is_warned_of_a_ladder_not_of_a_pole():
    assert "a ladder wants 8.7 m to fall" in warned(5, "wall")[0]
    assert "pole" not in warned(5, "wall")[0]
    assert "site 7: an overhead line is 5 m away, and a pole wants 8.6 m" in warned(5)[0]


def test_a_higher_box_reaches_further():
    assert not warned(9.0)
    assert warned(9.0, height_m=6.0)


def test_it_is_told_in_the_readers_units():
    assert "16.4 ft away" in warned(5, units="us")[0]
    assert "28.4 ft to fall and keep 10 ft off it" in warned(5, units="us")[0]


def test_distances_are_to_the_nearest_shape():
    places = shapes(Point(0, 0), Point(40, 30)).geometry
    lines = shapes(LineString([(-3, -9), (-3, 9)]), LineString([(0, 100), (90, 100)]))
    assert away_m(places, lines) == [3.0, 47.85]  # 43 m across, 21 along
    assert away_m(places, shapes()) == [None, None]
    assert away_m(places, None) == [None, None]


def test_a_wall_is_not_near_its_own_building():
    houses = shapes(box(0, 0, 10, 10), box(22, 0, 30, 10))
    before_its_wall = Point(10.2, 5)
    assert next_building_m(before_its_wall, houses, is_wall=True) == pytest.approx(11.8)
    assert next_building_m(before_its_wall, houses, is_wall=False) == pytest.approx(0.2)
    assert next_building_m(before_its_wall, houses.iloc[:1], is_wall=True) is None
    assert next_building_m(before_its_wall, None, is_wall=False) is None
