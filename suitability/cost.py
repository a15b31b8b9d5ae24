"""What a run will take, from a short calibration on a piece of its own land."""

from __future__ import annotations

import math
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from suitability.config import LoadedRun
from suitability.grid import Grid, Window
from suitability.inputs.common import Header, read_header
from suitability.outputs.rasters import assemble_raster
from suitability.overheating import even_tables
from suitability.plan import LEAST_BYTES, Plan, tile_bytes, wide_cells
from suitability.store import Store, free_bytes
from suitability.sun import Scene, lit_hours
from suitability.tasks import layer_names, measure_tile

SAMPLE_CELLS = 768  # along the piece of land that is measured
SAMPLE_POSITIONS = 48
FIXED_S = 8.0  # looking ahead, choosing sites, the figure
HEAT_S = 10.0  # models of a box at places of the land, for each layer of heat
WORTHWHILE = 1.5  # how many times coarser an input must be than the grid to speak of it
DEGREE_M = 111_320.0  # of latitude, near enough for a cell's size


@dataclass(frozen=True)
class Cost:
    """What a run is expected to take.

    Parameters
    ----------
    cells, positions, tiles : int
        How much there is to do.
    seconds : float
        On this machine, with the processes the plan has. [s]
    memory : float
        At the peak, all processes together. [bytes]
    disk : float
        While it runs; results and unfinished parts. [bytes]
    disk_free : float
        Room there is. [bytes]
    """

    cells: int
    positions: int
    tiles: int
    seconds: float
    memory: float
    disk: float
    disk_free: float


def estimate(plan: Plan, *, workers: int = 1) -> Cost:
    """Measure a small piece of the land and reckon what all of it takes.

    Parameters
    ----------
    plan : Plan
        How the run would go about its land.
    workers : int
        Processes that tiles are spread over.
    """
    cells = plan.grid.rows * plan.grid.cols
    seen = sum(around.cells for around in map(plan.around, plan.tiles))
    names = len(layer_names(plan)) + 1
    with tempfile.TemporaryDirectory() as folder:
        sweep_s, other_s, assemble_s = _calibrate(plan, Path(folder))
    hands = plan.threads * workers
    swept = seen * len(plan.sun) * sweep_s * _sweeps(plan) / hands
    modelled = HEAT_S * len(plan.heat_layers)
    rest = cells * (other_s / workers + names * assemble_s / 2 + 2 * assemble_s)
    wide = wide_cells(plan.grid, plan.reach_m)
    return Cost(
        cells=cells,
        positions=len(plan.sun),
        tiles=len(plan.tiles),
        seconds=FIXED_S + modelled + swept + rest,
        memory=max(LEAST_BYTES, workers * tile_bytes(plan.grid, plan.side, plan.near_cells, wide)),
        # A cell of a finished raster takes 2 to 3 bytes, of a part 4.
        disk=cells * names * 7.0,
        disk_free=free_bytes(plan.store.folder),
    )


def in_words(cost: Cost) -> Iterator[str]:
    """Yield what a run is expected to take, for people."""
    yield f"{cost.cells / 1e6:,.1f} million cells, {cost.positions:,} sun positions"
    yield f"{cost.tiles:,} tile{'s' if cost.tiles > 1 else ''}"
    yield f"time {_duration(cost.seconds)}, give or take a half; less where layers are kept"
    yield f"memory {cost.memory / 1e9:.1f} GB"
    yield f"disk {cost.disk / 1e9:.1f} GB while it runs; {cost.disk_free / 1e9:.1f} GB are free"


def coarser_would_do(run: LoadedRun, grid: Grid) -> str | None:
    """Say so if the grid's cells are finer than anything that the inputs show.

    Parameters
    ----------
    run : LoadedRun
        The run file.
    grid : Grid
        Its grid.
    """
    inputs = run.settings.inputs
    named = {"elevation": inputs.elevation, "canopy_height": inputs.canopy_height}
    cells = {
        name: _cell_m(read_header(source, run.locate(f"inputs.{name}")), grid)
        for name, source in named.items()
        if source is not None
    }
    name, finest = min(cells.items(), key=lambda item: item[1])
    if finest < WORTHWHILE * grid.cell_m:
        return None
    share = (grid.cell_m / finest) ** 2
    return (
        f"the finest input ({name}) has cells of {finest:.3g} m: grid.cell {finest:.3g} m would "
        f"show as much at {share:.0%} of the cost"
    )


def _cell_m(header: Header, grid: Grid) -> float:
    """Return the edge of a raster's cell, as of a square. [m]."""
    edge = math.sqrt(header.cell[0] * header.cell[1])
    if header.crs.is_geographic:
        lat = math.radians(float(grid.lonlat(*grid.centre)[1]))
        return edge * math.sqrt(math.cos(lat)) * DEGREE_M
    return edge * float(header.crs.axis_info[0].unit_conversion_factor)


def _calibrate(plan: Plan, folder: Path) -> tuple[float, float, float]:
    """Return seconds a cell and position, a cell of all else, and a cell of a raster written."""
    rows, cols = (min(SAMPLE_CELLS, size) for size in plan.grid.shape)
    window = Window((plan.grid.rows - rows) // 2, (plan.grid.cols - cols) // 2, rows, cols)
    cells = rows * cols
    chosen = np.linspace(0, len(plan.sun) - 1, min(SAMPLE_POSITIONS, len(plan.sun)))
    few = plan.sun.those(np.unique(chosen.astype(int)))
    ground = np.random.default_rng(0).random((rows, cols), dtype=np.float32)
    scene = Scene.of(ground, ground + 1, plan.grid.cell_m)
    swept = _seconds(lambda _: lit_hours(scene, few.azimuth_deg, few.altitude_deg, few.hours))
    sweep_s = swept / (cells * max(len(few), 1))

    def alone(run: int) -> Plan:
        store = Store(folder, f"calibration-{run}", 0)
        small = replace(plan, sun=few, store=store, side=max(plan.grid.shape), threads=1)
        if plan.heat_layers:
            even_tables(small)
        return small

    measured = _seconds(lambda run: measure_tile(alone(run), window))
    around = plan.around(window)
    sweeps_s = sweep_s * around.cells * len(few) * _sweeps(plan)
    other_s = max(measured - sweeps_s, 0.0) / cells
    written = _seconds(
        lambda run: assemble_raster(
            folder / "whole.tif",
            {Window(0, 0, rows, cols): alone(run).store.part("slope_deg", window)},
            plan.grid.window(window),
            name="slope_deg",
            unit="deg",
            description="calibration",
        )
    )
    return sweep_s, other_s, written / cells


def _sweeps(plan: Plan) -> int:
    """Return how often all positions of the sun pass over the land."""
    return 1 + len(plan.heat_layers)


def _seconds(work: Callable[[int], object]) -> float:
    """Return how long a piece of work takes once it is compiled. [s]."""
    took = []
    for run in range(2):
        started = time.perf_counter()
        work(run)
        took.append(time.perf_counter() - started)
    return min(took)


def _duration(seconds: float) -> str:
    if seconds < 90:
        return f"about {math.ceil(seconds / 5) * 5} s"
    if seconds < 5400:
        return f"about {seconds / 60:.0f} min"
    return f"about {seconds / 3600:.1f} h"
