"""Sites as GeoJSON against RFC 7946, "The GeoJSON Format" (IETF, August 2016), by section."""

import json

import geopandas
import numpy as np
import pandas as pd
import pyproj
import pytest

from suitability.grid import Grid
from suitability.outputs.points import add_coordinates, write_sites


def sites_at(grid, count=3):
    x, y = grid.centre
    step = 10.0 * np.arange(count)
    plain = {"rank": np.arange(count) + 1, "score": 0.5, "x_m": x + step, "y_m": y - step}
    return add_coordinates(pd.DataFrame(plain).assign(note="Weiher, „tief“"), grid)


def written(folder, sites):
    _, path, _ = write_sites(folder, sites, cautions=["Never handle bats."], title="Sites")
    return path


@pytest.fixture
def grid():
    return Grid(pyproj.CRS.from_epsg(32616), 728_000.0, 4_454_000.0, 2.0, 500, 500)


def test_members(tmp_path, grid):
    raw = written(tmp_path, sites_at(grid)).read_bytes()
    assert not raw.startswith(b"\xef\xbb\xbf")  # RFC 8259, section 8.1: no byte-order mark
    collection = json.loads(raw.decode("utf-8"))  # section 1: I-JSON, hence UTF-8
    assert collection["type"] == "FeatureCollection"  # section 3.3
    assert "crs" not in collection  # section 4: WGS 84 and no other
    # Section 7.1: members of other types must not stand in a collection
    assert not {"coordinates", "geometries", "geometry", "properties"} & set(collection)
    for feature in collection["features"]:
        assert feature["type"] == "Feature"  # section 3.2
        assert {"geometry", "properties"} <= set(feature)
        assert "crs" not in feature
        assert feature["geometry"]["type"] == "Point"
        assert isinstance(feature["id"], int)
    assert len({feature["id"] for feature in collection["features"]}) == 3


def test_positions_are_longitude_then_latitude_in_few_digits(tmp_path, grid):
    path = written(tmp_path, sites_at(grid))
    for feature in json.loads(path.read_text(encoding="utf-8"))["features"]:
        lon, lat = feature["geometry"]["coordinates"]  # section 3.1.1: easting first
        assert -84.5 < lon < -84.2  # western Ohio, from any atlas
        assert 40.1 < lat < 40.3
        for number in (lon, lat):  # section 11.2: 6 decimals are about 10 cm
            assert len(repr(number).split(".")[1]) <= 7


def test_the_box_is_west_south_east_north(tmp_path, grid):
    collection = json.loads(written(tmp_path, sites_at(grid)).read_text(encoding="utf-8"))
    places = np.array([f["geometry"]["coordinates"] for f in collection["features"]])
    np.testing.assert_array_equal(collection["bbox"], [*places.min(axis=0), *places.max(axis=0)])


def test_the_box_across_the_antimeridian_has_its_west_in_the_east(tmp_path):
    # Section 5.2. Taveuni, Fiji, lies on the antimeridian; EPSG:3460 covers it.
    crs = pyproj.CRS.from_epsg(3460)
    x, y = pyproj.Transformer.from_crs(4326, crs, always_xy=True).transform(180.0, -16.8)
    grid = Grid(crs, x - 500, y + 500, 2.0, 500, 500)
    sites = sites_at(grid).assign(x_m=[x - 400, x, x + 400])
    sites = add_coordinates(pd.DataFrame(sites.drop(columns="geometry")), grid)
    west, south, east, north = json.loads(
        written(tmp_path, sites).read_text(encoding="utf-8")
    )["bbox"]  # fmt: skip
    assert 179.9 < west < 180
    assert -180 <= east < -179.9
    assert south < north


def test_another_reader_finds_the_points_where_they_are(tmp_path, grid):
    sites = sites_at(grid)
    read = geopandas.read_file(written(tmp_path, sites))
    assert read.crs == pyproj.CRS.from_epsg(4326)
    assert read["note"].to_list() == ["Weiher, „tief“"] * 3
    assert (read.to_crs(grid.crs).distance(sites.geometry) < 0.12).all()


def test_no_sites_make_a_collection_of_none(tmp_path, grid):
    collection = json.loads(written(tmp_path, sites_at(grid, 0)).read_text(encoding="utf-8"))
    assert collection["features"] == []  # section 3.3: the array may be empty
    assert "bbox" not in collection  # section 5: a box of nothing has no meaning
