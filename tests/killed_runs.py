"""Runs in tiles that are killed at random moments and started again."""

import json
import multiprocessing
import random
import shutil
import signal
import time
from dataclasses import dataclass, field
from pathlib import Path

import rasterio
from command import results_in, written_since

# A child starts from a process that has loaded the program: as quick as it may be.
_FORK = multiprocessing.get_context("forkserver")
_FORK.set_forkserver_preload(["suitability.run"])


def screen_in_tiles(run_file, folder, side):
    """Screen a run file's land in tiles of a side; in a process of its own."""
    from suitability import ahead
    from suitability.config import load_run
    from suitability.run import screen

    ahead.tile_side = lambda *_: side
    screen(load_run(run_file), folder)


def started(run_file, folder, side):
    process = _FORK.Process(target=screen_in_tiles, args=(run_file, folder, side))
    process.start()
    return process


def finish(run_file, folder, side):
    """Run to the end, undisturbed."""
    process = started(run_file, folder, side)
    process.join()
    assert process.exitcode == 0


def contents(folder):
    """Return the bytes of every result, the record without what tells the time."""
    found = {name: (folder / name).read_bytes() for name in results_in(folder)}
    record = json.loads(found.pop("run.json"))
    for changing in ("written_utc", "seconds", "sha256_of_the_rest"):
        del record[changing]
    return found | {"run.json": record}


@dataclass
class Kills:
    """A run that is killed again and again in one folder.

    Parameters
    ----------
    run_file, folder : pathlib.Path
        What is run, and where to.
    side : int
        Cells along a tile.
    expected : dict
        `contents` of an undisturbed run.
    seed : int
        Of the moments.
    """

    run_file: Path
    folder: Path
    side: int
    expected: dict
    seed: int
    finished_before: list = field(default_factory=list)  # tiles finished at each kill
    kept: int = 0  # tiles seen finished at one kill and untouched at the next

    def __post_init__(self):
        self._random = random.Random(self.seed)
        # Files of a run: those of the tiles, of the layers, and what is made of them.
        self._tile_files = 13
        self._tiles = self.expected["run.json"]["tiles"]
        self._files = self._tiles * self._tile_files + len(self.expected)

    def kill(self, times):
        """Kill so many runs, each at a moment that comes by chance."""
        first = self._tile_files * (self._tiles // 2)  # in the midst of the tiles
        while len(self.finished_before) < times:
            after = self._random.randint(1, self._files) if self.finished_before else first
            if self._killed(after):
                self._look()
            else:  # it came to its end before
                assert contents(self.folder) == self.expected
                shutil.rmtree(self.folder)

    def _killed(self, after):
        """Kill a run once it has written so many files, and a moment; tell whether it ran yet."""
        before = self._finished()
        began = time.time_ns()
        process = started(self.run_file, self.folder, self.side)
        seen = set()  # also what is swept away by then
        while process.is_alive() and len(seen) < after:
            seen |= written_since(began, self.folder)
            time.sleep(0.001)
        time.sleep(self._random.uniform(0, 0.03))
        process.kill()
        process.join()
        if process.exitcode != -signal.SIGKILL:
            assert process.exitcode == 0
            return False
        now = self._finished()
        self.finished_before.append(len(now))
        for tile, parts in before.items():
            if tile in now:
                assert now[tile] == parts, f"{tile} was measured again"
                self.kept += 1
        return True

    def _look(self):
        """See that what stands in the folder is whole, or nothing that a reader would take."""
        for name in results_in(self.folder):
            path = self.folder / name
            if path.name.startswith("."):  # in the making
                continue
            assert name in self.expected
            if path.suffix == ".tif":
                with rasterio.open(path) as source:
                    source.read(1)
        if (self.folder / "run.json").exists():  # the kill came after the last word
            assert contents(self.folder) == self.expected

    def _finished(self):
        """Return when the parts of finished tiles were written, by tile."""
        found = {}
        for note in (self.folder / ".store").glob("parts/*/*/tile.json"):
            parts = note.parent.glob("[!.]*.tif")
            names = json.loads(note.read_text())["part_bytes"]
            found[note.parent.name] = {
                part.name: part.stat().st_mtime_ns for part in parts if part.name in names
            }
        return found
