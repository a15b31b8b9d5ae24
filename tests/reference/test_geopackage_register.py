"""A register against the OGC GeoPackage Encoding Standard 1.4 (OGC 12-128r19).

Numbers in comments are those of the requirements, column lists those of annex C, from memory; GDAL,
which wrote none of it, reads the file with geometries and reference system.
"""

import sqlite3
import struct
import subprocess
from contextlib import closing

import numpy as np
import pyogrio
import pytest
import shapely
from registers import LAT, LON, add_box, add_placement, add_visit, new_register

from suitability.follow_up.point_type import coordinates, geopackage_point

BASE_TABLES = {
    "gpkg_spatial_ref_sys": [
        ("srs_name", "TEXT", 1, 0), ("srs_id", "INTEGER", 0, 1), ("organization", "TEXT", 1, 0),
        ("organization_coordsys_id", "INTEGER", 1, 0), ("definition", "TEXT", 1, 0),
        ("description", "TEXT", 0, 0),
    ],
    "gpkg_contents": [
        ("table_name", "TEXT", 1, 1), ("data_type", "TEXT", 1, 0), ("identifier", "TEXT", 0, 0),
        ("description", "TEXT", 0, 0), ("last_change", "DATETIME", 1, 0), ("min_x", "DOUBLE", 0, 0),
        ("min_y", "DOUBLE", 0, 0), ("max_x", "DOUBLE", 0, 0), ("max_y", "DOUBLE", 0, 0),
        ("srs_id", "INTEGER", 0, 0),
    ],
    "gpkg_geometry_columns": [
        ("table_name", "TEXT", 1, 1), ("column_name", "TEXT", 1, 2),
        ("geometry_type_name", "TEXT", 1, 0), ("srs_id", "INTEGER", 1, 0), ("z", "TINYINT", 1, 0),
        ("m", "TINYINT", 1, 0),
    ],
}  # fmt: skip
COLUMN_TYPES = {"TEXT", "INTEGER", "DOUBLE", "DATE", "BOOLEAN", "POINT"}  # of table 1 and annex G


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    path = tmp_path_factory.mktemp("register") / "register.gpkg"
    with new_register(path).writing() as connection:
        first = add_box(connection, "A", "2022-03-01", "2024-03-01")
        add_placement(connection, "A", "2024-03-01", lon=LON + 0.01)
        add_box(connection, "B", lat=-33.9, lon=151.2, facing_deg=10.5)
        add_visit(connection, "A", first, "2022-06-09", "occupied", count=41, wasps=False)
    return path


@pytest.fixture
def base(path):
    with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as opened:
        yield opened


def test_the_file_says_what_it_is(base):
    assert base.execute("PRAGMA application_id").fetchone() == (0x47504B47,)  # 2: "GPKG"
    assert base.execute("PRAGMA user_version").fetchone() == (10400,)  # 2
    assert base.execute("PRAGMA integrity_check").fetchall() == [("ok",)]  # 6
    assert base.execute("PRAGMA foreign_key_check").fetchall() == []  # 7


@pytest.mark.parametrize("table", BASE_TABLES)
def test_base_tables_are_the_standards(base, table):
    found = base.execute(f"PRAGMA table_info({table})").fetchall()
    assert [(row[1], row[2], row[3], row[5]) for row in found] == BASE_TABLES[table]  # 10, 13, 21


def test_reference_systems(base):
    found = base.execute("SELECT srs_id, organization, organization_coordsys_id, definition FROM "
                         "gpkg_spatial_ref_sys ORDER BY srs_id").fetchall()  # fmt: skip
    assert [row[:3] for row in found] == [(-1, "NONE", -1), (0, "NONE", 0), (4326, "EPSG", 4326)]
    assert [row[3] for row in found[:2]] == ["undefined", "undefined"]  # 11
    assert found[2][3].startswith('GEOGCS["WGS 84"')


def test_contents(base):
    kinds = dict(base.execute("SELECT table_name, data_type FROM gpkg_contents"))
    assert kinds == {
        "placements": "features", "standing": "features", "boxes": "attributes",
        "visits": "attributes",
    }  # fmt: skip
    (changed,) = base.execute("SELECT DISTINCT last_change FROM gpkg_contents").fetchone()
    assert len(changed) == len("2022-03-01T00:00:00.000Z")  # 15
    assert changed.endswith("Z")
    told = base.execute("SELECT * FROM gpkg_geometry_columns ORDER BY table_name").fetchall()
    assert told == [
        ("placements", "geom", "POINT", 4326, 0, 0),
        ("standing", "geom", "POINT", 4326, 0, 0),
    ]  # 22 to 28


@pytest.mark.parametrize("table", ["boxes", "placements", "visits"])
def test_tables_have_a_whole_number_as_key_and_types_of_the_standard(base, table):
    rows = base.execute(f"PRAGMA table_info({table})").fetchall()
    assert [(row[1], row[2]) for row in rows if row[5]] == [("fid", "INTEGER")]  # 29, 118
    assert {row[2] for row in rows} <= COLUMN_TYPES  # 5


def test_points_are_in_the_standards_binary(base):
    (blob,) = base.execute("SELECT geom FROM placements WHERE fid = 1").fetchone()
    magic, version, flags, srs_id = struct.unpack("<2sBBi", blob[:8])  # 19, clause 2.1.3
    assert (magic, version, flags, srs_id) == (b"GP", 0, 1, 4326)
    point = shapely.from_wkb(blob[8:])  # by GEOS
    assert (point.x, point.y) == (LON, LAT)


@pytest.mark.parametrize(("kind", "doubles"), list(enumerate((0, 4, 6, 6, 8))))
def test_points_that_others_wrote_are_read_whatever_their_envelope(kind, doubles):
    """Bits 1 to 3 of the flags: none, xy, xyz, xym, xyzm; bit 0 the order of bytes."""
    point = shapely.Point(LON, LAT)
    envelope = struct.pack(f">{doubles}d", *[1.0] * doubles)
    blob = struct.pack(">2sBBi", b"GP", 0, kind << 1, 4326) + envelope
    blob += shapely.to_wkb(point, byte_order=0)
    np.testing.assert_array_equal(coordinates([blob, geopackage_point((1.5, 2.5))]),
                                  [[LON, LAT], [1.5, 2.5]])  # fmt: skip


def test_gdal_reads_points_with_their_reference_system(path):
    assert {name for name, _ in pyogrio.list_layers(path)} == {
        "placements", "standing", "boxes", "visits"
    }  # fmt: skip
    places = pyogrio.read_dataframe(path, layer="placements")
    assert places.crs.to_epsg() == 4326
    assert [(p.x, p.y) for p in places.geometry] == [
        (LON, LAT), (LON + 0.01, LAT), (151.2, -33.9)
    ]  # fmt: skip
    standing = pyogrio.read_dataframe(path, layer="standing")
    assert standing.crs.to_epsg() == 4326
    assert standing["name"].tolist() == ["A", "B"]
    assert standing.geometry.x.tolist() == [LON + 0.01, 151.2]
    assert standing.total_bounds.tolist() == [LON + 0.01, -33.9, 151.2, LAT]
    visits = pyogrio.read_dataframe(path, layer="visits")
    assert visits["date"].astype(str).tolist() == ["2022-06-09"]
    assert visits["count"].tolist() == [41]


def test_a_gis_can_write_and_is_held_to_the_rules(path, tmp_path):
    mine = tmp_path / "mine.gpkg"
    mine.write_bytes(path.read_bytes())
    places = pyogrio.read_dataframe(mine, layer="placements").iloc[[2]]
    later = places.assign(box="A", put_up=np.datetime64("2025-03-01", "D").astype(object))
    with pytest.raises((pyogrio.errors.FeatureError, RuntimeError), match="one place at a time"):
        pyogrio.write_dataframe(later, mine, layer="placements", driver="GPKG", append=True)
    earlier = later.assign(put_up=np.datetime64("2020-03-01", "D").astype(object),
                           taken_down=np.datetime64("2021-03-01", "D").astype(object))  # fmt: skip
    pyogrio.write_dataframe(earlier, mine, layer="placements", driver="GPKG", append=True)
    assert new_register(mine).placements()["lon_deg"].tolist()[0] == 151.2


def test_ogrinfo_lists_the_layers(path, system_program):
    words = [system_program("ogrinfo"), "-so", "-al", str(path)]
    told = subprocess.run(words, capture_output=True, text=True, check=True).stdout
    assert "Layer name: standing" in told
    assert 'ID["EPSG",4326]' in told
    assert "put_up: Date" in told
