"""A PostgreSQL server for tests, in a folder of its own, by a user without rights on the rest."""

import os
import pwd
import shutil
import subprocess
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


def server_programs():
    """Return the folder of the server's programs, or why there is none."""
    places = sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)
    found = next((place for place in places if (place / "initdb").exists()), None)
    if found is None:
        return None, "no PostgreSQL server is installed; .ci/run says how"
    share = Path("/usr/share/postgresql", found.parent.name, "extension/postgis.control")
    if not share.exists():
        return None, "PostGIS is not installed; .ci/run says how"
    return found, ""


@contextmanager
def postgres_server(programs: Path) -> Iterator[str]:
    """Yield the address of a server, without a database at its end."""
    # Its socket's path may have no more than a hundred letters or so: not in pytest's folder.
    folder = Path(tempfile.mkdtemp(prefix="pg-", dir="/tmp"))
    as_user = {}
    if os.geteuid() == 0:  # a server refuses to run as root
        as_user = {"user": "postgres", "group": "postgres", "extra_groups": []}
        shutil.chown(folder, "postgres", "postgres")
    user = "postgres" if as_user else pwd.getpwuid(os.geteuid()).pw_name

    def program(name: str, *words: str) -> None:
        subprocess.run(
            [programs / name, *words], cwd=folder, check=True, timeout=120,
            stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, **as_user,
        )  # fmt: skip

    data = str(folder / "data")
    try:
        program("initdb", "-D", data, "-U", user, "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8")
        options = f"-c listen_addresses='' -c unix_socket_directories={folder} -c fsync=off"
        program("pg_ctl", "-D", data, "-w", "-o", options, "-l", str(folder / "log"), "start")
        try:
            address = f"postgresql://{user}@/{{}}?host={folder}"
            for extension in ("postgis", "btree_gist"):  # half a second once, not every time
                _execute(address.format("template1"), f"CREATE EXTENSION {extension}")
            yield address
        finally:
            program("pg_ctl", "-D", data, "-w", "-m", "immediate", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def new_schema(address: str) -> str:
    """Make an empty schema of its own in a server's first database; return its address."""
    name = f"r{uuid.uuid4().hex}"
    base = address.format("template1")
    _execute(base, f"CREATE SCHEMA {name}")
    return f"{base}&options=-csearch_path%3D{name},public"


def new_database(address: str) -> str:
    """Make a database of its own, without any extension; return its address."""
    name = f"r{uuid.uuid4().hex}"
    _execute(address.format("postgres"), f"CREATE DATABASE {name} TEMPLATE template0")
    return address.format(name)


def _execute(address: str, statement: str) -> None:
    import psycopg  # not there where tests need no server

    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute(statement)
