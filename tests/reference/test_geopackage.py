"""Sites as a GeoPackage against OGC 12-128r18, "GeoPackage Encoding Standard" 1.3.

The numbers in comments are those of the requirements, from memory.
"""

import re
import sqlite3

import numpy as np
import pandas as pd
import pyproj
import pytest

from suitability.grid import Grid
from suitability.outputs.points import add_coordinates, write_sites

GRID = Grid(pyproj.CRS.from_epsg(32616), 728_000.0, 4_454_000.0, 2.0, 500, 500)
MDI = re.compile(r'<MDI key="CAUTION_01">Never handle bats &amp; the like\.</MDI>')


@pytest.fixture(params=[0, 3])
def base(tmp_path, request):
    step = 10.0 * np.arange(request.param)
    plain = {
        "rank": np.arange(request.param) + 1,
        "x_m": 728_100.5 + step,
        "y_m": 4_453_900.25 - step,
    }
    sites = add_coordinates(pd.DataFrame(plain), GRID)
    path, _, _ = write_sites(
        tmp_path, sites, cautions=["Never handle bats & the like."], title="Sites"
    )
    connection = sqlite3.connect(path)
    yield connection
    connection.close()


def columns(base, table):
    return {row[1] for row in base.execute(f"PRAGMA table_info({table})")}


def test_the_file_says_what_it_is(base):
    assert base.execute("PRAGMA application_id").fetchone() == (0x47504B47,)  # 2: "GPKG"
    (version,) = base.execute("PRAGMA user_version").fetchone()
    assert 10200 <= version < 20000  # 2
    assert base.execute("PRAGMA integrity_check").fetchone() == ("ok",)  # 6
    assert base.execute("PRAGMA foreign_key_check").fetchall() == []  # 7


def test_reference_systems(base):
    assert {"srs_name", "srs_id", "organization", "organization_coordsys_id", "definition"} <= (
        columns(base, "gpkg_spatial_ref_sys")  # 10
    )
    found = {row[0] for row in base.execute("SELECT srs_id FROM gpkg_spatial_ref_sys")}
    assert {-1, 0, 4326, 32616} <= found  # 11, 12


def test_contents(base):
    wanted = (
        "table_name data_type identifier description last_change min_x min_y max_x max_y srs_id"
    )
    assert columns(base, "gpkg_contents") == set(wanted.split())  # 13
    name, kind, srs, changed = base.execute(
        "SELECT table_name, data_type, srs_id, last_change FROM gpkg_contents"
    ).fetchone()
    assert (name, kind, srs) == ("sites", "features", 32616)  # 14, 17
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z", changed)  # 15


def test_features(base):
    assert base.execute(
        "SELECT table_name, geometry_type_name, srs_id, z, m FROM gpkg_geometry_columns"
    ).fetchall() == [("sites", "POINT", 32616, 0, 0)]  # 21 to 28
    key = [row for row in base.execute("PRAGMA table_info(sites)") if row[5]]
    assert [(row[2], row[5]) for row in key] == [("INTEGER", 1)]  # 29
    for (blob,) in base.execute("SELECT geom FROM sites"):
        assert blob[:3] == b"GP\x00"  # 19: magic and version 1
        assert int.from_bytes(blob[4:8], "little") == 32616


def test_metadata_extension(base):
    tables = {row[0] for row in base.execute("SELECT name FROM sqlite_master")}
    assert {"gpkg_metadata", "gpkg_metadata_reference"} <= tables  # annex F.8
    registered = base.execute("SELECT table_name, extension_name FROM gpkg_extensions").fetchall()
    assert ("gpkg_metadata", "gpkg_metadata") in registered
    assert ("gpkg_metadata_reference", "gpkg_metadata") in registered
    (scope, mime, text), *_ = base.execute(
        "SELECT md_scope, mime_type, metadata FROM gpkg_metadata"
    ).fetchall()
    assert (scope, mime) == ("dataset", "text/xml")
    assert MDI.search(text)
    assert base.execute("SELECT reference_scope FROM gpkg_metadata_reference").fetchone() == (
        "geopackage",
    )
