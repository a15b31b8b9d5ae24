"""The same tasks on worker processes: the same bytes, workers that die, a scheduler elsewhere."""

from __future__ import annotations

import os
import signal
import threading
import time
from pathlib import Path

import command
import pytest
import small_land
from distributed import Client, LocalCluster

from suitability import ahead
from suitability.cluster import Workers, local_workers
from suitability.config import load_run
from suitability.run import screen

RASTERS = ("candidates.tif", "excluded.tif", "layers/direct_sun_h.tif", "sites.csv")

# dask's own: it lets go of ports and loops a moment after it is closed.
pytestmark = pytest.mark.filterwarnings("ignore::ResourceWarning", "ignore::DeprecationWarning")


@pytest.fixture
def run_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(ahead, "tile_side", lambda *_: 32)  # 2 x 3 tiles
    return small_land.write_land(tmp_path / "land")


def contents(folder: Path) -> dict[str, bytes]:
    return {name: (folder / name).read_bytes() for name in RASTERS}


def test_workers_give_the_bytes_of_one_process(run_file: Path, tmp_path: Path) -> None:
    run = load_run(run_file)
    here = screen(run, tmp_path / "here")
    with local_workers(2) as workers:
        assert workers.count == 2
        there = screen(run, tmp_path / "there", each=workers, workers=2)
    assert len(there.plan.tiles) == len(here.plan.tiles) == 6
    assert contents(tmp_path / "here") == contents(tmp_path / "there")


def test_a_run_survives_the_death_of_a_worker(run_file: Path, tmp_path: Path) -> None:
    run = load_run(run_file)
    screen(run, tmp_path / "here")
    with local_workers(2) as workers:
        killed = _kill_at_first_tile(workers, tmp_path / "there")
        screen(run, tmp_path / "there", each=workers, workers=2)
        killed.join()
        assert killed.pid is not None, "no worker was killed while tiles were measured"
    assert contents(tmp_path / "here") == contents(tmp_path / "there")


class _kill_at_first_tile(threading.Thread):  # noqa: N801 - reads as the act that it is
    """Kills a worker as soon as the first tile is finished, the others being at work."""

    def __init__(self, workers: Workers, folder: Path) -> None:
        super().__init__(daemon=True)
        self.pids = list(workers._client.run(os.getpid).values())
        self.folder, self.pid = folder, None
        self.start()

    def run(self) -> None:
        until = time.monotonic() + 60
        while time.monotonic() < until:
            if any((self.folder / ".store").glob("parts/*/*/tile.json")):
                self.pid = self.pids[0]
                os.kill(self.pid, signal.SIGKILL)
                return
            time.sleep(0.002)


def test_a_mistake_found_by_a_worker_is_told_as_any_other(tmp_path: Path) -> None:
    run_file = small_land.write_land(tmp_path / "land")
    dem = tmp_path / "land" / "dem.tif"
    dem.write_bytes(dem.read_bytes()[:9000])
    message = command.refused("screen", run_file, "--out", tmp_path / "out", "--workers", "1")
    assert "cut off or damaged" in message


def test_a_scheduler_that_is_already_there_does_the_work(tmp_path: Path) -> None:
    run_file = small_land.write_land(tmp_path / "land")
    command.succeeded("screen", run_file, "--out", tmp_path / "here")
    with (
        LocalCluster(n_workers=1, threads_per_worker=1, dashboard_address=":0") as cluster,
        Client(cluster),
    ):
        command.succeeded(
            "screen", run_file, "--out", tmp_path / "there",
            "--scheduler", cluster.scheduler_address,
        )  # fmt: skip
    assert contents(tmp_path / "here") == contents(tmp_path / "there")


def test_a_scheduler_that_is_not_there_is_told_so(tmp_path: Path) -> None:
    run_file = small_land.write_land(tmp_path / "land")
    message = command.refused(
        "screen", run_file, "--out", tmp_path / "out", "--scheduler", "tcp://127.0.0.1:9"
    )
    assert "no scheduler answers at tcp://127.0.0.1:9" in message


def test_workers_and_scheduler_exclude_each_other(tmp_path: Path) -> None:
    run_file = small_land.write_land(tmp_path / "land")
    message = command.refused(
        "screen", run_file, "--workers", "2", "--scheduler", "tcp://127.0.0.1:9"
    )
    assert "give one of the two" in message
