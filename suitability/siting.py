"""The chosen sites with everything that is known of them."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.assembling import parts_of
from suitability.caveats import CoarseLook
from suitability.config.sites import BoxGroups
from suitability.decide import explain_place, limiting
from suitability.decide.choice import (
    Candidates,
    choose_exactly,
    gather_candidates,
    held_side,
)
from suitability.decide.groups import GroupRules, Kinds, kinds_of, pick_groups
from suitability.decide.sites import AROUND_M, Index, Spots, merge_sites, merge_with_spots
from suitability.grid import Float32, Float64, Window
from suitability.layers import exact_water_distance_m
from suitability.outputs.points import add_coordinates
from suitability.outputs.rasters import read_cells, read_window, unassembled
from suitability.plan import Plan
from suitability.tasks import layer_names
from suitability.walling import Walls, wall_candidates

SITE_WINDOW = 1024  # cells along the windows in which sites are looked for


@dataclass(frozen=True)
class Chosen:
    """The sites of a run, and how they were chosen.

    Parameters
    ----------
    sites : geopandas.GeoDataFrame
        A row a box, best first, with every measure, value and contribution; `group` and `role`
        where boxes stand in groups.
    scores : numpy.ndarray
        (n,) of the sites, or of the groups: the mean of their boxes. Best first.
    facts : dict
        How they were chosen, for the record.
    walls : Walls, optional
        The candidates on walls, where those were asked for.
    wall_of : numpy.ndarray, optional
        (n,) by site, which of them it is; -1 on a pole.
    """

    sites: gpd.GeoDataFrame
    scores: Float64
    facts: dict[str, Any]

    walls: Walls | None = None
    wall_of: Index | None = None

    def wall_horizons(self) -> tuple[Index, Float64]:
        """Return which sites are on walls, and the horizons there, (k, 360). [degrees]."""
        if self.walls is None or self.wall_of is None:
            return np.empty(0, np.int64), np.empty((0, 360))
        on_walls = np.flatnonzero(self.wall_of >= 0)
        return on_walls, self.walls.horizons_deg[self.wall_of[on_walls]]

    @property
    def caveats(self) -> tuple[str, ...]:
        """What a reader has to know of the choice."""
        if self.walls is not None:
            return self.walls.caveats
        if self.facts.get("search_ended_by") != "time limit":
            return ()
        return (
            "the time limit ended the search for the best choice of sites: another might score "
            f"up to {self.facts['gap_share']:.2%} more in all; allow more sites.time_limit to know",
        )


def choose_sites(plan: Plan, look: CoarseLook) -> Chosen:
    """Return the sites, or the groups of boxes, that the run file asks for.

    Parameters
    ----------
    plan : Plan
        Of the run, its land judged.
    look : CoarseLook
        The whole land, seen coarsely.

    Notes
    -----
    Scores and reasons are read from the parts that judging left, so that they may be assembled
    meanwhile.
    """
    scores = unassembled(parts_of(plan, "candidates"), plan.grid)
    groups = plan.run.settings.sites.groups
    if plan.run.settings.mount.kind != "pole":
        # In 32 bits, which hold the reasons of any run.
        reasons = unassembled(parts_of(plan, "excluded"), plan.grid, "UInt32")
        return _sites_with_walls(plan, scores, wall_candidates(plan, look, reasons))
    if groups is None:
        rows, cols, facts = _single_sites(plan, scores)
        sites = _site_table(plan, rows, cols, read_cells(scores, rows, cols))
        found = sites["score"].to_numpy()
        return Chosen(sites, found, facts | {"total_score": float(found.sum())})
    rows, cols = _groups_of_boxes(plan, scores, groups)
    boxes = read_cells(scores, rows.ravel(), cols.ravel())
    found = boxes.reshape(rows.shape).mean(axis=1)
    sites = _site_table(plan, rows.ravel(), cols.ravel(), boxes)
    sites["group"] = np.repeat(np.arange(1, found.size + 1), len(groups.boxes))
    sites["group_score"] = np.repeat(found, len(groups.boxes))
    sites["role"] = [role.name for role in groups.boxes] * found.size
    facts = {"method": "greedy", "groups": found.size, "total_group_score": float(found.sum())}
    return Chosen(sites, found, facts)


def _sites_with_walls(plan: Plan, scores: str, walls: Walls) -> Chosen:
    """Return sites on walls, and on the land as well where both are asked for."""
    wanted, grid = plan.run.settings.sites, plan.grid
    on_land = plan.run.settings.mount.kind == "both"
    places = walls.places
    row, col, wall_of = merge_with_spots(
        lambda window: read_window(scores, window),
        grid.tiles(SITE_WINDOW) if on_land else (),
        grid.shape,
        Spots(walls.score, *grid.position(places.x_m, places.y_m)),
        count=wanted.count,
        spacing_cells=wanted.spacing / grid.cell_m,
        around_cells=round(AROUND_M / grid.cell_m),
        min_score=wanted.min_score,
    )
    on_wall, its = wall_of >= 0, wall_of[wall_of >= 0]
    rows, cols = (np.floor(at + 0.5).astype(np.int64) for at in (row, col))
    x, y = grid.xy(rows, cols)
    x[on_wall], y[on_wall] = places.x_m[its], places.y_m[its]
    found = read_cells(scores, rows, cols)
    found[on_wall] = walls.score[its]
    raw = _measured(plan, rows, cols)
    for name, values in raw.items():
        values[on_wall] = walls.measures[name][its]
    sites = _table_of(plan, raw, x, y, found)
    sites["kind"] = np.where(on_wall, "wall", "pole")
    for name, told in (("facing_deg", walls.facing_deg), ("building", walls.building),
                       ("material", walls.material)):  # fmt: skip
        column = np.full(rows.size, None, dtype=object)
        column[on_wall] = told[its]
        sites[name] = column.astype(np.float64) if name == "facing_deg" else column
    facts = {"method": "greedy", "total_score": float(found.sum()), "walls": walls.facts}
    return Chosen(sites, found, facts, walls, wall_of)


def _single_sites(plan: Plan, scores: str) -> tuple[Index, Index, dict[str, Any]]:
    """Return rows and columns of the sites, and how they were chosen."""
    wanted, grid = plan.run.settings.sites, plan.grid
    spacing_cells = wanted.spacing / grid.cell_m
    around_cells = round(AROUND_M / grid.cell_m)

    def read(window: Window) -> Float32:
        return read_window(scores, window)

    rows, cols = merge_sites(
        read,
        grid.tiles(SITE_WINDOW),
        grid.shape,
        count=wanted.count,
        spacing_cells=spacing_cells,
        around_cells=around_cells,
        min_score=wanted.min_score,
    )
    if wanted.choice == "greedy":
        return rows, cols, {"method": "greedy"}

    def gathered(windows: Sequence[Window], side: int) -> Candidates:
        return gather_candidates(
            read,
            windows,
            grid.shape,
            side=side,
            around_cells=around_cells,
            min_score=wanted.min_score,
        )

    side = held_side(grid.shape)
    sites = [Window(row, col, 1, 1) for row, col in zip(rows.tolist(), cols.tolist(), strict=True)]
    choice = choose_exactly(
        gathered(grid.tiles(SITE_WINDOW), side),
        side,
        gathered(sites, 1),
        count=wanted.count,
        spacing_cells=spacing_cells,
        time_limit_s=60 * wanted.time_limit,
    )
    facts = {
        "method": "exact",
        "greedy_total_score": choice.greedy_total,
        "most_possible_total_score": choice.most_possible,
        "gap_share": choice.gap_share,
        "search_ended_by": "proof" if choice.is_proven else "time limit",
        "candidates": choice.candidates,
        "best_of_squares_m": choice.square_cells * grid.cell_m,
        "most_on_land_total_score": choice.most_on_land,
    }
    return choice.rows, choice.cols, facts


def _groups_of_boxes(plan: Plan, scores: str, groups: BoxGroups) -> tuple[Index, Index]:
    wanted, grid = plan.run.settings.sites, plan.grid
    bounds = [(role.layer, *role.bounds) for role in groups.boxes]

    def read(window: Window) -> tuple[Float32, Kinds]:
        names = {layer for layer, _, _ in bounds}
        layers = {name: read_window(plan.store.layer(name), window) for name in names}
        return read_window(scores, window), kinds_of(layers, bounds)

    rules = GroupRules(
        boxes=len(bounds),
        within_cells=groups.within / grid.cell_m,
        apart_cells=groups.apart / grid.cell_m,
        spacing_cells=wanted.spacing / grid.cell_m,
        around_cells=round(AROUND_M / grid.cell_m),
        min_score=wanted.min_score,
    )
    return pick_groups(read, grid.tiles(SITE_WINDOW), grid.shape, count=wanted.count, rules=rules)


def _site_table(plan: Plan, rows: Index, cols: Index, score: Float64) -> gpd.GeoDataFrame:
    """Return the boxes in the order given, with all that is known of their places."""
    return _table_of(plan, _measured(plan, rows, cols), *plan.grid.xy(rows, cols), score)


def _measured(plan: Plan, rows: Index, cols: Index) -> dict[str, Float64]:
    names = layer_names(plan)
    with ThreadPoolExecutor(plan.threads) as pool:
        found = pool.map(lambda name: read_cells(plan.store.layer(name), rows, cols), names)
        return dict(zip(names, found, strict=True))


def _table_of(
    plan: Plan, raw: dict[str, Float64], x: Float64, y: Float64, score: Float64
) -> gpd.GeoDataFrame:
    """Return a table of places by what is measured there."""
    places = [
        explain_place(plan.judgement, {c.layer: raw[c.layer][k] for c in plan.criteria})
        for k in range(score.size)
    ]
    limits = [limiting(parts) for parts in places]
    table: dict[str, Any] = {
        "rank": np.arange(1, score.size + 1),
        "score": score,
        "x_m": x,
        "y_m": y,
        "limiting": ["none" if part is None else part.layer for part in limits],
    }
    table |= {name: raw[name] for name in plan.layers}
    for number, criterion in enumerate(plan.criteria):
        stem = criterion.layer.rpartition("_")[0]
        table[f"{stem}_value"] = [parts[number].value for parts in places]
        if plan.judgement.adds_up:
            table[f"{stem}_contribution"] = [parts[number].contribution for parts in places]
        else:
            table[f"{stem}_would_lose"] = [parts[number].loss for parts in places]
            table[f"{stem}_would_gain"] = [parts[number].lift for parts in places]
    table |= {name: values for name, values in raw.items() if name not in plan.layers}
    table["water_distance_exact_m"] = _exact_water_distance(plan, raw["water_distance_m"], x, y)
    return add_coordinates(pd.DataFrame(table), plan.grid)


def _exact_water_distance(
    plan: Plan, measured: Float64, x: Float64, y: Float64
) -> NDArray[np.float64]:
    """Return the distance to lines and polygons of water, or to land cover where that is nearer."""
    exact = exact_water_distance_m(x, y, plan.features().water)
    # Cells of a line or polygon are off by half a diagonal at most: nearer is another water.
    nearer = measured < exact - plan.grid.cell_m / np.sqrt(2)
    within_reach = measured < plan.reach_m["water_distance_m"]
    return np.where(nearer & within_reach, measured, exact)
