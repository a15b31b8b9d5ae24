"""The whole path of a run, from files to sites: it reads like a paper's methods."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.caveats import caveats, land_of, season_sun, unknown_edge
from suitability.config import LoadedRun, RunSettings
from suitability.config.criteria import Criterion
from suitability.decide import (
    REASONS,
    default_criteria,
    excluded_shares,
    explain_place,
    limiting,
    pick_sites,
    reason_bits,
    weighted_mean,
)
from suitability.decide.sites import AROUND_M
from suitability.errors import ConfigError, ResultError
from suitability.grid import Float64, Grid, Layer
from suitability.inputs.burn import burn
from suitability.inputs.common import choose_grid
from suitability.inputs.gather import Gathered, gather
from suitability.layers import Land, exact_water_distance_m
from suitability.layers.registry import LAYERS, measure
from suitability.outputs.points import add_coordinates
from suitability.sun import Scene, SeasonHours, SunPath, season_hours

Bits = NDArray[np.uint16]
Bool = NDArray[np.bool_]
Float32 = NDArray[np.float32]

# Told the stage and, where it is known, the share of it that is done.
Progress = Callable[[str, float | None], None]

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


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


@dataclass(frozen=True)
class Screened:
    """What a run found, in memory.

    Parameters
    ----------
    settings : RunSettings
        As loaded.
    criteria : tuple of Criterion
        Those that counted: the run file's, or the defaults of the climate.
    gathered : Gathered
        Inputs on the grid.
    land : Land
        What the layers saw.
    sun : SunPath
        Positions that counted.
    season : SeasonHours
        Direct-sun hours by month.
    layers : dict of str to Layer
        Raw measures.
    score : numpy.ndarray
        (rows, cols) float32 in 0..1, NaN where land is out.
    bits : numpy.ndarray
        (rows, cols) uint16, the reasons why land is out.
    sites : geopandas.GeoDataFrame
        The sites, best first.
    facts : dict
        Numbers about the run for its record.
    warnings : tuple of str
        What a reader of the results has to know.
    """

    settings: RunSettings
    criteria: tuple[Criterion, ...]
    gathered: Gathered
    land: Land
    sun: SunPath
    season: SeasonHours
    layers: dict[str, Layer]
    score: Float32
    bits: Bits
    sites: gpd.GeoDataFrame
    facts: dict[str, Any]
    warnings: tuple[str, ...]

    @property
    def grid(self) -> Grid:
        """The common grid."""
        return self.land.grid


def screen(run: LoadedRun, *, progress: Progress | None = None) -> Screened:
    """Screen the land of a run file; nothing is written.

    Parameters
    ----------
    run : LoadedRun
        The run file.
    progress : callable, optional
        Told the stage at work and, where it is known, the share of it that is done.

    Raises
    ------
    SuitabilityError
        If an input cannot be used, or no land is left.
    """
    watch = Stopwatch(progress)
    settings = run.settings
    criteria = criteria_of(run)
    with watch.stage("reading inputs"):
        grid, notes = choose_grid(settings, run.locate)
        gathered = gather(settings, grid, run.locate)
        land = land_of(settings, grid, gathered)
    with watch.stage("casting shadows") as tell:
        sun = season_sun(settings, grid, float(np.nanmean(land.ground)))
        season = season_hours(
            Scene.of(land.surface, land.receiver, grid.cell_m),
            sun,
            grid.convergence_deg(),
            lines_per_cell=settings.sun.lines_per_cell,
            progress=tell,
        )
    with watch.stage("measuring layers"):
        layers = measure(LAYERS, land, season)
    with watch.stage("judging the land"):
        score = weighted_mean(criteria, {name: layer.values for name, layer in layers.items()})
        bits = _exclusions(settings, land, gathered, layers, score)
        score[bits != 0] = np.nan
        _require_land(bits)
    with watch.stage("choosing sites"):
        sites = _sites(settings, criteria, land, layers, season, score)
    facts = {
        "grid_notes": notes,
        "excluded": excluded_shares(bits),
        "unknown_edge": unknown_edge(land, sun, bits),
        "seconds": watch.seconds,
    }
    warnings = (*gathered.warnings, *caveats(settings, grid, sites, facts, score))
    return Screened(
        settings, criteria, gathered, land, sun, season, layers, score, bits, sites, facts, warnings
    )


def criteria_of(run: LoadedRun) -> tuple[Criterion, ...]:
    """Return the criteria that count: those of the run file, else the climate's defaults.

    Raises
    ------
    ConfigError
        If one names a layer that there is not.
    """
    chosen = run.settings.criteria
    if chosen is None:
        return default_criteria(run.settings.climate)
    for place, criterion in enumerate(chosen):
        if criterion.layer not in LAYERS:
            msg = f"there is no layer {criterion.layer!r}"
            where = run.locate(f"criteria[{place}].layer")
            raise ConfigError(msg, where=where, fix=f"choose from {', '.join(LAYERS)}")
    return chosen


def _exclusions(
    settings: RunSettings,
    land: Land,
    gathered: Gathered,
    layers: dict[str, Layer],
    score: Float32,
) -> Bits:
    """Return the reasons against each cell."""
    rules = settings.exclusions
    building = land.buildings > 0
    masks: dict[str, Bool] = {
        "no_data": np.isnan(land.ground)
        | np.isnan(land.canopy)
        | (np.isnan(score) & ~land.under_canopy & ~building),
        "under_canopy": land.under_canopy,
        "building": building,
    }
    if gathered.boundary is not None:
        masks["outside"] = ~gathered.boundary
    if gathered.keep_out is not None:
        masks["keep_out"] = gathered.keep_out
    if rules.clearance is not None:
        masks["clearance"] = layers["clearance_m"].values < rules.clearance
    if rules.water_bank is not None:
        masks["water"] = layers["water_distance_m"].values <= rules.water_bank
    if rules.steeper_than is not None:
        masks["slope"] = layers["slope_deg"].values > rules.steeper_than
    if rules.existing_boxes and gathered.existing_boxes is not None:
        # Around the point itself, not its cell; 360 corners lie within 0.004 % of the circle.
        around = gathered.existing_boxes.buffer(rules.existing_boxes, quad_segs=90)
        near = gathered.existing_boxes.set_geometry(around)
        masks["existing_box"] = burn(near, land.grid, all_touched=False)
    return reason_bits(masks, land.grid.shape)


def _require_land(bits: Bits) -> None:
    if (bits == 0).any():
        return
    found = excluded_shares(bits)
    rows = [f"{r.words}: {found[r.key][0]:.0%}" for r in REASONS if found[r.key][0] > 0]
    msg = f"no land is left: every cell is excluded ({'; '.join(rows)})"
    fix = "look at the widest reasons: lift or loosen a rule in exclusions, or check that input"
    raise ResultError(msg, where="exclusions", fix=fix)


def _sites(
    settings: RunSettings,
    criteria: tuple[Criterion, ...],
    land: Land,
    layers: dict[str, Layer],
    season: SeasonHours,
    score: Float32,
) -> gpd.GeoDataFrame:
    """Return the sites, best first, with every measure, value and contribution."""
    rows, cols = pick_sites(
        score,
        count=settings.sites.count,
        spacing_cells=settings.sites.spacing / land.grid.cell_m,
        around_cells=round(AROUND_M / land.grid.cell_m),
        min_score=settings.sites.min_score,
    )
    x, y = land.grid.xy(rows, cols)
    table: dict[str, Any] = {
        "rank": np.arange(1, rows.size + 1),
        "score": score[rows, cols],
        "x_m": x,
        "y_m": y,
        "ground_elevation_m": land.ground[rows, cols],
    }
    raw = {name: layer.values[rows, cols] for name, layer in layers.items()}
    places = [
        explain_place(criteria, {name: values[k] for name, values in raw.items()})
        for k in range(rows.size)
    ]
    limits = [limiting(parts) for parts in places]
    table["limiting"] = ["none" if part is None else part.layer for part in limits]
    table |= raw
    for number, criterion in enumerate(criteria):
        stem = criterion.layer.rpartition("_")[0]
        table[f"{stem}_value"] = [parts[number].value for parts in places]
        table[f"{stem}_contribution"] = [parts[number].contribution for parts in places]
    table |= {f"{MONTHS[m - 1]}_sun_h": hours[rows, cols] for m, hours in season.months.items()}
    table["water_distance_exact_m"] = _exact_water_distance(land, raw["water_distance_m"], x, y)
    return add_coordinates(pd.DataFrame(table), land.grid)


def _exact_water_distance(land: Land, measured: Float32, x: Float64, y: Float64) -> Float64:
    """Return the distance to lines and polygons of water, or to land cover where that is nearer."""
    exact = exact_water_distance_m(x, y, land.water_features)
    # Cells of a line or polygon are off by half a diagonal at most: nearer is another water.
    half_diagonal = land.grid.cell_m / np.sqrt(2)
    return np.where(measured < exact - half_diagonal, measured, exact)
