"""The commands: the only part that prints. Heavy imports wait until a command needs them."""

from __future__ import annotations

import gc
import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from io import TextIOWrapper
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from suitability.commands.boxes import boxes
from suitability.commands.calendar import calendar
from suitability.commands.console import open_console, plain, show_progress
from suitability.commands.figure import figure
from suitability.commands.methods import methods
from suitability.commands.results import learn, results
from suitability.commands.review import review
from suitability.commands.sheets import sheets
from suitability.commands.start import start
from suitability.commands.units import WantedUnits, wanted
from suitability.commands.visits import visits
from suitability.commands.web_map import web_map
from suitability.errors import SuitabilityError

if TYPE_CHECKING:
    from rich.console import Console

    from suitability.climate import Weathered
    from suitability.cluster import Workers
    from suitability.config import LoadedRun
    from suitability.decide import Judgement
    from suitability.inputs.report import InputReport

app = typer.Typer(
    name="suitability",
    help="Find where on a piece of land to put up bat boxes.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)

RunFile = Annotated[Path, typer.Argument(metavar="CONFIG", help="The run file, YAML.")]
RunFolder = Annotated[Path, typer.Argument(metavar="RUN", help="The folder of a finished run.")]


def main() -> None:
    """Run a command; a user's mistake is told without a traceback, with exit code 2."""
    if isinstance(sys.stdout, TextIOWrapper):  # a degree sign is no reason to fail a run
        sys.stdout.reconfigure(errors="replace")
    # What is loaded at the start stays: to look for garbage among it as often as Python does by
    # itself took a fifth of a command's start.
    gc.set_threshold(100_000, 20, 20)
    try:
        app()
    except SuitabilityError as error:
        sys.stderr.write(f"error: {error}\n")
        sys.exit(2)
    except BrokenPipeError:  # whoever read what is printed has seen enough
        sys.stderr.close()
        sys.exit(1)
    except OSError as error:  # a full disk, a folder that was taken away
        told = SuitabilityError(
            f"this cannot be written: {' '.join(str(error.strerror or error).split())}",
            where=error.filename or sys.argv[-1],
            fix="see that there is room, and that the files may be read and written",
        )
        sys.stderr.write(f"error: {told}\n")
        sys.exit(2)
    except (MemoryError, RuntimeError) as error:
        if isinstance(error, RuntimeError) and "start new thread" not in str(error):
            raise
        sys.stderr.write(f"error: {_no_memory()}\n")
        sys.exit(2)


def _no_memory() -> SuitabilityError:
    return SuitabilityError(
        "the memory that this may have is used up",
        where=" ".join(sys.argv[1:3]),
        fix="close other programs or allow it more; for `screen` state less as `--memory 1GB`, or "
        "a coarser `grid.cell`. What was finished is kept: the next run goes on from there",
    )


app.command()(start)
app.command()(calendar)
app.command()(results)
app.command()(learn)
app.command("web-map")(web_map)
app.command()(review)
app.add_typer(boxes, name="boxes")
app.add_typer(visits, name="visits")


@app.command()
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
    from suitability.plan import memory_bytes
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


@app.command()
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


@app.command()
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


@app.command()
def schema() -> None:
    """Print the JSON Schema of the run file, for editors that complete and check YAML."""
    from suitability.config import json_schema

    typer.echo(json.dumps(json_schema(), indent=2, ensure_ascii=False))


@app.command()
def explain(
    run: RunFolder,
    site: Annotated[int | None, typer.Option(help="Rank of a listed site.")] = None,
    at: Annotated[
        tuple[float, float] | None, typer.Option(metavar="LON LAT", help="Any coordinate, WGS 84.")
    ] = None,
    units: WantedUnits = None,
) -> None:
    """Say why a place has its score, or why it is out."""
    if (site is None) == (at is None):
        msg = "give either --site N or --at LON LAT"
        raise SuitabilityError(msg, where="suitability explain", fix="for the best site: --site 1")
    from suitability.commands.explain import show_place
    from suitability.explain import explain_at, explain_site
    from suitability.finished import FinishedRun

    place = explain_site(run, site) if site is not None else explain_at(run, *(at or (0.0, 0.0)))
    finished = FinishedRun.of(run, wanted(units))
    show_place(place, finished.quantities)
    if site is not None:
        from suitability.commands.advice import show_advice

        show_advice(finished, site)


@app.command()
def box(
    file: Annotated[
        Path,
        typer.Argument(metavar="BOX", help="What is known of it, YAML; or a file of designs."),
    ],
    bats: Annotated[
        str, typer.Option(help="Whom it is for: any, small, large, or a group of your own.")
    ] = "any",
    species: Annotated[
        Path | None, typer.Option(help="File of your own groups of bats, as box.species.")
    ] = None,
) -> None:
    """Hold a box on offer or home-made against what is wanted; exit code 1 if it falls short."""
    from suitability.commands.box import show_box

    if not show_box(file, bats, species):
        raise typer.Exit(1)


@app.command("box-sheet")
def box_sheet(
    run: RunFolder,
    site: Annotated[int, typer.Option(help="Rank of a listed site.")] = 1,
    out: Annotated[Path | None, typer.Option(help="The PDF; else in the run's folder.")] = None,
) -> None:
    """Write a page to build or to buy the advised box by: sizes, drawing, what to heed."""
    from suitability.build import write_site_sheet

    open_console().print(plain(str(write_site_sheet(run, site, out))), highlight=False)


@app.command()
def robustness(
    run: RunFolder,
    concentration: Annotated[
        float,
        typer.Option(
            min=0.5,
            max=1e6,
            help="How close draws keep to the given weights: a weight "
            "w scatters by sqrt(w (1 - w) / (concentration + 1)).",
        ),
    ] = 20.0,
    any_weights: Annotated[
        bool, typer.Option("--any-weights", help="Draw any weights alike, wherever they lie.")
    ] = False,
    draws: Annotated[int, typer.Option(min=100, max=1_000_000, help="For the places.")] = 10_000,
    places: Annotated[
        int, typer.Option(min=1, max=2000, help="Ranked: the sites, and what comes after them.")
    ] = 500,
    map_draws: Annotated[int, typer.Option(min=20, max=10_000, help="For every cell.")] = 500,
    value_error: Annotated[
        float, typer.Option(min=0, max=1, help="How far values may be off, for the confidence.")
    ] = 0.05,
    correlated_from: Annotated[
        float, typer.Option(min=0, max=1, help="Spearman's coefficient that is warned of.")
    ] = 0.7,
    seed: Annotated[int, typer.Option(min=0, help="Of the draws.")] = 1,
    units: WantedUnits = None,
) -> None:
    """Say how sure the ranking of a run is when its weights move."""
    from suitability.commands.robustness import show_robustness
    from suitability.decide.robustness_weights import Spread
    from suitability.robustness import Asked

    asked = Asked(
        spread=Spread(None if any_weights else concentration),
        draws=draws,
        places=places,
        map_draws=map_draws,
        value_error=value_error,
        correlated_from=correlated_from,
        seed=seed,
    )
    show_robustness(run, asked, wanted(units))


@app.command()
def compare(
    first: Annotated[Path, typer.Argument(metavar="RUN_A", help="The folder of a finished run.")],
    second: Annotated[Path, typer.Argument(metavar="RUN_B", help="The folder of a later one.")],
    out: Annotated[
        Path | None, typer.Option(help="Folder of the comparison; else one in RUN_B.")
    ] = None,
    units: WantedUnits = None,
) -> None:
    """Say what changed from one run to another: settings, scores, land and sites."""
    from suitability.commands.compare import show_comparison

    show_comparison(first, second, out, wanted(units))


@app.command()
def summary(
    run: RunFolder,
    by: Annotated[Path | None, typer.Option(help="Parcels, a file of polygons.")] = None,
    layer: Annotated[str | None, typer.Option(help="Its layer, if it has several.")] = None,
    name: Annotated[str | None, typer.Option(help="Its field with the parcels' names.")] = None,
    to: Annotated[Path | None, typer.Option(help="The table; else in the run's folder.")] = None,
    units: WantedUnits = None,
) -> None:
    """Say how much land has which score or is out, and in which parcel: land_summary.csv."""
    from suitability.commands.summary import show_summary

    show_summary(run, by, layer, name, to, wanted(units))


@app.command()
def budget(
    run: RunFolder,
    prices: Annotated[Path, typer.Argument(metavar="PRICES", help="Your prices, YAML.")],
    to: Annotated[Path | None, typer.Option(help="The table; else in the run's folder.")] = None,
) -> None:
    """Say what the sites cost to put up and to keep by your own prices: budget.csv."""
    from suitability.commands.budget import show_budget

    show_budget(run, prices, to)


@app.command()
def form(
    run: Annotated[
        Path | None, typer.Argument(metavar="RUN", help="The folder of a finished run; or:")
    ] = None,
    register: Annotated[
        str | None,
        typer.Option(
            metavar="REGISTER", help="The boxes of a register, a file or a database's address."
        ),
    ] = None,
    to: Annotated[
        Path | None, typer.Option(help="The file; else in the run's folder, or here.")
    ] = None,
) -> None:
    """Write a form for visits to the boxes, to fill in on a phone: visit_form.gpkg."""
    from suitability.commands.form import show_form

    show_form(run, register, to)


app.command()(figure)
app.command()(sheets)
app.command()(methods)


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
