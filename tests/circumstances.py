"""The same run in other circumstances: threads, time zone, locale, hash seed, tiles, workers.

As a script it is the process that is put into them: `circumstances.py RUN_FILE FOLDER [SIDE
[WORKERS]]`.
"""

import locale
import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple

from killed_runs import contents

# What a record tells of how the work was cut.
OF_TILES = ("tiles", "inputs", "warnings")


class Circumstance(NamedTuple):
    """What is other: variables of the environment, the side of tiles [cells], processes."""

    variables: Mapping[str, str] = MappingProxyType({})
    side: int | None = None
    workers: int | None = None


def _threads(count):
    names = ("NUMBA", "GDAL", "OMP", "OPENBLAS", "MKL")
    return Circumstance({f"{name}_NUM_THREADS": str(count) for name in names})


# Python turns the C locale into UTF-8 unless it is told not to.
_ASCII = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}

CIRCUMSTANCES = {
    "once more": Circumstance(),
    "one thread": _threads(1),
    "two threads": _threads(2),
    "another hash seed": Circumstance({"PYTHONHASHSEED": "20260601"}),
    "a day ahead": Circumstance({"TZ": "Pacific/Kiritimati"}),
    "ASCII": Circumstance(_ASCII),
    "decimal commas": Circumstance({"LC_ALL": "de_DE.UTF-8"}),
    "tiles": Circumstance(side=32),
    "tiles on two workers": Circumstance(side=32, workers=2),
}


def has_locale(name):
    """Return whether this machine has the locale that a circumstance wants."""
    wanted = CIRCUMSTANCES[name].variables.get("LC_ALL", "C")
    before = locale.setlocale(locale.LC_ALL)
    try:
        locale.setlocale(locale.LC_ALL, wanted)
    except locale.Error:
        return False
    locale.setlocale(locale.LC_ALL, before)
    return True


def screened(run_file, folder, name="once more"):
    """Screen in a process that is in the named circumstance; return the folder."""
    other = CIRCUMSTANCES[name]
    numbers = [str(n) for n in (other.side, other.workers) if n is not None]
    words = [sys.executable, __file__, str(run_file), str(folder), *numbers]
    ended = subprocess.run(
        words,
        env={**os.environ, **other.variables},
        capture_output=True,
        encoding="utf-8",
        timeout=900,
        check=False,
    )
    assert ended.returncode == 0, ended.stderr
    return Path(folder)


def compared(one, other):
    """Return by file of two finished runs whether it differs; a file that one lacks does."""
    first, second = contents(one), contents(other)
    if first["run.json"]["tiles"] != second["run.json"]["tiles"]:
        for record in (first["run.json"], second["run.json"]):
            for told in OF_TILES:
                del record[told]
    return {file: first.get(file) != second.get(file) for file in first | second}


def _screen(run_file, folder, side=None, workers=None):
    from suitability import ahead
    from suitability.cli import main

    locale.setlocale(locale.LC_ALL, "")  # as a program does that wants the user's
    if side is not None:
        ahead.tile_side = lambda *_: int(side)
    more = [] if workers is None else ["--workers", workers]
    sys.argv = ["suitability", "screen", run_file, "--out", folder, *more]
    main()


if __name__ == "__main__":
    _screen(*sys.argv[1:])
