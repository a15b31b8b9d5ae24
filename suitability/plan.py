"""How a run goes about its land: the grid, the tiles, what each must see around it."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np

from suitability.caveats import MAX_TURN_DEG, turn_deg
from suitability.config import LoadedRun
from suitability.config.criteria import Criterion, walked
from suitability.decide import Judgement, Reason, judgement_of, reasons_of, value_of
from suitability.errors import ConfigError, ResultError
from suitability.grid import Grid, Window
from suitability.inputs.gather import Features, gather_features
from suitability.layers.heat import HeatTable
from suitability.layers.measurement import LayerSpec
from suitability.layers.registry import layers_of, named_layers, reaches
from suitability.store import Store
from suitability.sun import FarLand, SunPath

# The widest square of the far land: a tree's crown. Wider ones lower a crest that light crosses
# aslant. [m]
FAR_SQUARE_M = 16.0
# Squares along the longer side of the far land, at most: every process holds all of them.
FAR_SQUARES = 4096
# Near shadows are those of trees and buildings up to this height; what is higher, or further than
# the second number, is cast by the far land. [m]
TALL_M = 35.0
FAR_SHADOW_M = 300.0

# What a process holds before its first tile; what a cell costs that a tile sees at full resolution,
# while shadows are cast and while it is searched for water, with what a cell costs that is only
# searched; what a square of far land costs; what the map and the tables at the end take. Fitted to
# runs of 1 to 100 million cells (tests/benchmarks/screen.py), on the safe side. [bytes]
BASE_BYTES = 450e6
SHADOW_BYTES = 78.0
NEAR_BYTES = 50.0
WIDE_BYTES = 8.0
FAR_BYTES = 8.0
LEAST_BYTES = 1e9
SMALLEST_SIDE = 256  # every side of a tile is a multiple of it, and it of a square of far land


@dataclass(frozen=True)
class Plan:
    """All that a tile's work needs beside the tile: paths and settings, no rasters.

    Parameters
    ----------
    run : LoadedRun
        The run file.
    judgement : Judgement
        How places are judged.
    grid : Grid
        The whole grid.
    sun : SunPath
        Positions that count.
    reach_m : dict
        How far each layer reaches. [m]
    near_cells : int
        What a tile sees around it at full resolution. [cells]
    side : int
        Cells along a tile.
    store : Store
        Where parts go.
    threads : int
        For the work within one tile.
    """

    run: LoadedRun
    judgement: Judgement
    grid: Grid
    sun: SunPath
    reach_m: Mapping[str, float]
    near_cells: int
    side: int
    store: Store
    threads: int

    @property
    def layers(self) -> dict[str, LayerSpec]:
        """Every layer that the run measures, by name."""
        return layers_of(self.run.settings)

    @property
    def criteria(self) -> tuple[Criterion, ...]:
        """The criteria, in the order of the run file."""
        return self.judgement.criteria

    @property
    def reasons(self) -> tuple[Reason, ...]:
        """Why land may be out, by rising bits."""
        return reasons_of(self.run.settings.exclusions.rules)

    @property
    def tiles(self) -> tuple[Window, ...]:
        """The tiles, row by row."""
        return self.grid.tiles(self.side)

    @property
    def square(self) -> int:
        """Cells along a square of the far land."""
        return far_square(self.grid)

    def around(self, window: Window) -> Window:
        """Return a tile with what it sees around it."""
        return window.grown(self.near_cells).clipped(self.grid.shape)

    def convergence_deg(self, window: Window) -> float:
        """Return the meridian convergence for a tile: the grid's, or its own on wide land."""
        if turn_deg(self.grid) <= MAX_TURN_DEG:
            return self.grid.convergence_deg()
        return self.grid.window(window).convergence_deg()

    @property
    def heat_layers(self) -> tuple[str, ...]:
        """The names of the layers of boxes' heat."""
        own = self.run.settings.layers.items()
        return tuple(name for name, layer in own if layer.box_heat is not None)

    @property
    def heat_file(self) -> Path:
        """Where the tables of boxes' heat are kept while tiles are measured."""
        return self.store.hidden / "heat.json"

    def heat_tables(self) -> Mapping[str, HeatTable]:
        """Return the tables of boxes' heat, by layer."""
        return _heat(self.heat_file, self.store.key) if self.heat_layers else {}

    def features(self) -> Features:
        """Return the vectors of the run, read once in a process."""
        return _features(self.run, self.grid, self.store.key, self.reach_m)

    @property
    def far_file(self) -> Path:
        """Where the far land is kept while tiles are measured."""
        return self.store.hidden / "far.npz"

    def far(self) -> FarLand | None:
        """Return the far land; None if the land is one tile."""
        return None if len(self.tiles) == 1 else _far(self.far_file, self.store.key)


def checked_judgement(run: LoadedRun) -> Judgement:
    """Return how a run's places are judged: by its own criteria, else by its climate's.

    Raises
    ------
    ConfigError
        If one names a layer that there is not, or gives north two values.
    """
    layers = named_layers(run)
    for key, entry in walked(run.settings.criteria or ()):
        if not isinstance(entry, Criterion):
            continue
        if entry.layer not in layers:
            msg = f"there is no layer {entry.layer!r}"
            where = run.locate(f"{key}.layer")
            raise ConfigError(msg, where=where, fix=f"choose from {', '.join(layers)}")
        own = run.settings.layers.get(entry.layer)
        if own is not None and own.aspect is not None:
            _require_one_north(entry, run.locate(f"{key}.value"))
    for place, rule in enumerate(run.settings.exclusions.rules):
        if rule.layer not in layers:
            msg = f"there is no layer {rule.layer!r}"
            where = run.locate(f"exclusions.rules[{place}].layer")
            raise ConfigError(msg, where=where, fix=f"choose from {', '.join(layers)}")
    return judgement_of(run.settings)


def _require_one_north(criterion: Criterion, where: str) -> None:
    """Refuse a curve over directions that breaks where they begin again."""
    from_north, to_north = (float(value) for value in value_of([0.0, 360.0], criterion.curve))
    if from_north != to_north:
        msg = f"north has two values, {from_north:g} at 0 deg and {to_north:g} at 360 deg"
        fix = "give the curve one value at both: a curve over directions does not wrap by itself"
        raise ConfigError(msg, where=where, fix=fix)


def require_layers_of_boxes(run: LoadedRun) -> None:
    """Refuse groups whose boxes ask for layers that there are not.

    Raises
    ------
    ConfigError
        If a box does.
    """
    groups, layers = run.settings.sites.groups, layers_of(run.settings)
    for place, role in enumerate(groups.boxes if groups else ()):
        if role.layer not in layers:
            msg = f"there is no layer {role.layer!r}"
            where = run.locate(f"sites.groups.boxes[{place}].layer")
            raise ConfigError(msg, where=where, fix=f"choose from {', '.join(layers)}")


def reaches_of(run: LoadedRun, judgement: Judgement) -> dict[str, float]:
    """Return how far each layer must reach for the run's curves and rules. [m]."""
    rules = run.settings.exclusions
    wanted = {leaf.name: max(abs(end) for end in leaf.curve.ends) for leaf in judgement.leaves}
    for layer, rule in (("clearance_m", rules.clearance), ("water_distance_m", rules.water_bank)):
        # A step beyond, so that the rule's own distance is told apart from what lies further.
        wanted[layer] = max(wanted.get(layer, 0.0), 2 * (rule or 0.0))
    for own in rules.rules:
        wanted[own.layer] = max(wanted.get(own.layer, 0.0), 2 * abs(own.bound))
    groups = run.settings.sites.groups
    for role in groups.boxes if groups else ():
        ends = [abs(end) for end in role.bounds if math.isfinite(end)]
        wanted[role.layer] = max(wanted.get(role.layer, 0.0), 2 * max(ends))
    return reaches(layers_of(run.settings), wanted)


def wide_cells(grid: Grid, reach_m: Mapping[str, float]) -> int:
    """Return how far around a tile features and land cover are searched at most. [cells]."""
    # One more: an edge of woodland reaches a whole cell where cells are wider than it.
    return math.ceil(max(reach_m.values()) / grid.cell_m) + 1


def near_cells(grid: Grid, sun: SunPath, reach_m: Mapping[str, float]) -> int:
    """Return how far around a tile its surroundings must be seen at full resolution. [cells]."""
    lowest = np.radians(sun.altitude_deg.min()) if len(sun) else np.pi / 2
    shadow_m = min(TALL_M / float(np.tan(lowest)), FAR_SHADOW_M)
    layers_m = max(reach_m[name] for name in ("canopy_edge_m", "clearance_m"))
    return math.ceil(max(shadow_m, layers_m) / grid.cell_m) + 2


def far_square(grid: Grid) -> int:
    """Return how many cells lie along a square of the far land: a power of two. [cells]."""
    square = 1
    while 2 * square * grid.cell_m <= FAR_SQUARE_M and 2 * square <= SMALLEST_SIDE:
        square *= 2
    while max(grid.shape) > square * FAR_SQUARES and square < SMALLEST_SIDE:
        square *= 2
    return square


def tile_side(grid: Grid, near: int, wide: int, memory: float) -> int:
    """Return the side of the largest tiles whose work keeps within a memory. [cells].

    Parameters
    ----------
    grid : Grid
        The whole grid.
    near, wide : int
        Cells around a tile that are seen at full resolution, and that are searched for features and
        land cover.
    memory : float
        What one process may take. [bytes]

    Raises
    ------
    ResultError
        If no tile keeps within it.
    """
    if tile_bytes(grid, max(grid.shape), near, wide) <= memory:
        return max(grid.shape)
    side = -(-max(grid.shape) // SMALLEST_SIDE) * SMALLEST_SIDE
    while side > SMALLEST_SIDE and tile_bytes(grid, side, near, wide) > memory:
        side -= SMALLEST_SIDE
    needed = tile_bytes(grid, side, near, wide)
    if needed > memory:
        msg = f"{memory / 1e6:.0f} MB of memory are too little: this land needs {needed / 1e6:.0f}"
        raise ResultError(msg, where="--memory", fix="allow more, or state a coarser grid.cell")
    # As many tiles of more equal sizes: workers end together.
    along = -(-max(grid.shape) // side)
    return -(-max(grid.shape) // (along * SMALLEST_SIDE)) * SMALLEST_SIDE


def tile_bytes(grid: Grid, side: int, near: int, wide: int) -> float:
    """Return the memory that the work on a tile takes at its peak. [bytes]."""
    rows, cols = (min(side, size) for size in grid.shape)
    seen = min(rows + 2 * near, grid.rows) * min(cols + 2 * near, grid.cols)
    searched = (rows + 2 * wide) * (cols + 2 * wide)
    squares = 0 if side >= max(grid.shape) else grid.rows * grid.cols / far_square(grid) ** 2
    at_peak = max(SHADOW_BYTES * seen, NEAR_BYTES * seen + WIDE_BYTES * searched)
    return BASE_BYTES + at_peak + FAR_BYTES * squares


_FEATURES: dict[tuple[str, Grid], Features] = {}


def _features(run: LoadedRun, grid: Grid, key: str, reach_m: Mapping[str, float]) -> Features:
    # The key knows the content of the files, which may have changed since they were read.
    if (key, grid) not in _FEATURES:
        _FEATURES.clear()
        _FEATURES[key, grid] = gather_features(run.settings, grid, run.locate, reach_m)
    return _FEATURES[key, grid]


@lru_cache(maxsize=1)
def _heat(path: Path, key: str) -> Mapping[str, HeatTable]:  # noqa: ARG001 - as below
    tables = json.loads(path.read_text(encoding="utf-8"))
    return {name: HeatTable.of(kept) for name, kept in tables.items()}


@lru_cache(maxsize=1)
def _far(path: Path, key: str) -> FarLand:  # noqa: ARG001 - another run's far land is another's
    with np.load(path) as kept:
        rows, cols = kept["shape"]
        block = int(kept["block"])
        return FarLand(kept["along_rows"], kept["along_cols"], block, (int(rows), int(cols)))
