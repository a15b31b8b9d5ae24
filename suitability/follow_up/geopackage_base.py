"""The tables that every GeoPackage has, for a register kept in one.

OGC GeoPackage Encoding Standard 1.4 (OGC 12-128r19), clauses 1.1.1, 1.1.2, 1.1.3 and 2.1.5;
definitions as in its annex C.
"""

from __future__ import annotations

from typing import Literal

import pyproj
from sqlalchemy import Connection

from suitability.follow_up.point_type import SRS_ID

_APPLICATION_ID = 0x47504B47  # "GPKG"
_VERSION = 10400

_TABLES = (
    """CREATE TABLE gpkg_spatial_ref_sys (
      srs_name TEXT NOT NULL,
      srs_id INTEGER PRIMARY KEY,
      organization TEXT NOT NULL,
      organization_coordsys_id INTEGER NOT NULL,
      definition TEXT NOT NULL,
      description TEXT
    )""",
    """CREATE TABLE gpkg_contents (
      table_name TEXT NOT NULL PRIMARY KEY,
      data_type TEXT NOT NULL,
      identifier TEXT UNIQUE,
      description TEXT DEFAULT '',
      last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
      min_x DOUBLE,
      min_y DOUBLE,
      max_x DOUBLE,
      max_y DOUBLE,
      srs_id INTEGER,
      CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id)
    )""",
    """CREATE TABLE gpkg_geometry_columns (
      table_name TEXT NOT NULL,
      column_name TEXT NOT NULL,
      geometry_type_name TEXT NOT NULL,
      srs_id INTEGER NOT NULL,
      z TINYINT NOT NULL,
      m TINYINT NOT NULL,
      CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name),
      CONSTRAINT uk_gc_table_name UNIQUE (table_name),
      CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
      CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id)
    )""",
)


def make_geopackage(connection: Connection) -> None:
    """Make an empty SQLite database a GeoPackage without content."""
    connection.exec_driver_sql(f"PRAGMA application_id = {_APPLICATION_ID}")
    connection.exec_driver_sql(f"PRAGMA user_version = {_VERSION}")
    for table in _TABLES:
        connection.exec_driver_sql(table)
    wkt = pyproj.CRS.from_epsg(SRS_ID).to_wkt("WKT1_GDAL")
    for row in (
        ("Undefined Cartesian SRS", -1, "NONE", -1, "undefined"),
        ("Undefined geographic SRS", 0, "NONE", 0, "undefined"),
        ("WGS 84 geodetic", SRS_ID, "EPSG", SRS_ID, wkt),
    ):
        connection.exec_driver_sql(
            "INSERT INTO gpkg_spatial_ref_sys VALUES (?, ?, ?, ?, ?, NULL)", row
        )


def list_content(
    connection: Connection, table: str, kind: Literal["features", "attributes"], description: str
) -> None:
    """Have a table told as content of the GeoPackage; features have points in `geom`.

    No extent is stated, so that readers look for themselves and no move leaves a wrong one.
    """
    srs_id = SRS_ID if kind == "features" else None
    connection.exec_driver_sql(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id) "
        "VALUES (?, ?, ?, ?, ?)",
        (table, kind, table, description, srs_id),
    )
    if kind == "features":
        connection.exec_driver_sql(
            "INSERT INTO gpkg_geometry_columns VALUES (?, 'geom', 'POINT', ?, 0, 0)",
            (table, SRS_ID),
        )


def note_change(connection: Connection) -> None:
    """State now as the time of the last change."""
    connection.exec_driver_sql(
        "UPDATE gpkg_contents SET last_change = strftime('%Y-%m-%dT%H:%M:%fZ', 'now')"
    )
