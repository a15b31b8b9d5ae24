"""Features and the land around them."""

import geopandas as gpd
import numpy as np
import pytest
from shapely import LineString, Point

from suitability.inputs.features import widened


def test_the_land_around_a_point_is_a_circle_and_keeps_what_is_known_of_it():
    boxes = gpd.GeoDataFrame(
        {"name": ["a", "b"]}, geometry=[Point(0, 0), Point(9, 0)], crs="EPSG:32616", index=[3, 7]
    )
    around = widened(boxes, 50.0)
    assert around.area.to_numpy() == pytest.approx([np.pi * 2500] * 2, rel=1e-4)
    assert around.centroid.x.to_numpy() == pytest.approx([0, 9], abs=1e-9)
    assert (list(around["name"]), list(around.index), around.crs) == (
        ["a", "b"], [3, 7], boxes.crs,
    )  # fmt: skip
    assert boxes.geometry.iloc[0] == Point(0, 0)


def test_the_land_around_a_line_is_as_wide_on_both_sides():
    line = gpd.GeoDataFrame(geometry=[LineString([(0, 0), (100, 0)])], crs="EPSG:32616")
    assert widened(line, 10.0).total_bounds == pytest.approx([-10, -10, 110, 10])
