"""What is asked of a finished run and told in words, tables or pages, but for maps and sheets."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from suitability.commands.console import open_console, plain
from suitability.commands.units import WantedUnits, wanted
from suitability.errors import SuitabilityError

RunFolder = Annotated[Path, typer.Argument(metavar="RUN", help="The folder of a finished run.")]


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


def box_sheet(
    run: RunFolder,
    site: Annotated[int, typer.Option(help="Rank of a listed site.")] = 1,
    out: Annotated[Path | None, typer.Option(help="The PDF; else in the run's folder.")] = None,
) -> None:
    """Write a page to build or to buy the advised box by: sizes, drawing, what to heed."""
    from suitability.build import write_site_sheet

    open_console().print(plain(str(write_site_sheet(run, site, out))), highlight=False)


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


def budget(
    run: RunFolder,
    prices: Annotated[Path, typer.Argument(metavar="PRICES", help="Your prices, YAML.")],
    to: Annotated[Path | None, typer.Option(help="The table; else in the run's folder.")] = None,
) -> None:
    """Say what the sites cost to put up and to keep by your own prices: budget.csv."""
    from suitability.commands.budget import show_budget

    show_budget(run, prices, to)


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
