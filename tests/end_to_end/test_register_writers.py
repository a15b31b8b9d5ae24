"""Real processes that write into one register at a time, and one that is killed amid writing."""

import multiprocessing
import os
import random
import signal
import time
from datetime import date, timedelta
from pathlib import Path

import pytest
from registers import add_box, new_register

from suitability.follow_up.register import open_register
from suitability.follow_up.rows import Rows
from suitability.follow_up.visit_rows import import_visits, read_visits

pytestmark = pytest.mark.skipif(os.name != "posix", reason="kills as POSIX systems do")

FORK = multiprocessing.get_context("forkserver")
FORK.set_forkserver_preload(["suitability.follow_up.visit_rows"])
TODAY = date(2026, 11, 25)
HEADER = "box,date,observer,method,state\n"


def visits_file(path, observer, count):
    """Write so many visits by one observer, a day each."""
    days = (date(2022, 3, 1) + timedelta(number) for number in range(count))
    lines = (f"A,{day},{observer},guano,not occupied\n" for day in days)
    path.write_text(HEADER + "".join(lines))
    return path


def write_in_parts(address, path, parts, together=None):
    """Import a file in so many transactions, each begun together; in a process of its own."""
    given = read_visits(path)
    register = open_register(address)
    for part in range(parts):
        if together is not None:
            together.wait(60)
        import_visits(register, Rows(given.where, given.rows[part::parts]), today=TODAY)


def write_at_a_time(address, files):
    """Import each file in a process of its own, in twenty parts."""
    together = FORK.Barrier(len(files))
    writers = [
        FORK.Process(target=write_in_parts, args=(address, file, 20, together)) for file in files
    ]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join(120)
        assert writer.exitcode == 0


@pytest.fixture
def begun(address):
    with new_register(address).writing() as connection:
        add_box(connection, "A")
    return address


def test_two_writers_lose_nothing(begun, tmp_path):
    files = [visits_file(tmp_path / f"{name}.csv", name, 1000) for name in ("AA", "BB")]
    write_at_a_time(begun, files)
    visits = open_register(begun).visits()
    assert visits["observer"].value_counts().to_dict() == {"AA": 1000, "BB": 1000}
    assert not visits.duplicated(["date", "observer"]).any()
    in_order = visits.sort_values("visit")["observer"]
    assert in_order.ne(in_order.shift()).sum() >= 20  # they did take turns


def test_two_writers_of_the_same_file_write_it_once(begun, tmp_path):
    file = visits_file(tmp_path / "visits.csv", "AA", 1000)
    write_at_a_time(begun, [file, file])
    assert len(open_register(begun).visits()) == 1000


@pytest.mark.parametrize("seed", [1, 2])
def test_killed_amid_an_import_all_is_there_or_nothing(begun, tmp_path, seed):
    """Killed at moments from its start to its end, and at last left alone."""
    count = 1500
    file = visits_file(tmp_path / "visits.csv", "AA", count)
    began = time.monotonic()
    import_visits(open_register(begun), read_visits(file), today=TODAY, dry_run=True)
    takes_s = 2 * (time.monotonic() - began)
    drawn = random.Random(seed)
    for _ in range(4):
        writer = FORK.Process(target=write_in_parts, args=(begun, file, 1))
        writer.start()
        wait_until_it_writes(begun, writer)
        time.sleep(drawn.uniform(0, takes_s / 2))
        writer.kill()
        writer.join()
        assert writer.exitcode in (0, -signal.SIGKILL)
        assert len(open_register(begun).visits()) in (0, count)
    write_in_parts(begun, file, 1)
    assert len(open_register(begun).visits()) == count


def wait_until_it_writes(address, writer):
    """Wait until the database's journal is there, or a little, where it is on a server."""
    journal = Path(f"{address}-journal")
    while writer.is_alive() and "://" not in address and not journal.exists():
        time.sleep(0.0005)


def test_what_is_half_written_when_killed_is_taken_back(tmp_path):
    """Killed while rows are in the transaction for certain, and pages of it on the disk."""
    address = str(tmp_path / "register.gpkg")
    with new_register(address).writing() as connection:
        add_box(connection, "A")
    size = Path(address).stat().st_size
    writer = FORK.Process(target=hang_amid_writing, args=(address,))
    writer.start()
    deadline = time.monotonic() + 60
    while Path(address).stat().st_size == size and time.monotonic() < deadline:
        time.sleep(0.005)
    assert Path(address).stat().st_size > size
    writer.kill()
    writer.join()
    register = open_register(address)
    assert register.visits().empty
    assert register.boxes()["box"].tolist() == ["A"]
    with register.reading() as connection:
        assert connection.exec_driver_sql("PRAGMA integrity_check").scalar_one() == "ok"


def hang_amid_writing(address):
    """Write more than SQLite keeps in memory, and never end; in a process of its own."""
    with open_register(address).writing() as connection:
        connection.exec_driver_sql("PRAGMA cache_size = 1")
        for number in range(1000):
            connection.exec_driver_sql(
                "INSERT INTO visits (box, placement, date, observer, method, state, note) VALUES "
                "('A', 1, date('2022-03-01', ?), 'AA', 'guano', 'occupied', ?)",
                (f"+{number} days", "x" * 2000),
            )
        time.sleep(120)
