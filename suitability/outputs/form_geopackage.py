"""A GeoPackage to fill in outdoors: boxes as points, and an empty layer with what may be written.

What may be written is told by the Schema extension of the standard (OGC GeoPackage Encoding
Standard 1.4, OGC 12-128r19, annex F.9): `gpkg_data_columns` has titles and descriptions of columns,
`gpkg_data_column_constraints` the words and ranges that fit. Programs that know the extension offer
lists to choose from; others show plain columns.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

import geopandas

from suitability.outputs.atomic import written
from suitability.outputs.form_fields import FormField
from suitability.outputs.geopackage import NO_TIME, write_geopackage

_DEFINITION = "http://www.geopackage.org/spec121/#extension_schema"
# Types of the standard's table 1.
_TYPES = {"text": "TEXT", "whole": "INTEGER", "number": "DOUBLE", "date": "DATE",
          "yes_no": "BOOLEAN"}  # fmt: skip

_TABLES = """
CREATE TABLE gpkg_data_columns (
  table_name TEXT NOT NULL,
  column_name TEXT NOT NULL,
  name TEXT,
  title TEXT,
  description TEXT,
  mime_type TEXT,
  constraint_name TEXT,
  CONSTRAINT pk_gdc PRIMARY KEY (table_name, column_name),
  CONSTRAINT gdc_tn UNIQUE (table_name, name)
);
CREATE TABLE gpkg_data_column_constraints (
  constraint_name TEXT NOT NULL,
  constraint_type TEXT NOT NULL,
  value TEXT,
  min NUMERIC,
  min_is_inclusive BOOLEAN,
  max NUMERIC,
  max_is_inclusive BOOLEAN,
  description TEXT,
  CONSTRAINT gdcc_ntv UNIQUE (constraint_name, constraint_type, value)
);
CREATE TABLE IF NOT EXISTS gpkg_extensions (
  table_name TEXT,
  column_name TEXT,
  extension_name TEXT NOT NULL,
  definition TEXT NOT NULL,
  scope TEXT NOT NULL,
  CONSTRAINT ge_tce UNIQUE (table_name, column_name, extension_name)
);
"""


def write_form(
    path: str | os.PathLike[str],
    boxes: geopandas.GeoDataFrame,
    fields: Sequence[FormField],
    *,
    layer: str,
    title: str,
    description: str,
) -> None:
    """Write the layer `boxes` and an empty one of points to fill in.

    Parameters
    ----------
    path : path
        Where to, such as `visit_form.gpkg`.
    boxes : geopandas.GeoDataFrame
        Points in WGS 84, which every device knows.
    fields : sequence of FormField
        Columns of the empty layer.
    layer : str
        Its name.
    title, description : str
        What the form is for, and what to heed.
    """
    with written(path) as whole:
        write_geopackage(
            whole,
            boxes,
            layer="boxes",
            geometry_type="Point",
            title=f"{title}: boxes",
            description=description,
        )
        with closing(sqlite3.connect(whole)) as base, base:
            base.executescript(_TABLES)
            for table in ("gpkg_data_columns", "gpkg_data_column_constraints"):
                base.execute(
                    "INSERT INTO gpkg_extensions VALUES (?, NULL, 'gpkg_schema', ?, 'read-write')",
                    (table, _DEFINITION),
                )
            _add_layer(base, layer, fields, boxes, f"{title}: {layer}", description)
            for field in fields:
                _add_field(base, layer, field)
        _sweep(whole)


def _add_layer(
    base: sqlite3.Connection,
    layer: str,
    fields: Sequence[FormField],
    boxes: geopandas.GeoDataFrame,
    title: str,
    description: str,
) -> None:
    columns = ", ".join(
        f'"{field.name}" {_TYPES[field.kind]}{" NOT NULL" if field.needed else ""}'
        for field in fields
    )
    base.execute(
        f'CREATE TABLE "{layer}" (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom POINT, '
        f"{columns})"
    )
    # The extent tells a device what to show at first: where the boxes are.
    ends = [float(end) for end in boxes.total_bounds] if len(boxes) else [None] * 4
    base.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change, "
        "min_x, min_y, max_x, max_y, srs_id) VALUES (?, 'features', ?, ?, ?, ?, ?, ?, ?, 4326)",
        (layer, title, description, NO_TIME, *ends),
    )
    base.execute(
        "INSERT INTO gpkg_geometry_columns VALUES (?, 'geom', 'POINT', 4326, 0, 0)", (layer,)
    )


def _add_field(base: sqlite3.Connection, layer: str, field: FormField) -> None:
    """Say what a column is, and what fits."""
    constraint = f"{layer}_{field.name}" if field.words or field.ends else None
    base.execute(
        "INSERT INTO gpkg_data_columns VALUES (?, ?, ?, ?, ?, NULL, ?)",
        (layer, field.name, field.name, field.title, field.description, constraint),
    )
    rows: list[tuple[object, ...]] = [
        # Programs show the description in place of the value: so it begins with it.
        (constraint, "enum", value, None, None, None, None, f"{value}: {meaning}")
        for value, meaning in field.words
    ]
    if field.ends:
        rows.append((constraint, "range", None, field.ends[0], 1, field.ends[1], 1, field.title))
    base.executemany(
        "INSERT INTO gpkg_data_column_constraints VALUES (?, ?, ?, ?, ?, ?, ?, ?)", rows
    )


def _sweep(whole: Path) -> None:
    """Remove what the database lays beside a file while it works."""
    for suffix in ("-journal", "-wal", "-shm"):
        whole.with_name(whole.name + suffix).unlink(missing_ok=True)
