"""What is known before the work of a run: the grid, the sun, a coarse look, the plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from suitability.box.body import Assumptions
from suitability.box.layer_boxes import LayerBox, layer_boxes
from suitability.box.wanted import wanted_of
from suitability.caveats import CoarseLook, kept_look, look_at, season_sun
from suitability.climate import with_weather
from suitability.config import LoadedRun
from suitability.errors import ResultError
from suitability.inputs.common import choose_grid
from suitability.inputs.gather import Features, gather_features
from suitability.inputs.weather import Weather
from suitability.memory import default_memory
from suitability.plan import (
    LEAST_BYTES,
    Plan,
    checked_judgement,
    near_cells,
    reaches_of,
    require_layers_of_boxes,
    tile_side,
    wide_cells,
)
from suitability.store import (
    Store,
    input_hashes,
    input_stamps,
    measuring_key,
    require_unchanged,
)
from suitability.streams import with_streams

THREADS = 2  # within a tile, where tiles are done one after another


@dataclass(frozen=True)
class Ahead:
    """What is known before the work: the plan, the vectors, a coarse look, and how each came.

    The plan's run names streams, if only those derived from its elevation.
    """

    plan: Plan
    features: Features
    look: CoarseLook
    notes: tuple[str, ...]
    hashes: dict[str, str | None]
    has_derived_streams: bool
    weather: Weather | None
    stamps: dict[str, tuple[int, int, int]]

    def require_unchanged(self) -> None:
        """Refuse inputs that were written to since the first of them was read."""
        require_unchanged(self.stamps)


def look_ahead(
    run: LoadedRun,
    folder: Path,
    *,
    memory: float | None,
    workers: int,
    alone: bool,
    fresh: bool = False,
) -> Ahead:
    """Choose the grid, look at the land coarsely and plan the work.

    Parameters
    ----------
    run : LoadedRun
        The run file.
    folder : pathlib.Path
        Where results go.
    memory : float, optional
        What the run may take; left out, half of the machine's. [bytes]
    workers : int
        Processes that tiles are spread over.
    alone : bool
        No processes but this one.
    fresh : bool
        Look anew, whatever an earlier run has kept.
    """
    stamps = input_stamps(run)
    weathered = with_weather(run)
    run = weathered.run
    judgement = checked_judgement(run)
    require_layers_of_boxes(run)
    boxes = layer_boxes(run, wanted_of(run))
    grid, notes = choose_grid(run.settings, run.locate)
    hashes, asked = input_hashes(run), run
    run, derived = with_streams(run, grid, folder)
    reach_m = reaches_of(run, judgement)
    features = gather_features(run.settings, grid, run.locate, reach_m)
    if derived is not None:
        features = features.telling(derived)
    store = Store(folder, measuring_key(asked, grid, hashes, reach_m, _known(run, boxes)), side=0)
    kept = None if fresh else kept_look(store.look, run.settings, grid, features)
    look = kept or look_at(run.settings, grid, run.locate, features)
    told = weathered.reports_at(grid, look.ground_elevation_m)
    features = replace(features, reports=(*features.reports, *told))
    sun = season_sun(run.settings, grid, look.ground_elevation_m)
    near = near_cells(grid, sun, reach_m)
    wide = wide_cells(grid, reach_m)
    room = memory or default_memory()
    if room < LEAST_BYTES:
        msg = f"{room / 1e6:.0f} MB of memory are too little for the map and the tables of a run"
        fix = f"allow {LEAST_BYTES / 1e9:g} GB or more"
        raise ResultError(msg, where="--memory", fix=fix)
    # With processes of their own for tiles, this one only puts things together.
    side = tile_side(grid, near, wide, room if alone else (room - LEAST_BYTES) / workers)
    plan = Plan(
        run=run,
        judgement=judgement,
        grid=grid,
        sun=sun,
        reach_m=reach_m,
        near_cells=near,
        side=side,
        store=replace(store, side=side),
        threads=THREADS if alone else 1,
    )
    is_derived = derived is not None
    return Ahead(plan, features, look, notes, hashes, is_derived, weathered.weather, stamps)


def _known(run: LoadedRun, boxes: Mapping[str, LayerBox]) -> dict[str, Any]:
    """Return all that the heat of boxes depends on beside place and weather, by layer."""
    assumed = Assumptions(bats_w=run.settings.box.bats_heat_w)
    return {name: [asdict(box), asdict(assumed)] for name, box in boxes.items()}
