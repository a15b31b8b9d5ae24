"""A point in a database: GeoPackage's binary form in SQLite, PostGIS's in PostgreSQL.

GeoPackage binary as in the OGC GeoPackage Encoding Standard 1.4 (OGC 12-128r19), clause 2.1.3:
a header with magic, version, flags, reference system and perhaps an envelope, then well-known
binary. PostGIS takes well-known binary with the reference system in it, as hexadecimal digits.
"""

from __future__ import annotations

import struct
from collections.abc import Callable, Iterable
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from sqlalchemy import Dialect
from sqlalchemy.types import UserDefinedType

SRS_ID = 4326

_MAGIC = b"GP"
_LITTLE_ENDIAN = 1
_HEADER = struct.Struct("<2sBBi")
_POINT = struct.Struct("<BI2d")
_WKB_POINT = 1
_EWKB_SRID = 0x20000000
_EWKB_POINT = struct.Struct("<BII2d")
# Bytes of the envelope by its kind, bits 1 to 3 of the flags.
_ENVELOPE_BYTES = (0, 32, 48, 48, 64)


class Point(UserDefinedType[tuple[float, float]]):
    """A column of points, longitude first; written as a pair, read as the database has it."""

    cache_ok = True

    def bind_processor(self, dialect: Dialect) -> Callable[[Any], Any]:
        """Return what turns a pair into what the database takes."""
        return geopackage_point if dialect.name == "sqlite" else postgis_point


def geopackage_point(lon_lat: tuple[float, float]) -> bytes:
    """Return a point as GeoPackage binary, without an envelope."""
    header = _HEADER.pack(_MAGIC, 0, _LITTLE_ENDIAN, SRS_ID)
    return header + _POINT.pack(_LITTLE_ENDIAN, _WKB_POINT, *lon_lat)


def postgis_point(lon_lat: tuple[float, float]) -> str:
    """Return a point as PostGIS takes it in."""
    return _EWKB_POINT.pack(_LITTLE_ENDIAN, _WKB_POINT | _EWKB_SRID, SRS_ID, *lon_lat).hex()


def coordinates(points: Iterable[bytes | str]) -> NDArray[np.float64]:
    """Return longitude and latitude of points as a database gives them, (n, 2). [degrees]."""
    plain = [_well_known(point) for point in points]
    return shapely.get_coordinates(shapely.from_wkb(plain)).reshape(-1, 2)  # type: ignore[no-any-return]


def _well_known(point: bytes | str) -> bytes:
    if isinstance(point, str):
        return bytes.fromhex(point)
    envelope = _ENVELOPE_BYTES[point[3] >> 1 & 7]
    return bytes(point[_HEADER.size + envelope :])
