"""How a register's database is reached: a GeoPackage by its path, PostgreSQL by its address."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DatabaseError, IntegrityError, NoSuchModuleError
from sqlalchemy.pool import NullPool

from suitability.errors import InputError, ResultError

_PATIENCE_S = 60  # how long to wait while another writes
_SQLITE_MAGIC = b"SQLite format 3\x00"


def engine_of(address: str | os.PathLike[str], *, create: bool) -> tuple[Engine, str]:
    """Return the database of a register, and how to call it, without a password.

    Parameters
    ----------
    address : str or path
        Path of a GeoPackage, or `postgresql://user@host/database`.
    create : bool
        Whether a file that is not there may be made.

    Raises
    ------
    InputError
        If there is no such file, or the address is none.
    """
    text = os.fspath(address)
    if "://" not in text:
        return _file_engine(Path(text), create=create), text
    url = _server_url(text)
    where = url.render_as_string(hide_password=True)
    try:
        engine = create_engine(url, poolclass=NullPool)
    except ImportError as exc:
        msg = "the library that speaks with PostgreSQL is not installed"
        fix = "pip install 'bat-box-suitability[postgis]'"
        raise InputError(msg, where=where, fix=fix) from exc
    except (ArgumentError, NoSuchModuleError) as exc:
        raise _no_address(text) from exc
    return engine, where


def _file_engine(path: Path, *, create: bool) -> Engine:
    if not path.exists():
        if not create:
            msg = "there is no such register"
            fix = "name one that is there, or begin one with `suitability boxes import`"
            raise InputError(msg, where=path, fix=fix)
        if not path.parent.is_dir():
            msg = "there is no such folder to begin a register in"
            raise InputError(msg, where=path, fix="make the folder first")
    elif path.is_dir() or not _is_sqlite(path):
        msg = "this is no register, nor a GeoPackage at all"
        raise InputError(msg, where=path, fix="name the register's own file, such as register.gpkg")
    url = URL.create("sqlite", database=os.fspath(path))
    engine = create_engine(url, connect_args={"timeout": _PATIENCE_S}, poolclass=NullPool)
    event.listen(engine, "connect", _begin_by_ourselves)
    event.listen(engine, "begin", _begin)
    return engine


def _is_sqlite(path: Path) -> bool:
    with path.open("rb") as file:
        start = file.read(len(_SQLITE_MAGIC))
    return start in (b"", _SQLITE_MAGIC)


def _begin_by_ourselves(connection: Any, _: Any) -> None:
    """Let transactions hold whole tables' making, too: Python's driver would begin them late."""
    connection.isolation_level = None
    connection.execute("PRAGMA foreign_keys = ON")


def _begin(connection: Connection) -> None:
    """Begin; who will write waits here for other writers, and not midway, where it might fail."""
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _server_url(text: str) -> URL:
    try:
        url = make_url(text)
    except ArgumentError as exc:
        raise _no_address(text) from exc
    if url.drivername in ("postgresql", "postgres", "postgresql+psycopg"):
        return url.set(drivername="postgresql+psycopg")
    raise _no_address(text)


def _no_address(text: str) -> InputError:
    msg = "this is no address of a register"
    fix = "give the path of a GeoPackage, or postgresql://user@host/database"
    return InputError(msg, where=text.rpartition("@")[2], fix=fix)


@contextmanager
def told(where: str) -> Iterator[None]:
    """Tell what a database refuses as a user's mistake, never with what was in the address."""
    try:
        yield
    except IntegrityError as exc:
        msg = f"the register refuses this: {_first_line(exc)}"
        raise ResultError(msg, where=where, fix="nothing was written; see what is there") from exc
    except DatabaseError as exc:
        msg = f"the register cannot be read or written: {_first_line(exc)}"
        fix = "see that it is there, that you may write to it, and that nobody holds it locked"
        raise InputError(msg, where=where, fix=fix) from exc


def _first_line(exc: DatabaseError) -> str:
    lines = str(exc.orig).strip().splitlines()
    return lines[0] if lines else type(exc.orig).__name__
