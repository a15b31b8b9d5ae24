"""The walls of a run's buildings as candidates beside the land: measured, judged, scored."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import geopandas
import numpy as np
import shapely
from numpy.typing import NDArray

from suitability.box.walls import (
    WallPlaces,
    is_open_ahead,
    is_walled_up,
    wall_edges,
    wall_horizons,
    wall_places,
    with_own_wall,
)
from suitability.caveats import CoarseLook
from suitability.decide import rule_masks
from suitability.decide.exclusions import REASONS
from suitability.grid import Float64
from suitability.horizons import AROUND_M, WHOLE_CELLS, site_horizons
from suitability.inputs.burn import heights_of
from suitability.layers.registry import month_layer
from suitability.outputs.rasters import read_cells
from suitability.overheating import wall_hours
from suitability.plan import Plan
from suitability.sun import face_is_lit
from suitability.tasks import layer_names

Bool = NDArray[np.bool_]
Index = NDArray[np.int64]

# Reasons of a cell that hold for a wall beside it as well.
_OF_THE_CELL = ("under_canopy", "water")


@dataclass(frozen=True)
class Walls:
    """Places on walls that may have a box; each array is (n,).

    Parameters
    ----------
    places : WallPlaces
        Where, just before the wall.
    facing_deg : numpy.ndarray
        The way that each looks, clockwise from true north. [degrees]
    score : numpy.ndarray
        0..1.
    measures : dict
        By layer; the layers of sun hold that of the wall's face.
    horizons_deg : numpy.ndarray
        (n, 360) clockwise from grid north, with the wall itself. [degrees]
    building, material : numpy.ndarray
        Name of the building, and what its walls are made of; None where that is not told.
    facts : dict
        How many places there are along walls, and why others are out.
    """

    places: WallPlaces
    facing_deg: Float64
    score: Float64
    measures: dict[str, Float64]
    horizons_deg: Float64
    building: NDArray[np.object_]
    material: NDArray[np.object_]
    facts: dict[str, Any]

    @property
    def caveats(self) -> tuple[str, ...]:
        """What a reader has to know of walls."""
        told = []
        along, left, out = (self.facts[key] for key in ("free", "looked_at", "out"))
        if left < along:
            told.append(
                f"{left:,} of {along:,} places on walls were looked at, an even choice of them: "
                "allow more in mount.walls.most, or narrow the boundary"
            )
        if not len(self.places):
            why = "; ".join(f"{words}: {count:,}" for words, count in out.items() if count)
            told.append(f"no wall is a candidate ({why or 'there are no walls'})")
        else:
            told.append(
                "direct sun on a wall is that which reaches its face, on a pole that which comes "
                "from any side: of two such sites the wall is the less sunny one"
            )
        return tuple(told)


def wall_candidates(plan: Plan, look: CoarseLook, reasons: str | Path | None = None) -> Walls:
    """Return the places on walls that no rule stands against, with all that is known of them.

    Parameters
    ----------
    plan : Plan
        Of the run, its land measured and judged.
    look : CoarseLook
        The whole land, seen coarsely.
    reasons : str or path, optional
        What the reasons' bits are read from; left out, the raster in the run's folder.
    """
    buildings = _buildings(plan)
    if reasons is None:
        reasons = plan.store.folder / "excluded.tif"
    places = wall_places(buildings, plan.run.settings.mount.walls.every)
    facts: dict[str, Any] = {"along_walls": len(places), "out": {}}
    places = _left(places, facts, _out_by_shape(plan, buildings, places))
    facts["free"] = len(places)
    most = plan.run.settings.mount.walls.most
    if len(places) > most:
        places = places.those(np.linspace(0, len(places) - 1, most).round().astype(np.intp))
    facts["looked_at"] = len(places)
    places = _left(places, facts, _out_by_cell(plan, places, reasons))
    horizons = _horizons(plan, look, buildings, places)
    turned = np.array(
        [plan.grid.convergence_deg(x, y) for x, y in zip(places.x_m, places.y_m, strict=True)]
    )
    facing = (places.facing_deg + turned) % 360
    rise_m = buildings["height_of_wall_m"].to_numpy(np.float64)[places.building]
    walled = with_own_wall(horizons, places.facing_deg, rise_m - plan.run.settings.mount.height)
    measures = _measures(plan, places, horizons, turned, facing)
    measures |= wall_hours(plan, walled, turned, facing)
    narrow = {name: values.astype(np.float32) for name, values in measures.items()}
    score = plan.judgement.score(narrow).astype(np.float64)
    rules = plan.run.settings.exclusions.rules
    masks = rule_masks(rules, narrow)
    out = {"a measure is missing": np.isnan(score)}
    out |= {rule.words: masks[rule.key] for rule in rules}
    keep = _kept(len(places), facts, out)
    names, materials = _told(plan, buildings, places.building[keep])
    facts["candidates"] = int(keep.size)
    return Walls(
        places.those(keep),
        facing[keep],
        score[keep],
        {name: values[keep] for name, values in measures.items()},
        walled[keep],
        names,
        materials,
        facts,
    )


def cells_of(plan: Plan, places: WallPlaces) -> tuple[Index, Index]:
    """Return the cells in which places lie."""
    rows, cols = plan.grid.position(places.x_m, places.y_m)
    return np.floor(rows + 0.5).astype(np.int64), np.floor(cols + 0.5).astype(np.int64)


def _buildings(plan: Plan) -> geopandas.GeoDataFrame:
    """Return the footprints with their heights as `height_of_wall_m`."""
    source, found = plan.run.settings.inputs.buildings, plan.features().buildings
    if source is None or found is None:
        msg = "a run with walls has buildings"
        raise ValueError(msg)
    heights, known = heights_of(found, height_field=source.height_field, unit=source.height_unit)
    return found.reset_index(drop=True).assign(
        height_of_wall_m=np.where(known, heights, source.default_height)
    )


def _out_by_shape(
    plan: Plan, buildings: geopandas.GeoDataFrame, places: WallPlaces
) -> dict[str, Bool]:
    """Return why places are out by what stands in vectors."""
    settings, features, grid = plan.run.settings, plan.features(), plan.grid
    mount, rules = settings.mount, settings.exclusions
    wall_m = buildings["height_of_wall_m"].to_numpy(np.float64)[places.building]
    rows, cols = grid.position(places.x_m, places.y_m)
    inside = (rows >= 0) & (rows <= grid.rows - 1) & (cols >= 0) & (cols <= grid.cols - 1)
    out = {
        "wall too low": wall_m < mount.height + mount.walls.above,
        "wall shared with the next building": is_walled_up(places, buildings),
        "outside the land": ~inside,
    }
    if rules.clearance is not None:
        out["too close to a wall ahead"] = ~is_open_ahead(places, buildings, rules.clearance)
    if features.boundary is not None:
        out["outside the boundary"] = ~_near(places, features.boundary, 0.0)
    if features.keep_outs is not None:
        areas = features.keep_outs.geom_type.isin(["Polygon", "MultiPolygon"])
        out["in a keep-out area"] = _near(places, features.keep_outs[areas], 0.0) | _near(
            places, features.keep_outs[~areas], grid.cell_m / 2
        )
    if rules.existing_boxes and features.existing_boxes is not None:
        near = _near(places, features.existing_boxes, rules.existing_boxes)
        out["too close to a box already up"] = near
    return out


def _out_by_cell(plan: Plan, places: WallPlaces, reasons: str | Path) -> dict[str, Bool]:
    """Return why places are out by what was found on the land before the wall."""
    rows, cols = cells_of(plan, places)
    bits = read_cells(reasons, rows, cols).astype(np.int64)
    out = {
        reason.words: (bits & reason.bit) > 0 for reason in REASONS if reason.key in _OF_THE_CELL
    }
    ground = read_cells(plan.store.layer("ground_elevation_m"), rows, cols)
    out["no elevation"] = np.isnan(ground)
    clearance = plan.run.settings.exclusions.clearance
    if clearance is not None:
        edge = read_cells(plan.store.layer("canopy_edge_m"), rows, cols)
        out["too close to canopy"] = edge.astype(np.float32) < np.float32(clearance)
    return out


def _horizons(
    plan: Plan, look: CoarseLook, buildings: geopandas.GeoDataFrame, places: WallPlaces
) -> Float64:
    beyond = site_horizons(plan, look, places.x_m, places.y_m, buildings=False)
    if plan.grid.rows * plan.grid.cols > WHOLE_CELLS:
        # Those further away are seen with the land, as it was looked at coarsely.
        buildings = buildings[_within(buildings, places, AROUND_M)]
    edges, whose = wall_edges(buildings)
    height_m = buildings["height_of_wall_m"].to_numpy(np.float64)[whose]
    starts, ends = (_ground_at(plan, edges[:, 2 * end : 2 * end + 2]) for end in (0, 1))
    ground = np.column_stack(
        [np.where(np.isnan(starts), ends, starts), np.where(np.isnan(ends), starts, ends)]
    )
    rows, cols = cells_of(plan, places)
    foot = read_cells(plan.store.layer("ground_elevation_m"), rows, cols)
    height = foot + plan.run.settings.mount.height
    return wall_horizons(places, height, beyond, edges, ground + height_m[:, None])


def _ground_at(plan: Plan, points: Float64) -> Float64:
    """Return the ground at points, NaN beyond the grid. [m]."""
    rows, cols = (np.floor(at + 0.5) for at in plan.grid.position(points[:, 0], points[:, 1]))
    inside = (rows >= 0) & (rows < plan.grid.rows) & (cols >= 0) & (cols < plan.grid.cols)
    cells, back = np.unique(
        np.column_stack([rows, cols])[inside].astype(np.int64), axis=0, return_inverse=True
    )
    found = np.full(len(points), np.nan)
    ground = read_cells(plan.store.layer("ground_elevation_m"), cells[:, 0], cells[:, 1])
    found[inside] = ground[back.ravel()]
    return found


def _measures(
    plan: Plan, places: WallPlaces, horizons: Float64, turned: Float64, facing: Float64
) -> dict[str, Float64]:
    """Return every layer's measure before the walls; the sun is that on their faces."""
    sun = plan.sun
    weights = {
        "direct_sun_h": sun.season_hours,
        "morning_sun_h": np.where(sun.is_morning, sun.season_hours, 0.0),
        "afternoon_sun_h": np.where(sun.is_morning, 0.0, sun.season_hours),
    }
    months = {
        month_layer(month): np.where(sun.month == month, sun.hours, 0.0)
        for month in sun.share_of_season
    }
    together = np.column_stack([*weights.values(), *months.values()])
    hours = np.array(
        [
            face_is_lit(sun, profile, convergence, [looks])[0] @ together
            for profile, convergence, looks in zip(horizons, turned, facing, strict=True)
        ]
    ).reshape(-1, together.shape[1])
    measures = dict(zip((*weights, *months), hours.T, strict=True))
    measures["darkest_month_sun_h"] = hours[:, len(weights) :].min(axis=1)
    rows, cols = cells_of(plan, places)
    for name in layer_names(plan):
        if name not in measures and name not in plan.heat_layers:
            # A box keeps clear of canopy; the wall that it hangs on is no obstacle.
            layer = "canopy_edge_m" if name == "clearance_m" else name
            measures[name] = read_cells(plan.store.layer(layer), rows, cols)
    return measures


def _told(
    plan: Plan, buildings: geopandas.GeoDataFrame, rows: NDArray[np.intp]
) -> tuple[NDArray[np.object_], NDArray[np.object_]]:
    """Return what buildings are called and made of."""
    source = plan.run.settings.inputs.buildings
    counted = np.array([f"building {row + 1}" for row in rows], dtype=object)
    none = np.full(rows.size, None, dtype=object)
    found = []
    for field, otherwise in ((source and source.id_field, counted),
                             (source and source.material_field, none)):  # fmt: skip
        if field is None:
            found.append(otherwise)
            continue
        column = buildings[field].iloc[rows]
        texts = column.astype(str).to_numpy(dtype=object)
        found.append(np.where(column.isna().to_numpy(), otherwise, texts))
    return found[0], found[1]


def _near(places: WallPlaces, features: geopandas.GeoDataFrame, within_m: float) -> Bool:
    tree = shapely.STRtree(features.geometry.to_numpy())
    near = np.zeros(len(places), bool)
    near[tree.query(places.points, predicate="dwithin", distance=within_m)[0]] = True
    return near


def _within(buildings: geopandas.GeoDataFrame, places: WallPlaces, within_m: float) -> Bool:
    tree = shapely.STRtree(places.points)
    near = np.zeros(len(buildings), bool)
    shapes = buildings.geometry.to_numpy()
    near[tree.query(shapes, predicate="dwithin", distance=within_m)[0]] = True
    return near


def _left(places: WallPlaces, facts: dict[str, Any], out: dict[str, Bool]) -> WallPlaces:
    return places.those(_kept(len(places), facts, out))


def _kept(count: int, facts: dict[str, Any], out: dict[str, Bool]) -> NDArray[np.intp]:
    """Return which places are left, and note how many each reason stands against."""
    facts["out"] |= {words: int(mask.sum()) for words, mask in out.items()}
    none = np.zeros((0, count), bool)
    return np.flatnonzero(~np.vstack([none, *out.values()]).any(axis=0))
