"""The whole path of a run, from files to sites: it reads like a paper's methods."""

from __future__ import annotations

import os
import time
import warnings
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Protocol, TypeVar

import numpy as np
import rasterio
from rasterio.errors import NotGeoreferencedWarning

from suitability.advising import advise_sites
from suitability.ahead import Ahead, look_ahead
from suitability.assembling import (
    JUDGEMENT,
    assemble_judgement,
    assemble_layer,
    judged_windows,
)
from suitability.caveats import caveats, keep_look, unknown_edge
from suitability.config import LoadedRun
from suitability.curves import renew_curves
from suitability.decide import ExcludedLand
from suitability.deliver import Found, deliver, forget_earlier, keep_record, open_folder
from suitability.doubts import doubts
from suitability.errors import ResultError
from suitability.grid import Window
from suitability.heeding import facts_of_sites, heeded, wires_in_reach
from suitability.inputs.report import InputReport, merge_reports
from suitability.outputs.rasters import CACHE_BYTES
from suitability.overheating import held_against, make_tables
from suitability.overheating import in_words as heat_in_words
from suitability.plan import Plan
from suitability.quantities import Quantities
from suitability.siting import choose_sites
from suitability.store import only_run
from suitability.sun import FarLand, compile_kernels
from suitability.tasks import (
    OBSTACLES,
    judge_tile,
    kept_reports,
    layer_names,
    measure_tile,
    reports_to_keep,
    survey_tile,
)

# Told the stage and, where it is known, the share of it that is done.
Progress = Callable[[str, float | None], None]
T = TypeVar("T")
K = TypeVar("K", Window, str)

# Rasters put together at once, or windows judged.
THREADS = 2


class Each(Protocol):
    """A way to do a task on every tile or raster; yields them with results as they end."""

    def __call__(
        self, task: Callable[[Plan, K], T], plan: Plan, items: Sequence[K]
    ) -> Iterator[tuple[K, T]]:
        """Do the task."""


def one_after_another(
    task: Callable[[Plan, K], T], plan: Plan, items: Sequence[K]
) -> Iterator[tuple[K, T]]:
    """Do a task on one item after another in this process."""
    for item in items:
        yield item, task(plan, item)


def side_by_side(
    task: Callable[[Plan, K], T], plan: Plan, items: Sequence[K]
) -> Iterator[tuple[K, T]]:
    """Do a task that has no threads of its own on two items at once in this process."""
    with warnings.catch_warnings():
        # Rasterio silences this one within for arrays, which have no place on Earth. Filters are
        # those of all threads, and one that ends would take its silence from the other.
        warnings.simplefilter("ignore", NotGeoreferencedWarning)
        with ThreadPoolExecutor(THREADS) as pool:
            jobs = {pool.submit(task, plan, item): item for item in items}
            for job in as_completed(jobs):
                yield jobs[job], job.result()


@dataclass
class Stopwatch:
    """Which stage is at work, told to whoever watches, and how long each took."""

    progress: Progress | None = None
    seconds: dict[str, float] = field(default_factory=dict)

    @contextmanager
    def stage(self, name: str) -> Iterator[Callable[[float], None]]:
        """Time a stage; the value given tells how far it is."""
        started = time.perf_counter()
        self._tell(name, None)
        yield lambda share: self._tell(name, share)
        self.seconds[name] = round(time.perf_counter() - started, 3)

    def _tell(self, name: str, share: float | None) -> None:
        if self.progress is not None:
            self.progress(name, share)


def screen(
    run: LoadedRun,
    folder: str | os.PathLike[str],
    *,
    memory: float | None = None,
    each: Each | None = None,
    workers: int = 1,
    fresh: bool = False,
    progress: Progress | None = None,
) -> Found:
    """Screen the land of a run file and write everything that is found.

    A run that was stopped goes on where it was; layers measured before are used again if
    everything that they depend on is the same.

    Parameters
    ----------
    run : LoadedRun
        The run file.
    folder : path
        Where results go.
    memory : float, optional
        What the run may take, all its processes together; left out, half of the machine's. [bytes]
    each : callable, optional
        How tasks are spread over processes; left out, one tile after another in this one.
    workers : int
        How many processes `each` spreads them over.
    fresh : bool
        Measure anew whatever is kept.
    progress : callable, optional
        Told the stage at work and, where it is known, the share of it that is done.

    Raises
    ------
    SuitabilityError
        If an input cannot be used, no land is left, or another run is at work in the folder.
    """
    watch = Stopwatch(progress)
    folder = Path(folder)
    made = open_folder(folder)
    with only_run(folder, made), rasterio.Env(GDAL_CACHEMAX=CACHE_BYTES):
        ahead, reports, heat = _prepared(run, folder, memory, each, workers, fresh, watch)
        plan, features, look = ahead.plan, ahead.features, ahead.look
        with watch.stage("judging the land") as tell:
            spread = each or side_by_side
            windows = judged_windows(plan)
            judged = dict(_told(spread(judge_tile, plan, windows), len(windows), tell))
            excluded = _excluded(plan, judged)
            ahead.require_unchanged()
            forget_earlier(folder)
        with ThreadPoolExecutor(1) as meanwhile:
            assembled = meanwhile.submit(lambda: dict(spread(assemble_judgement, plan, JUDGEMENT)))
            with watch.stage("choosing sites"):
                chosen = choose_sites(plan, look)
            with watch.stage("advising on boxes") as tell:
                advised = advise_sites(
                    plan,
                    look,
                    chosen.sites,
                    weather=ahead.weather,
                    tell=tell,
                    wall_horizons=chosen.wall_horizons(),
                )
                assembled.result()
        about = facts_of_sites(plan, features, chosen.sites, advised.occupied)
        edge = unknown_edge(look, plan.sun)
        told_in = run.settings.quantities

        def warned(tell: Quantities) -> tuple[str, ...]:
            """Return what a reader has to know, as many sentences whatever the units."""
            settings = run.settings.model_copy(update={"units": tell.units})
            of_boxes = advised.warnings
            if tell != told_in:
                of_boxes = tuple(advised.in_other_units.get(text, text) for text in of_boxes)
            return (  # doubts about what was read come first: pictures have room for a few
                *(tell.retold(text) for report in read for text in report.warnings),
                *map(tell.retold, plan.judgement.warnings),
                *caveats(settings, plan.grid, chosen.scores, edge),
                *map(tell.retold, doubted),
                *chosen.caveats,
                *of_boxes,
                *map(tell.retold, heat_in_words(heat)),
                *wires_in_reach(chosen.sites["rank"], about, tell),
            )

        read, doubted = (*reports, *features.reports), tuple(doubts(plan))
        warnings = warned(told_in)
        others = zip(warnings, warned(told_in.other), strict=True)
        told = tuple(each.told_in(told_in) for each in read)
        found = Found(
            plan=plan,
            features=features,
            look=look,
            advised=heeded(advised, about, told_in),
            about=about,
            reports=told,
            warnings=warnings,
            facts={
                "grid_notes": ahead.notes,
                "input_sha256": ahead.hashes,
                "choice": chosen.facts,
                "heat_layers": heat,
                "derived_streams": ahead.has_derived_streams,
                "excluded": excluded,
                "unknown_edge": edge,
                "tiles": len(plan.tiles),
                "seconds": watch.seconds,
                "in_other_units": advised.in_other_units
                | {text: other for text, other in others if text != other},
            },
        )
        with watch.stage("writing results"):
            deliver(found, folder)
            renew_curves(plan)
        ahead.require_unchanged()
        keep_record(found, folder)
        plan.store.sweep(keep_own=False)
    return found


@contextmanager
def measured(
    run: LoadedRun,
    folder: str | os.PathLike[str],
    *,
    memory: float | None = None,
    progress: Progress | None = None,
) -> Iterator[Plan]:
    """Hold a run's folder with its land measured as `screen` measures it, for other work on it.

    Parameters
    ----------
    run : LoadedRun
        The run file.
    folder : path
        Where results go.
    memory : float, optional
        What the measuring may take; left out, half of the machine's. [bytes]
    progress : callable, optional
        Told the stage at work and, where it is known, the share of it that is done.

    Raises
    ------
    SuitabilityError
        If an input cannot be used, or another run is at work in the folder.
    """
    folder = Path(folder)
    made = open_folder(folder)
    with only_run(folder, made), rasterio.Env(GDAL_CACHEMAX=CACHE_BYTES):
        ahead, *_ = _prepared(run, folder, memory, None, 1, False, Stopwatch(progress))
        ahead.plan.store.sweep(keep_own=False)
        yield ahead.plan


def _prepared(
    run: LoadedRun,
    folder: Path,
    memory: float | None,
    each: Each | None,
    workers: int,
    fresh: bool,
    watch: Stopwatch,
) -> tuple[Ahead, list[InputReport], dict[str, Any]]:
    """Look ahead and measure the land.

    Returns what was known, what was read, and what is told of layers of heat.
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
            far = dict(_told(look(survey_tile, plan, plan.tiles), len(plan.tiles), tell))
            _keep_far_land(plan, far)
    fitted = 0
    if plan.heat_layers and ahead.weather is not None:
        with watch.stage("modelling heat at places of the land"):
            fitted = make_tables(plan, ahead.look, ahead.weather)
    with watch.stage("measuring the land") as tell:
        measure = each or one_after_another
        done = dict(_told(measure(measure_tile, plan, plan.tiles), len(plan.tiles), tell))
    ahead.require_unchanged()
    forget_earlier(plan.store.folder)
    with watch.stage("assembling layers") as tell:
        assemble = each or side_by_side
        dict(_told(assemble(assemble_layer, plan, names), len(names), tell))
    reports = merge_reports((tile.cells, done[tile]) for tile in plan.tiles)
    heat: dict[str, Any] = {}
    if plan.heat_layers and ahead.weather is not None:
        with watch.stage("holding heat against the full model"):
            heat = held_against(plan, ahead.look, ahead.weather, fitted)
    plan.store.note_measured({**reports_to_keep(plan, reports), "heat": heat})
    plan.far_file.unlink(missing_ok=True)
    plan.heat_file.unlink(missing_ok=True)
    return reports, heat


def _told(
    results: Iterator[tuple[K, T]], count: int, tell: Callable[[float], None]
) -> Iterator[tuple[K, T]]:
    """Pass results on and tell how far they are."""
    for done, result in enumerate(results, start=1):
        tell(done / count)
        yield result


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


def _excluded(plan: Plan, judged: dict[Window, dict[int, int]]) -> ExcludedLand:
    """Return how much land is out, and why.

    Raises
    ------
    ResultError
        If no land is left.
    """
    counts: Counter[int] = Counter()
    for tile in judged.values():
        counts.update(tile)
    land = ExcludedLand.of(counts, plan.reasons)
    if not land.candidates and plan.run.settings.mount.kind == "pole":
        shares = [f"{r.reason.words}: {r.cells / land.cells:.0%}" for r in land.rows if r.cells]
        msg = f"no land is left: every cell is excluded ({'; '.join(shares)})"
        fix = "look at the widest reasons: lift or loosen a rule in exclusions, or check that input"
        raise ResultError(msg, where="exclusions", fix=fix)
    return land
