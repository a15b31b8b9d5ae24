"""What is asked of a run file: `screen`, `check`, `curves` and `schema`."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from suitability.commands.console import open_console, plain, show_progress
from suitability.errors import SuitabilityError

if TYPE_CHECKING:
    from rich.console import Console

    from suitability.climate import Weathered
    from suitability.cluster import Workers
    from suitability.config import LoadedRun
    from suitability.decide import Judgement
    from suitability.inputs.report import InputReport

RunFile = Annotated[Path, typer.Argument(metavar="CONFIG", help="The run file, YAML.")]


def screen(
    config: RunFile,
    out: Annotated[Path | None, typer.Option(help="Folder of the results.")] = None,
    memory: Annotated[
        str | None, typer.Option(help="What it may take, as 2GB; else half of all.")
    ] = None,
    workers: Annotated[
        int | None, typer.Option(min=1, help="Spread the work over so many processes.")
    ] = None,
    scheduler: Annotated[
        str | None, typer.Option(help="Address of a running dask scheduler, to work there.")
    ] = None,
    fresh: Annotated[bool, typer.Option("--fresh", help="Measure anew whatever is kept.")] = False,
) -> None:
    """Screen the land: sun, water, canopy edge and slope to a score, a map and ranked sites."""
    from suitability.config import load_run

    run = load_run(config)
    folder = out or run.settings.out or Path("runs") / config.stem
    from suitability.memory import memory_bytes
    from suitability.run import screen as screen_land

    room = None if memory is None else memory_bytes(memory)
    with _workers(workers, scheduler) as spread, show_progress() as progress:
        found = screen_land(
            run,
            folder,
            memory=room,
            each=spread,
            workers=spread.count if spread else 1,
            fresh=fresh,
            progress=progress,
        )
    from suitability.commands.screen import show_screened

    show_screened(found, Path(folder))


def check(
    config: RunFile,
    cost: Annotated[
        bool, typer.Option("--cost", help="Estimate time, memory and disk by a small trial.")
    ] = False,
) -> None:
    """Look at every input of a run: what it is, what would be done to it, what is assumed."""
    from suitability.config import load_run

    run = load_run(config)
    from tempfile import TemporaryDirectory

    from suitability.box.layer_boxes import layer_boxes
    from suitability.box.wanted import wanted_of
    from suitability.climate import with_weather
    from suitability.inputs.common import choose_grid
    from suitability.plan import checked_judgement, require_layers_of_boxes
    from suitability.streams import with_streams

    console = open_console()
    weathered = with_weather(run)
    run = weathered.run
    judgement = checked_judgement(run)
    require_layers_of_boxes(run)
    layer_boxes(run, wanted_of(run))
    with TemporaryDirectory() as scratch:
        run, derived = with_streams(run, choose_grid(run.settings, run.locate)[0], Path(scratch))
        _show_checked(console, replace(weathered, run=run), judgement, derived)
        if cost:
            _show_cost(console, run)


def _show_checked(
    console: Console, weathered: Weathered, judgement: Judgement, derived: InputReport | None
) -> None:
    from suitability.caveats import expected_edge, expected_sun, look_at, season_sun
    from suitability.inputs.gather import gather_features
    from suitability.inputs.preflight import preflight
    from suitability.plan import reaches_of

    run = weathered.run
    reach_m = reaches_of(run, judgement)
    grid, reports = preflight(run.settings, run.locate, reach_m)
    features = gather_features(run.settings, grid, run.locate, reach_m)
    look = look_at(run.settings, grid, run.locate, features)
    for given in (*reports, *weathered.reports_at(grid, look.ground_elevation_m)):
        report = derived if derived is not None and derived.role == given.role else given
        report = report.told_in(run.settings.quantities)
        console.print(f"[bold]{report.role}[/bold]  {plain(report.path)}")
        for label, lines in (
            ("is", report.facts),
            ("done", report.done),
            ("assumed", report.assumed),
            ("warning", report.warnings),
        ):
            for line in lines:
                console.print(f"  {label:8} {plain(line)}", highlight=False)
        if report.outside_share > 0:
            console.print(f"  {'without':8} {report.outside_share:.1%} has no data here")
    console.print("[bold]judgement[/bold]")
    console.print(f"  {'is':8} {plain(judgement.in_words())}", highlight=False)
    for warning in judgement.warnings:
        console.print(f"  {'warning':8} {plain(warning)}", highlight=False)
    console.print("[bold]sun[/bold]")
    sun = season_sun(run.settings, grid, look.ground_elevation_m)
    for line in (
        *expected_sun(sun, run.settings, grid),
        expected_edge(look, sun, run.settings.quantities),
    ):
        console.print(f"  {'is':8} {plain(line)}", highlight=False)


def _show_cost(console: Console, run: LoadedRun) -> None:
    from suitability.ahead import look_ahead
    from suitability.cost import coarser_would_do, estimate, in_words

    folder = run.settings.out or Path("runs") / run.path.stem
    plan = look_ahead(run, folder, memory=None, workers=1, alone=True).plan
    console.print("[bold]cost[/bold]")
    for line in in_words(estimate(plan)):
        console.print(f"  {'about':8} {plain(line)}", highlight=False)
    if (hint := coarser_would_do(run, plan.grid)) is not None:
        console.print(
            f"  {'hint':8} {plain(run.settings.quantities.retold(hint))}", highlight=False
        )


def curves(
    config: RunFile,
    out: Annotated[Path | None, typer.Option(help="Folder of the run.")] = None,
    memory: Annotated[
        str | None, typer.Option(help="What it may take, as 2GB; else half of all.")
    ] = None,
) -> None:
    """Draw each criterion's value function with the land's measures beneath it, and its basis."""
    from suitability.commands.curves import show_curves

    show_curves(config, out, memory)


def schema() -> None:
    """Print the JSON Schema of the run file, for editors that complete and check YAML."""
    from suitability.config import json_schema

    typer.echo(json.dumps(json_schema(), indent=2, ensure_ascii=False))


@contextmanager
def _workers(count: int | None, scheduler: str | None) -> Iterator[Workers | None]:
    """Have worker processes if they are wanted."""
    if count is None and scheduler is None:
        yield None
        return
    if count is not None and scheduler is not None:
        msg = "--workers starts processes here, --scheduler uses those of a cluster"
        raise SuitabilityError(msg, where="suitability screen", fix="give one of the two")
    from suitability.cluster import local_workers, workers_at

    started = local_workers(count) if count is not None else workers_at(scheduler or "")
    with started as workers:
        yield workers
