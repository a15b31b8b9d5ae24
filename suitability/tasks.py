"""The work on one tile: look ahead, measure, judge. Each reads files and leaves parts of rasters.

A task needs a plan and a window, nothing else, so that it runs alike here, in a process of its
own or on another machine that sees the same files.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from typing import Any

import numpy as np
import rasterio
from numpy.typing import NDArray

from suitability.caveats import land_of
from suitability.config.inputs import land_files
from suitability.decide import count_bits, reason_bits, rule_masks
from suitability.decide.exclusions import Bits
from suitability.decide.judgement import Judgement
from suitability.errors import ResultError
from suitability.grid import Float32, Window
from suitability.inputs.burn import burn
from suitability.inputs.features import widened
from suitability.inputs.gather import doubted, gather_rasters
from suitability.inputs.land import read_land_cover
from suitability.inputs.legend import NO_CLASS
from suitability.inputs.raster import read_heights, read_values
from suitability.inputs.report import InputReport
from suitability.layers import Cover, Land, bed_and_bank
from suitability.layers.heat import hours_too_warm
from suitability.layers.measurement import Measurement
from suitability.layers.registry import SUN_LAYERS, measure, month_layer
from suitability.outputs.rasters import CACHE_BYTES, read_window, write_part
from suitability.plan import Plan, wide_cells
from suitability.sun import FarLand, Scene, SeasonHours, season_hours

Bool = NDArray[np.bool_]

OBSTACLES = "obstacles"
_ROUNDING_H = 1e-3  # of hours kept as float32
_ROWS_TOGETHER = 128


class Reader:
    """Reads what some layers want of a tile or of the land around it, when they want it.

    Parameters
    ----------
    plan : Plan
        The run's.
    window : Window
        The tile.
    """

    def __init__(self, plan: Plan, window: Window) -> None:
        self._plan, self._window = plan, window
        self.reports: list[InputReport] = []

    def given(self, name: str) -> Float32:
        """Return the values of the raster of a layer, and keep what was done to them."""
        plan = self._plan
        source = plan.run.settings.layers[name].value
        if source is None:
            msg = f"{name} is no raster's value"
            raise ValueError(msg)
        place = plan.run.locate(f"layers.{name}.value")
        grid = plan.grid.window(self._window)
        values, report = read_values(source, grid, role=name, place=place)
        self.reports.append(report)
        return values

    def ground_of(self, window: Window) -> Float32:
        """Return the ground of any window, also beyond the grid. [m]."""
        run = self._plan.run
        grid, place = self._plan.grid.window(window), run.locate("inputs.elevation")
        return read_heights(run.settings.inputs.elevation, grid, place=place, part=True)[0]


def survey_tile(plan: Plan, window: Window) -> FarLand:
    """Look at a tile before any is measured: return what it is to far tiles."""
    settings, grid = plan.run.settings, plan.grid.window(window)
    with rasterio.Env(GDAL_CACHEMAX=CACHE_BYTES):
        rasters = gather_rasters(settings, grid, plan.run.locate, plan.features(), part=True)
    return FarLand.of(land_of(settings, grid, rasters).surface, plan.square)


def measure_tile(plan: Plan, window: Window) -> list[InputReport]:
    """Measure every layer of a tile and leave it as parts; what is finished is not done again."""
    kept = plan.store.finished(window)
    if kept is not None:
        return kept_reports(plan, kept)
    settings, locate = plan.run.settings, plan.run.locate
    around = plan.around(window)
    wide = window.grown(wide_cells(plan.grid, plan.reach_m))
    with rasterio.Env(GDAL_CACHEMAX=CACHE_BYTES):
        part = len(plan.tiles) > 1
        seen = plan.grid.window(around)
        rasters = gather_rasters(settings, seen, locate, plan.features(), part=part)
        rasters = doubted(settings, seen, rasters)
        land = land_of(settings, plan.grid.window(around), rasters)
        scene = Scene.of(land.surface, land.receiver, plan.grid.cell_m)
        sun = _sun_of(plan, window, scene)
        for month, hours in sun.months.items():
            write_part(plan.store.part(month_layer(month), window), hours)
        sun = replace(sun, months={})  # written, and in the way of what comes
        heat = _heat_of(plan, window, scene)
        del scene
        codes, legend, cover_report = read_land_cover(
            settings, plan.grid.window(wide), locate, part=part
        )
        cover = Cover(codes, wide, legend)
        reader = Reader(plan, window)
        measurement = Measurement(
            grid=plan.grid,
            window=window,
            around=around,
            land=land,
            water=plan.features().water,
            cover=cover,
            sun=sun,
            reach_m=plan.reach_m,
            features=plan.features().layers,
            given=reader.given,
            ground_of=reader.ground_of,
            heat=heat,
            threads=plan.threads,
        )
        for name, values in measure(plan.layers, measurement):
            write_part(plan.store.part(name, window), values)
        write_part(plan.store.part(OBSTACLES, window), obstacles(land)[window.within(around)])
    reports = [*rasters.reports, *reader.reports]
    if cover_report.role not in {report.role for report in reports}:
        missing = float((cover.within(window) == NO_CLASS).mean())
        reports.insert(1, replace(cover_report, outside_share=missing))
    plan.store.finish(window, reports_to_keep(plan, reports))
    return reports


def reports_to_keep(plan: Plan, reports: Sequence[InputReport]) -> dict[str, Any]:
    """Return reports as they are noted in the store, with the files as the run names them."""
    named = land_files(plan.run.settings)
    return {"reports": [asdict(report) for report in reports], "named": named}


def kept_reports(plan: Plan, notes: Mapping[str, Any]) -> list[InputReport]:
    """Return noted reports, with the files as this run names them: they may have moved since."""
    moved = dict(zip(notes["named"], land_files(plan.run.settings), strict=True))
    reports = (InputReport.of(report) for report in notes["reports"])
    return [replace(report, path=moved.get(report.path, report.path)) for report in reports]


def judge_tile(plan: Plan, window: Window) -> dict[int, int]:
    """Judge a tile by its measured layers and leave score and reasons as parts.

    Returns how many cells hold each sum of reasons.
    """
    _, score, bits = judgement_in(plan, window)
    score[bits != 0] = np.nan
    write_part(plan.store.part("candidates", window), score)
    write_part(plan.store.part("excluded", window), bits)
    return count_bits(bits)


def judgement_in(plan: Plan, window: Window) -> tuple[dict[str, Float32], Float32, Bits]:
    """Return a window's measures by layer, its scores, and the reasons against its cells."""
    with rasterio.Env(GDAL_CACHEMAX=CACHE_BYTES):
        names = {c.layer for c in plan.criteria} | {"clearance_m", "water_distance_m", "slope_deg"}
        names |= {rule.layer for rule in plan.run.settings.exclusions.rules}
        layers = {name: read_window(plan.store.layer(name), window) for name in names}
        stands = read_window(plan.store.layer(OBSTACLES), window)
    _require_sun_there_is(plan, layers)
    score = _score(plan.judgement, layers, stands.shape)
    masks = _rules(plan, window, layers, stands, score)
    bits = stands | reason_bits(masks, stands.shape, plan.reasons)
    return layers, score, bits


def _score(judgement: Judgement, layers: Mapping[str, Float32], shape: tuple[int, ...]) -> Float32:
    """Return the scores of a window, some rows at a time: so much stays near the processor."""
    score = np.empty(shape, np.float32)
    for row in range(0, shape[0], _ROWS_TOGETHER):
        rows = slice(row, row + _ROWS_TOGETHER)
        score[rows] = judgement.score({name: measure[rows] for name, measure in layers.items()})
    return score


def _require_sun_there_is(plan: Plan, layers: dict[str, Float32]) -> None:
    """Refuse more hours of sun than the season's sun counts: a kept layer was damaged."""
    most_h = float(plan.sun.season_hours.sum())
    for name in sorted(SUN_LAYERS & layers.keys()):
        found_h = float(np.nanmax(layers[name], initial=0.0))
        if found_h > most_h + _ROUNDING_H:
            msg = (
                f"{name} holds {found_h:.2f} h a day, more than the sun counts in this season "
                f"({most_h:.2f} h)"
            )
            fix = "the kept layer is damaged; measure anew with `--fresh`"
            raise ResultError(msg, where=plan.store.layer(name), fix=fix)


def layer_names(plan: Plan) -> list[str]:
    """Return the names of all layers that a run measures."""
    return [*plan.layers, *(month_layer(month) for month in plan.sun.share_of_season)]


def obstacles(land: Land) -> Bits:
    """Return what stands against a box whatever the rules: no data, canopy, a building."""
    return reason_bits(
        {
            "no_data": np.isnan(land.ground) | np.isnan(land.canopy),
            "under_canopy": land.under_canopy,
            "building": land.buildings > 0,
        },
        land.grid.shape,
    )


def _sun_of(plan: Plan, window: Window, scene: Scene) -> SeasonHours:
    """Return the tile's direct-sun hours, shaded by its surroundings and by far land."""
    return season_hours(scene, plan.sun, plan.convergence_deg(window), **_sweep_of(plan, window))


def _heat_of(plan: Plan, window: Window, scene: Scene) -> dict[str, Float32]:
    """Return the hours in which boxes would be too warm, by layer."""
    turn, how = plan.convergence_deg(window), _sweep_of(plan, window)
    return {
        name: hours_too_warm(scene, plan.sun, turn, table, **how)
        for name, table in plan.heat_tables().items()
    }


def _sweep_of(plan: Plan, window: Window) -> dict[str, Any]:
    """Return how shadows are cast over a tile."""
    around = plan.around(window)
    return {
        "lines_per_cell": plan.run.settings.sun.lines_per_cell,
        "threads": plan.threads,
        "first_cell": (around.row, around.col),
        "far": plan.far(),
        "part": window.within(around),
    }


def _rules(
    plan: Plan,
    window: Window,
    layers: Mapping[str, Float32],
    stands: Bits,
    score: Float32,
) -> dict[str, Bool]:
    """Return where each of the run's own rules holds."""
    rules, features, grid = plan.run.settings.exclusions, plan.features(), plan.grid.window(window)
    masks: dict[str, Bool] = {"no_data": np.isnan(score) & (stands == 0)}
    masks |= rule_masks(rules.rules, layers)
    if features.boundary is not None:
        masks["outside"] = ~burn(features.boundary, grid, all_touched=False)
    if features.keep_outs is not None:
        # A cell that a keep-out only touches is kept out as well.
        masks["keep_out"] = burn(features.keep_outs, grid, all_touched=True)
    if rules.clearance is not None:
        masks["clearance"] = layers["clearance_m"] < rules.clearance
    if rules.water_bank is not None:
        masks["water"] = layers["water_distance_m"] <= rules.water_bank
        if features.dry_beds is not None:
            masks["water"] |= bed_and_bank(features.dry_beds, grid, rules.water_bank)
    if rules.steeper_than is not None:
        masks["slope"] = layers["slope_deg"] > rules.steeper_than
    if rules.existing_boxes and features.existing_boxes is not None:
        # Around the point itself, not its cell.
        near = widened(features.existing_boxes, rules.existing_boxes)
        masks["existing_box"] = burn(near, grid, all_touched=False)
    return masks
