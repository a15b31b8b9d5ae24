"""Heat of a box as a layer: a table from full models at places of the land, and how well it does.

The box is modelled in full, with the horizon that it sees, at places from the darkest to the
sunniest that the land has; a table leads from the sun that reaches them to their hours of heat, and
from the sun that reaches each cell to its. Places drawn anew then show how far the layer is from
the full model. All of it is a screening estimate, not a measurement.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict
from typing import Any

import numpy as np

from suitability.box.body import Assumptions
from suitability.box.exposure import fit_table
from suitability.box.findings import SPREAD
from suitability.box.heat import FACING_DEG, HeatModel, heat_model
from suitability.box.layer_boxes import LayerBox, layer_boxes
from suitability.box.wanted import wanted_of
from suitability.caveats import CoarseLook
from suitability.drawn_cells import Cells, evenly_by_sun, pieces_of, uniformly
from suitability.grid import Float64
from suitability.horizons import site_horizons
from suitability.inputs.weather import Weather, read_weather
from suitability.layers.heat import HeatTable
from suitability.outputs.atomic import write_text
from suitability.outputs.rasters import read_cells
from suitability.plan import Plan
from suitability.sun import is_lit

FITTED = 400  # places that a table rests on
CHECKED = 250  # places that it is held against

MID = SPREAD.index("mid")


def make_tables(plan: Plan, look: CoarseLook, weather: Weather) -> int:
    """Find the tables of a run's layers of heat and keep them for its tiles.

    Returns at how many places of the land boxes were modelled for them.

    Parameters
    ----------
    plan : Plan
        Of the run.
    look : CoarseLook
        The whole land, seen coarsely.
    weather : Weather
        A year.
    """
    cells = evenly_by_sun(plan, pieces_of(plan, look)[::2], FITTED)
    horizons, turned = _seen(plan, look, cells)
    # Full shade and open land, whatever the land has.
    horizons = np.vstack([horizons, np.full(360, 90.0), np.full(360, -90.0)])
    turned = np.append(turned, [plan.grid.convergence_deg()] * 2)
    lit = np.array(
        [is_lit(plan.sun, seen, turn) for seen, turn in zip(horizons, turned, strict=True)]
    )
    lon = float(plan.grid.lonlat(*plan.grid.centre)[0])
    tables = {}
    for name, box in _boxes(plan).items():
        hours = _hours(plan, weather, box, horizons, turned, (MID,))[:, 0]
        tables[name] = asdict(fit_table(plan.sun, lit, hours, lon))
    write_text(plan.heat_file, json.dumps(tables))
    return len(cells)


def even_tables(plan: Plan) -> None:
    """Keep tables by which all sun counts alike, for trials of what a run costs."""
    lon = float(plan.grid.lonlat(*plan.grid.centre)[0])
    table = asdict(HeatTable(lon, ((1.0,) * 24,) * 12, (0.0, 2.0**23), (0.0, 1000.0)))
    tables = dict.fromkeys(plan.heat_layers, table)
    write_text(plan.heat_file, json.dumps(tables))


def held_against(plan: Plan, look: CoarseLook, weather: Weather, fitted: int) -> dict[str, Any]:
    """Return how far each layer of heat is from the full model, at places drawn anew.

    Parameters
    ----------
    plan : Plan
        Of the run, its land measured.
    look : CoarseLook
        The whole land, seen coarsely.
    weather : Weather
        A year.
    fitted : int
        At how many places the tables rest on models.
    """
    pieces = pieces_of(plan, look)
    cells = uniformly(plan, pieces[1::2] or pieces, CHECKED)
    horizons, turned = _seen(plan, look, cells)
    record = {}
    for name, box in _boxes(plan).items():
        layer = read_cells(plan.store.layer(name), cells[:, 0], cells[:, 1]).astype(np.float64)
        known = ~np.isnan(layer)
        if not known.any():
            continue
        model = _hours(plan, weather, box, horizons[known], turned[known], range(len(SPREAD)))
        off = layer[known] - model[:, MID]
        record[name] = {
            "what": "a screening estimate by a model of the box, not a measurement",
            "station": f"{weather.form}, {weather.name}",
            "design": box.design.name,
            "colour": box.colour.name,
            "facing_deg": box.facing_deg,
            "above_c": box.above_c,
            "assumed": asdict(_assumed(plan)),
            "cells_fitted": fitted,
            "cells_checked": int(known.sum()),
            "rmse_h": _rounded(np.sqrt(np.mean(off**2))),
            "bias_h": _rounded(off.mean()),
            "error_95_h": _rounded(np.quantile(np.abs(off), 0.95)),
            "mean_h": dict(zip(SPREAD, map(_rounded, model.mean(axis=0)), strict=True)),
        }
    return record


def in_words(record: dict[str, Any]) -> Iterator[str]:
    """Yield what a reader has to know of each layer of heat.

    Parameters
    ----------
    record : dict
        What `held_against` found.
    """
    for name, told in record.items():
        low, mid, high = (told["mean_h"][case] for case in SPREAD)
        yield (
            f"{name} is a screening estimate: at {told['cells_checked']} places it is off the full "
            f"model by {told['rmse_h']:.0f} h (root mean square; bias {told['bias_h']:+.0f} h, 95% "
            f"within {told['error_95_h']:.0f} h); the model itself gives {mid:.0f} h there on "
            f"average, {low:.0f} to {high:.0f} h as assumptions go"
        )


def wall_hours(
    plan: Plan, horizons_deg: Float64, turned_deg: Float64, facing_deg: Float64
) -> dict[str, Float64]:
    """Return each layer of heat before walls, by the full model: the box looks as the wall does.

    Parameters
    ----------
    plan : Plan
        Of the run.
    horizons_deg : numpy.ndarray
        (n, m) with the wall itself, clockwise from grid north. [degrees]
    turned_deg : numpy.ndarray
        (n,) meridian convergence. [degrees]
    facing_deg : numpy.ndarray
        (n,) of the walls, clockwise from true north; the nearest of sixteen is taken. [degrees]
    """
    if not plan.heat_layers:
        return {}
    path = plan.run.settings.inputs.weather
    if path is None:
        msg = "a run with a layer of heat has weather"
        raise ValueError(msg)
    weather = read_weather(path.path, plan.run.locate("inputs.weather"))[0]
    nearest = np.round(facing_deg / 22.5).astype(np.intp) % FACING_DEG.size
    found = {}
    for name, box in _boxes(plan).items():
        hours = np.full(facing_deg.size, np.nan)
        for facing in np.unique(nearest):
            those = nearest == facing
            hours[those] = _hours(
                plan, weather, box, horizons_deg[those], turned_deg[those], (MID,),
                wall_deg=float(FACING_DEG[facing]),
            )[:, 0]  # fmt: skip
        found[name] = hours
    return found


def _boxes(plan: Plan) -> dict[str, LayerBox]:
    return layer_boxes(plan.run, wanted_of(plan.run))


def _assumed(plan: Plan) -> Assumptions:
    return Assumptions(bats_w=plan.run.settings.box.bats_heat_w)


def _hours(
    plan: Plan,
    weather: Weather,
    box: LayerBox,
    horizons_deg: Float64,
    turned_deg: Float64,
    cases: Any,
    *,
    wall_deg: float | None = None,
) -> Float64:
    """Return the hours that the full model gives, (places, cases). [h]."""
    season = plan.run.settings.season
    model: HeatModel = heat_model(
        weather,
        designs=[box.design],
        colours=[box.colour],
        facing_deg=box.facing_deg if wall_deg is None else wall_deg,
        season=(season.start, season.end),
        on_wall=wall_deg is not None,
        assumed=_assumed(plan),
    )

    def at(place: int) -> list[int]:
        return [
            model.hours_above_h(
                box.above_c, horizons_deg[place], case=case, convergence_deg=turned_deg[place]
            )
            for case in cases
        ]

    with ThreadPoolExecutor(plan.threads) as pool:
        found = list(pool.map(at, range(len(horizons_deg))))
    return np.array(found, np.float64).reshape(len(horizons_deg), len(cases))


def _seen(plan: Plan, look: CoarseLook, cells: Cells) -> tuple[Float64, Float64]:
    """Return the horizons of cells, and the meridian convergence at each. [degrees]."""
    grid = plan.grid
    x_m = np.asarray(grid.west + (cells[:, 1] + 0.5) * grid.cell_m, np.float64)
    y_m = np.asarray(grid.north - (cells[:, 0] + 0.5) * grid.cell_m, np.float64)
    turned = np.array([grid.convergence_deg(*place) for place in zip(x_m, y_m, strict=True)])
    return site_horizons(plan, look, x_m, y_m).astype(np.float64), turned


def _rounded(hours: np.floating[Any]) -> float:
    return round(float(hours), 1)
