"""The whole path of a run, from files to sites: it reads like a paper's methods."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

import rasterio

from suitability.advising import advise_sites
from suitability.assembling import JUDGEMENT, assemble_judgement, judged_windows
from suitability.caveats import caveats, unknown_edge
from suitability.config import LoadedRun
from suitability.curves import renew_curves
from suitability.decide import ExcludedLand
from suitability.deliver import Found, deliver, forget_earlier, keep_record, open_folder
from suitability.doubts import doubts
from suitability.errors import ResultError
from suitability.grid import Window
from suitability.heeding import facts_of_sites, heeded, wires_in_reach
from suitability.measuring import look_and_measure
from suitability.outputs.lettering import lacking_in_words, unprintable
from suitability.outputs.rasters import CACHE_BYTES
from suitability.overheating import in_words as heat_in_words
from suitability.plan import Plan
from suitability.quantities import Quantities
from suitability.siting import choose_sites
from suitability.spreading import Each, Progress, Stopwatch, side_by_side, telling
from suitability.store import only_run
from suitability.tasks import judge_tile


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
        ahead, reports, heat = look_and_measure(run, folder, memory, each, workers, fresh, watch)
        plan, features, look = ahead.plan, ahead.features, ahead.look
        with watch.stage("judging the land") as tell:
            spread = each or side_by_side
            windows = judged_windows(plan)
            judged = dict(telling(spread(judge_tile, plan, windows), len(windows), tell))
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
                *map(lacking_in_words, unprintable([settings.title])),
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
        ahead, *_ = look_and_measure(run, folder, memory, None, 1, False, Stopwatch(progress))
        ahead.plan.store.sweep(keep_own=False)
        yield ahead.plan


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
