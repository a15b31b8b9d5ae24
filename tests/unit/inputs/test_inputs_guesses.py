"""What inputs seem to be, and when only their user can know."""

import numpy as np
import pandas as pd
import pyproj
import pytest
from shapely import LineString, Point

from suitability.errors import InputError
from suitability.grid import Grid
from suitability.inputs.guesses import (
    codes_met,
    fitting_legend,
    height_field,
    look_at_layer,
    permanence_field,
    unknown_codes,
)

LINES = frozenset({"line"})


@pytest.mark.parametrize(
    ("codes", "legend"),
    [([11, 41, 81], "nlcd"), ([0, 250, 43], "nlcd"), ([10, 30, 60], "worldcover")],
)
def test_a_legend_that_alone_knows_all_codes_is_taken(codes, legend):
    assert fitting_legend(dict.fromkeys(codes, 1), "cover.tif") == legend


@pytest.mark.parametrize(
    ("codes", "what", "fix"),
    [
        ([90, 95], "fit several legends: nlcd, worldcover", "--legend nlcd"),
        ([41, 10], "nlcd has no 10; worldcover has no 41", "--legend my_legend.yaml"),
        ([0], "it holds no class here", "--legend my_legend.yaml"),
        ([], "it holds no class here", "--legend my_legend.yaml"),
    ],
)
def test_otherwise_the_user_is_asked(codes, what, fix):
    with pytest.raises(InputError) as caught:
        fitting_legend(dict.fromkeys(codes, 1), "cover.tif")
    assert what in caught.value.what
    assert fix in caught.value.fix


def test_codes_are_counted_over_the_land(write_raster):
    path = write_raster(np.array([[41, 41], [81, 7]], np.uint8), nodata=7)
    grid = Grid(pyproj.CRS.from_epsg(32616), 500_000.0, 4_500_000.0, 10.0, 2, 2)
    assert codes_met(path, grid) == {41: 2, 81: 1}


@pytest.mark.parametrize(
    ("columns", "found"),
    [
        ({"id": [1], "height_m": [4.5]}, ("height_m", "m")),
        ({"BLDGHGT_FT": [30.0]}, ("BLDGHGT_FT", "ft")),
        ({"Height": ["7", ""]}, ("Height", None)),
        ({"heights_source": ["survey"], "hoehe": [6]}, ("hoehe", None)),
        ({"height": [None, 0]}, (None, None)),
        ({"weight": [5]}, (None, None)),
        ({"levels": [2]}, (None, None)),
        ({}, (None, None)),
    ],
)
def test_heights_go_by_the_name_and_by_what_is_there(columns, found):
    assert height_field(pd.DataFrame(columns))[:2] == found


def test_how_lasting_water_is():
    nhd = pd.DataFrame({"name": ["a", "b"], "FCODE": [46006.0, 46003.0]})
    assert permanence_field(nhd)[:2] == ("FCODE", "nhd")
    words = pd.DataFrame({"flow": ["perennial", "ephemeral"]})
    assert permanence_field(words)[:2] == ("flow", "words")
    assert permanence_field(pd.DataFrame({"flow": ["perennial", "often"]})) is None
    odd = pd.DataFrame({"fcode": [46006, 43600]})
    assert permanence_field(odd) is None
    assert unknown_codes(odd) == ("fcode", ["43600"])


def test_of_several_layers_the_one_that_fits_is_taken(write_vector):
    path = write_vector([LineString([(0, 0), (9, 9)])], layer="brooks", kind=["brook"])
    assert look_at_layer(path, LINES, "streams").name is None
    write_vector([Point(0, 0)], layer="gauges")
    layer = look_at_layer(path, LINES, "streams")
    assert layer.name == "brooks"
    assert list(layer.attributes.columns) == ["kind"]
    write_vector([LineString([(0, 0), (5, 9)])], layer="ditches")
    with pytest.raises(InputError, match="several layers that could be streams: brooks, ditches"):
        look_at_layer(path, LINES, "streams")
    with pytest.raises(InputError, match="no layer of the file can be boundary"):
        look_at_layer(path, frozenset({"polygon"}), "boundary")
