"""How fast the sweep is, on one core: nanoseconds for a cell and a position of the sun.

    python tests/benchmarks/sweep.py
    python tests/benchmarks/sweep.py --size 1000 --positions 96

Everything counts: copies, transposes, the sum. The same scene is also given to a published
program that casts shadows by J. G. Corripio's vector algebra (IJGIS 17, 2003), if it is there:

    pip install insolation

Its speed is measured in the same run, and its shadows are compared with ours.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

os.environ.setdefault("NUMBA_NUM_THREADS", "1")  # before numba is imported: one core for both
sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
from brute_force import tree_scene
from numba import njit

from suitability.sun import Scene, lit_hours, sun_positions, sweep_hours

MOUNT_M = 4.6
FEW = 8  # positions for the other program, which is slower


def main() -> None:
    """Measure and print."""
    options = _options()
    size, count = options.size, options.positions
    ground, canopy = tree_scene(size, size, seed=1)
    surface = ground + canopy
    receiver = np.where(canopy > MOUNT_M, np.float32(np.nan), ground + np.float32(MOUNT_M))
    azimuth, altitude = positions(count)
    hours = np.ones(count, np.float32)
    print(f"{size:,} x {size:,} cells, {count} positions, {os.cpu_count()} cores, one used")

    for lines in (1, 2):

        def swept(lines: int = lines) -> Any:
            scene = Scene.of(surface, receiver, 1.0)
            return lit_hours(scene, azimuth, altitude, hours, lines_per_cell=lines)

        small = slice(0, 64)
        sweep_hours(  # compile first
            surface[small, small],
            receiver[small, small],
            1.0,
            azimuth,
            altitude,
            hours,
            lines_per_cell=lines,
        )
        spent = best(swept, options.repeat)
        ours = spent / (size * size * count) * 1e9
        print(f"{lines} line(s) a cell: {spent:.2f} s, {ours:.3f} ns a cell and position")
        if lines == 1:
            one_line = ours
    limit = limit_ns(size, options.repeat)
    print(
        f"limit: {limit:.3f} ns to load and store what a cell and position needs, from the "
        f"second-level cache; the sweep with one line takes {one_line / limit:.2f} times that"
    )
    compare(surface, azimuth, altitude, one_line, options.repeat)


@njit(fastmath={"contract"}, error_model="numpy")
def touch(rows, lit, receiver, surface, fronts):
    """Load and store, row after row, what the sweep does for each of its fronts, and no more.

    A cell and position takes seven loads (receiver, two lines, sum; two cells of surface, front)
    and two stores (sum, front) of four bytes; fronts come from the second-level cache.
    """
    cols = lit.size
    for _ in range(rows):
        for p in range(fronts.shape[0]):
            front = fronts[p]
            left, right = front[:cols], front[1 : cols + 1]
            for j in range(cols):
                lit[j] += receiver[j] + left[j] + right[j]
            before, after = surface[:cols], surface[1 : cols + 1]
            for j in range(cols):
                front[j] += before[j] + after[j]


def limit_ns(size: int, repeat: int) -> float:
    """Return the time of the loads and stores alone, for a cell and position. [ns]."""
    together, rows = 16, 1000
    lit, receiver = np.zeros(size, np.float32), np.zeros(size, np.float32)
    surface, fronts = np.zeros(size + 1, np.float32), np.zeros((together, size + 1), np.float32)
    touch(1, lit, receiver, surface, fronts)
    spent = best(lambda: touch(rows, lit, receiver, surface, fronts), repeat)
    return spent / (rows * together * size) * 1e9


def positions(count: int) -> tuple[Any, Any]:
    """Return a season's sun at 40 N, thinned evenly to `count` positions."""
    sun = sun_positions(40.0, -86.0, step_min=15, every_days=6)
    chosen = np.linspace(0, len(sun) - 1, count).round().astype(int)
    return sun.azimuth_deg[chosen], sun.altitude_deg[chosen]


def compare(surface: Any, azimuth: Any, altitude: Any, ours: float, repeat: int) -> None:
    """Time the other program on a few of the positions, and compare shadows on the surface."""
    try:
        from insolation.insolf import doshade
    except ImportError:
        print("no ratio: `pip install insolation` to measure it")
        return
    chosen = np.linspace(0, azimuth.size - 1, FEW).round().astype(int)
    towards = [sun_vector(azimuth[k], altitude[k]) for k in chosen]
    small = surface[:64, :64]

    def shaded(dem: Any) -> list[Any]:
        return [doshade(dem, 1.0, vector) for vector in towards]

    spent = []
    for kind in (np.float32, np.float64):
        shaded(small.astype(kind))
        dem = np.ascontiguousarray(surface, kind)
        spent.append(best(lambda dem=dem: shaded(dem), repeat))
    theirs = min(spent) / (surface.size * FEW) * 1e9
    print(f"insolation doshade: {theirs:.2f} ns a cell and position; ratio {theirs / ours:.0f}")

    agree = []
    for k, light in zip(chosen, shaded(surface.astype(np.float64)), strict=True):
        lit = sweep_hours(surface, surface, 1.0, azimuth[k], altitude[k], 1.0)
        agree.append(np.mean((lit > 0) == (light > 0)))
    print(f"same light in {100 * min(agree):.1f} to {100 * max(agree):.1f} % of the cells")


def sun_vector(azimuth_deg: float, altitude_deg: float) -> Any:
    """Return the way to the sun as the other program wants it: x east, y south, z up."""
    azimuth, altitude = np.radians(azimuth_deg), np.radians(altitude_deg)
    flat = np.cos(altitude)
    return np.array([np.sin(azimuth) * flat, -np.cos(azimuth) * flat, np.sin(altitude)])


def best(work: Callable[[], Any], repeat: int) -> float:
    """Return the least time of some runs. [s]."""
    spent = []
    for _ in range(repeat):
        started = time.perf_counter()
        work()
        spent.append(time.perf_counter() - started)
    return min(spent)


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("--size", type=int, default=4000, help="rows and columns (4000)")
    parser.add_argument("--positions", type=int, default=400, help="positions of the sun (400)")
    parser.add_argument("--repeat", type=int, default=2, help="runs, of which the best counts (2)")
    return parser.parse_args()


if __name__ == "__main__":
    main()
