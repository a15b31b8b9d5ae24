"""The register: which boxes there are, where they hang since when, and what visits saw.

One code for two databases: a GeoPackage, which is a file, or PostgreSQL with PostGIS. Whoever reads
gets tables; whoever writes does so in one transaction, in which nobody else does.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import pandas as pd
from sqlalchemy import (
    Boolean,
    Connection,
    Date,
    Double,
    Engine,
    Integer,
    Select,
    Text,
    inspect,
    select,
    text,
)

from suitability.errors import InputError
from suitability.follow_up.geopackage_base import note_change
from suitability.follow_up.point_type import Point, coordinates
from suitability.follow_up.register_engine import engine_of, told
from suitability.follow_up.register_tables import BOXES, PLACEMENTS, VERSION, VISITS
from suitability.follow_up.steps import STEPS

# What a column is in tables that are read.
_KINDS: dict[type, str] = {
    Boolean: "boolean",
    Date: "datetime64[s]",
    Double: "float64",
    Integer: "Int64",
    Point: "object",
    Text: "object",
}


@dataclass(frozen=True)
class Register:
    """A register that is open.

    Parameters
    ----------
    engine : sqlalchemy.Engine
        Its database.
    where : str
        How to call it, without a password.
    """

    engine: Engine
    where: str

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Open a transaction that sees one state of the register."""
        with told(self.where), self.engine.connect() as connection, connection.begin():
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Open a transaction in which nobody else writes; all of it is kept, or nothing."""
        with told(self.where), self.engine.connect() as plain:
            connection = plain.execution_options(writes=True)
            with connection.begin():
                if connection.dialect.name == "postgresql":
                    connection.execute(
                        text("LOCK TABLE boxes, placements, visits IN SHARE ROW EXCLUSIVE MODE")
                    )
                yield connection
                if connection.dialect.name == "sqlite":
                    note_change(connection)

    def boxes(self, connection: Connection | None = None) -> pd.DataFrame:
        """Return every box that ever was.

        Parameters
        ----------
        connection : sqlalchemy.Connection, optional
            To read in a transaction that is open.

        Returns
        -------
        pandas.DataFrame
            `box` (its name, unique), `design`, `chambers`, `colour`, `note`; by name.
        """
        asked = select(
            BOXES.c.name.label("box"),
            BOXES.c.design,
            BOXES.c.chambers,
            BOXES.c.colour,
            BOXES.c.note,
        ).order_by(BOXES.c.name)
        return self._table(asked, connection)

    def placements(self, connection: Connection | None = None) -> pd.DataFrame:
        """Return every place that boxes were in, with what the box is.

        Returns
        -------
        pandas.DataFrame
            `placement` (unique number), `box`, `put_up` and `taken_down` (datetime64; the last is
            NaT while it is there), `why` (it was taken down), `kind`, `facing_deg`,
            `mount_height_m`, `run` and `site` it was chosen from, `score`, `direct_sun_h`,
            `water_distance_m`, `lon_deg`, `lat_deg`, `design`, `chambers`, `colour`, `note`; by
            box and day.
        """
        place = PLACEMENTS.c
        kept = [column for column in place if column.name not in ("fid", "geom")]
        asked = (
            select(
                place.fid.label("placement"),
                *kept,
                place.geom,
                BOXES.c.design,
                BOXES.c.chambers,
                BOXES.c.colour,
                BOXES.c.note,
            )
            .join_from(PLACEMENTS, BOXES, place.box == BOXES.c.name)
            .order_by(place.box, place.put_up)
        )
        found = self._table(asked, connection)
        lon_lat = coordinates(found.pop("geom"))
        return found.assign(lon_deg=lon_lat[:, 0], lat_deg=lon_lat[:, 1])

    def visits(
        self, connection: Connection | None = None, *, withdrawn: bool = False
    ) -> pd.DataFrame:
        """Return visits by day.

        Parameters
        ----------
        connection : sqlalchemy.Connection, optional
            To read in a transaction that is open.
        withdrawn : bool
            Those that were withdrawn as wrong, in place of those that count.

        Returns
        -------
        pandas.DataFrame
            `visit` (unique number), `box`, `placement`, `date` (datetime64), `observer`,
            `method`, `count` (Int64), `state`, `condition`, `wasps` (boolean), `repair`, `note`.
        """
        there = VISITS.c.withdrawn_on
        kept = [
            column
            for column in VISITS.c
            if column.name not in ("fid", "withdrawn_on", "withdrawn_because")
        ]
        asked = (
            select(VISITS.c.fid.label("visit"), *kept)
            .where(there.is_not(None) if withdrawn else there.is_(None))
            .order_by(VISITS.c.date, VISITS.c.fid)
        )
        return self._table(asked, connection)

    def _table(self, asked: Select[tuple[object, ...]], given: Connection | None) -> pd.DataFrame:
        if given is None:
            with self.reading() as connection:
                return self._table(asked, connection)
        rows = given.execute(asked).all()
        kinds = {column.name: _KINDS[type(column.type)] for column in asked.selected_columns}
        found = pd.DataFrame(rows, columns=list(kinds), dtype=object)
        whole = {name: "int64" for name in ("placement", "visit") if name in kinds}
        return found.astype(kinds | whole)


def open_register(address: str | os.PathLike[str], *, create: bool = False) -> Register:
    """Open a register; one of an earlier version takes the steps that it lacks, all or none.

    Parameters
    ----------
    address : str or path
        Path of a GeoPackage, or `postgresql://user@host/database`.
    create : bool
        Whether to begin one where there is none.

    Raises
    ------
    InputError
        If there is none, it is of a later version, or it cannot be reached.
    """
    engine, where = engine_of(address, create=create)
    with told(where), engine.connect() as connection, connection.begin():
        version = _version(connection, where, create=create)
    if version < len(STEPS):
        with (
            told(where),
            engine.connect().execution_options(writes=True) as connection,
            connection.begin(),
        ):
            _take_steps(connection, where, create=create)
    return Register(engine, where)


def _take_steps(connection: Connection, where: str, *, create: bool) -> None:
    if connection.dialect.name == "postgresql":  # SQLite lets one in at a time by itself
        connection.execute(text("SELECT pg_advisory_xact_lock(72111)"))
    # Another may have taken them meanwhile.
    for step in STEPS[_version(connection, where, create=create) :]:
        step(connection)
    connection.execute(VERSION.update().values(version=len(STEPS)))


def _version(connection: Connection, where: str, *, create: bool) -> int:
    """Return how many steps a register has taken; 0 where it is to begin."""
    tables = set(inspect(connection).get_table_names())
    if VERSION.name not in tables:
        beginnings = create and not tables & {"boxes", "placements", "visits", "gpkg_contents"}
        if not beginnings:
            msg = "this is no register of boxes"
            fix = "name a register, or begin one in a new file with `suitability boxes import`"
            raise InputError(msg, where=where, fix=fix)
        return 0
    version = int(connection.execute(select(VERSION.c.version)).scalar_one())
    if version > len(STEPS):
        msg = f"this register is of version {version}, and this program knows {len(STEPS)} at most"
        raise InputError(msg, where=where, fix="bring the program up to date; nothing was changed")
    return version
