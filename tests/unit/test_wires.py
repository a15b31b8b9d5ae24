"""Overhead lines near sites, by hand."""

import geopandas as gpd
import pytest
from shapely import LineString, Point

from suitability.quantities import Quantities
from suitability.wires import wires_in_reach

CRS = "EPSG:32616"


NORTH_SOUTH = LineString([(0, -50), (0, 50)])


def warned(x, height_m=4.6, lines=(NORTH_SOUTH,)):
    sites = gpd.GeoDataFrame({"rank": [7]}, geometry=[Point(x, 0)], crs=CRS)
    wires = gpd.GeoDataFrame(geometry=list(lines), crs=CRS)
    return list(wires_in_reach(sites, wires, height_m, Quantities()))


@pytest.mark.parametrize(("x", "near"), [(0, True), (8.6, True), (8.7, False), (60, False)])
def test_a_pole_wants_its_height_a_metre_and_ten_feet(x, near):
    # 4.6 + 1 + 3.048 m. OSHA 29 CFR 1926: 10 ft from lines of up to 50 kV.
    assert bool(warned(x)) == near


def test_a_higher_box_reaches_further():
    assert not warned(9.0)
    assert "site 7: an overhead line is 9 m away" in warned(9.0, height_m=6.0)[0]


def test_without_lines_nothing_is_said():
    assert warned(0, lines=()) == []
    assert list(wires_in_reach(gpd.GeoDataFrame({"rank": []}), None, 4.6, Quantities())) == []
