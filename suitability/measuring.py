"""How the land of a run is measured: tiles, far terrain and heat, or what is kept of them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from suitability.ahead import Ahead, look_ahead
from suitability.assembling import assemble_layer
from suitability.caveats import keep_look
from suitability.config import LoadedRun
from suitability.deliver import forget_earlier
from suitability.grid import Window
from suitability.inputs.report import InputReport, merge_reports
from suitability.overheating import held_against, make_tables
from suitability.plan import Plan
from suitability.spreading import Each, Stopwatch, one_after_another, side_by_side, telling
from suitability.sun import FarLand, compile_kernels
from suitability.tasks import (
    OBSTACLES,
    kept_reports,
    layer_names,
    measure_tile,
    reports_to_keep,
    survey_tile,
)


def look_and_measure(
    run: LoadedRun,
    folder: Path,
    memory: float | None,
    each: Each | None,
    workers: int,
    fresh: bool,
    watch: Stopwatch,
) -> tuple[Ahead, list[InputReport], dict[str, Any]]:
    """Look ahead and measure the land of a run whose folder is held.

    Parameters
    ----------
    run : LoadedRun
        The run file.
    folder : pathlib.Path
        Where layers are kept.
    memory : float or None
        What the run may take; None is half of the machine's. [bytes]
    each : callable or None
        How tasks are spread over processes; None does one tile after another in this one.
    workers : int
        How many processes `each` spreads them over.
    fresh : bool
        Measure anew whatever is kept.
    watch : Stopwatch
        Told the stages.

    Returns
    -------
    ahead : Ahead
        What was known before the work.
    reports : list of InputReport
        What was read.
    heat : dict
        What is told of layers of heat.

    Raises
    ------
    SuitabilityError
        If an input cannot be used, or changed meanwhile.
    """
    with watch.stage("looking ahead"):
        ahead = look_ahead(
            run, folder, memory=memory, workers=workers, alone=each is None, fresh=fresh
        )
    if fresh:
        ahead.plan.store.forget()
    ahead.plan.store.sweep(keep_own=True)
    keep_look(ahead.plan.store.look, ahead.look)
    return ahead, *_measured(ahead, each, watch)


def _measured(
    ahead: Ahead, each: Each | None, watch: Stopwatch
) -> tuple[list[InputReport], dict[str, Any]]:
    """Measure the land, unless its layers stand already.

    Returns what was read, and what is told of layers of heat.
    """
    plan = ahead.plan
    names = [*layer_names(plan), OBSTACLES]
    kept = plan.store.measured(names)
    if kept is not None:
        return kept_reports(plan, kept), kept["heat"]
    with watch.stage("compiling (once)"):
        compile_kernels()
    if len(plan.tiles) > 1:
        with watch.stage("looking at far land") as tell:
            look = each or side_by_side
            far = dict(telling(look(survey_tile, plan, plan.tiles), len(plan.tiles), tell))
            _keep_far_land(plan, far)
    fitted = 0
    if plan.heat_layers and ahead.weather is not None:
        with watch.stage("modelling heat at places of the land"):
            fitted = make_tables(plan, ahead.look, ahead.weather)
    with watch.stage("measuring the land") as tell:
        measure = each or one_after_another
        done = dict(telling(measure(measure_tile, plan, plan.tiles), len(plan.tiles), tell))
    ahead.require_unchanged()
    forget_earlier(plan.store.folder)
    with watch.stage("assembling layers") as tell:
        assemble = each or side_by_side
        dict(telling(assemble(assemble_layer, plan, names), len(names), tell))
    reports = merge_reports((tile.cells, done[tile]) for tile in plan.tiles)
    heat: dict[str, Any] = {}
    if plan.heat_layers and ahead.weather is not None:
        with watch.stage("holding heat against the full model"):
            heat = held_against(plan, ahead.look, ahead.weather, fitted)
    plan.store.note_measured({**reports_to_keep(plan, reports), "heat": heat})
    plan.far_file.unlink(missing_ok=True)
    plan.heat_file.unlink(missing_ok=True)
    return reports, heat


def _keep_far_land(plan: Plan, surveys: dict[Window, FarLand]) -> None:
    """Put the far land together from the tiles' and keep it where every task finds it."""
    square = plan.square
    rows, cols = (-(-size // square) for size in plan.grid.shape)
    along_rows = np.full((rows, cols), np.nan, np.float32)
    along_cols = np.full((cols, rows), np.nan, np.float32)
    for window, far in surveys.items():
        part = far.along_rows
        down = slice(window.row // square, window.row // square + part.shape[0])
        across = slice(window.col // square, window.col // square + part.shape[1])
        along_rows[down, across] = part
        along_cols[across, down] = far.along_cols
    plan.far_file.parent.mkdir(parents=True, exist_ok=True)
    np.savez(
        plan.far_file, along_rows=along_rows, along_cols=along_cols, block=square,
        shape=plan.grid.shape,
    )  # fmt: skip
