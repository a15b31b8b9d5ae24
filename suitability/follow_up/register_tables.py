"""The tables of a register as the program reads and writes them; how they are made: `steps.py`."""

from __future__ import annotations

from sqlalchemy import Boolean, Column, Date, Double, Integer, MetaData, Table, Text

from suitability.follow_up.point_type import Point

_ALL = MetaData()

# A row a box, for ever.
BOXES = Table(
    "boxes",
    _ALL,
    Column("fid", Integer, primary_key=True),
    Column("name", Text),
    Column("design", Text),
    Column("chambers", Integer),
    Column("colour", Text),
    Column("note", Text),
)

# A row a box in one place from a day on; a move ends one and begins the next.
PLACEMENTS = Table(
    "placements",
    _ALL,
    Column("fid", Integer, primary_key=True),
    Column("box", Text),
    Column("put_up", Date),
    Column("taken_down", Date),
    Column("why", Text),
    Column("kind", Text),
    Column("facing_deg", Double),
    Column("mount_height_m", Double),
    Column("run", Text),
    Column("site", Text),
    Column("score", Double),
    Column("direct_sun_h", Double),
    Column("water_distance_m", Double),
    Column("geom", Point),
)

VISITS = Table(
    "visits",
    _ALL,
    Column("fid", Integer, primary_key=True),
    Column("box", Text),
    Column("placement", Integer),
    Column("date", Date),
    Column("observer", Text),
    Column("method", Text),
    Column("count", Integer),
    Column("state", Text),
    Column("condition", Text),
    Column("wasps", Boolean),
    Column("repair", Text),
    Column("note", Text),
    Column("withdrawn_on", Date),
    Column("withdrawn_because", Text),
)

VERSION = Table("register_version", _ALL, Column("version", Integer))
