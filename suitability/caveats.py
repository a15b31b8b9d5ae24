"""What a reader of the results has to know: land beyond the edge, too few sites, odd settings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from zipfile import BadZipFile

import numpy as np
from numpy.typing import NDArray

from suitability.config import RunSettings
from suitability.config.sites import SiteSettings
from suitability.grid import Float64, Grid
from suitability.inputs.burn import burn
from suitability.inputs.gather import Features, Rasters, gather_rasters
from suitability.inputs.places import Locate
from suitability.layers import Land, distance_to
from suitability.outputs.atomic import written
from suitability.quantities import Quantities
from suitability.sun import SunPath, margin_needed_m, sun_positions

# Cells along a side when the land is looked at before a run.
COARSE_CELLS = 400

# A tree of 20 m shades half of this or more through most of a summer's day.
_TREE_SHADOW_M = 20.0

_KEPT = ("ground", "canopy", "buildings")

# Grid north turns from one side of a wide grid to the other. Up to this much the sun is placed by
# the middle of the grid; on wider land each tile has its own.
MAX_TURN_DEG = 0.5


def land_of(settings: RunSettings, grid: Grid, rasters: Rasters) -> Land:
    """Return the land as the layers see it."""
    return Land(
        grid=grid,
        ground=rasters.ground,
        canopy=rasters.canopy,
        buildings=rasters.buildings,
        mount_height_m=settings.mount.height,
    )


@dataclass(frozen=True)
class CoarseLook:
    """The whole land in a few cells, seen before a run.

    Parameters
    ----------
    land : Land
        On a grid of `COARSE_CELLS` cells a side or less.
    is_open : numpy.ndarray
        (rows, cols) bool: inside the boundary, known, and not under canopy or a building.
    """

    land: Land
    is_open: NDArray[np.bool_]

    @property
    def ground_elevation_m(self) -> float:
        """Mean elevation of the land, 0 where none is known. [m]."""
        known = self.land.ground[np.isfinite(self.land.ground)]
        return float(known.mean(dtype=np.float64)) if known.size else 0.0


def look_at(settings: RunSettings, grid: Grid, locate: Locate, features: Features) -> CoarseLook:
    """Return the whole land, seen coarsely.

    Parameters
    ----------
    settings : RunSettings
        The run.
    grid : Grid
        Its grid.
    locate : callable
        Gives the line of the run file for a key, for errors.
    features : Features
        Its vectors.
    """
    coarse = _coarse(grid)
    land = land_of(settings, coarse, gather_rasters(settings, coarse, locate, features))
    return _look(land, features)


def keep_look(path: Path, look: CoarseLook) -> None:
    """Keep the coarse land in a file, for later runs of the same land."""
    with written(path, durable=False) as temporary:
        np.savez(temporary, **{name: getattr(look.land, name) for name in _KEPT})


def kept_look(
    path: Path, settings: RunSettings, grid: Grid, features: Features
) -> CoarseLook | None:
    """Return the coarse look at land that `keep_look` kept; None if there is none, or no whole one.

    What the land is made of must be the same; boundary and mount may be others.
    """
    coarse = _coarse(grid)
    try:
        with path.open("rb") as file, np.load(file, allow_pickle=False) as kept:
            ground, canopy, buildings = (kept[name] for name in _KEPT)
    except (OSError, ValueError, KeyError, EOFError, BadZipFile):
        return None
    if any(part.shape != coarse.shape for part in (ground, canopy, buildings)):
        return None
    land = Land(
        grid=coarse, ground=ground, canopy=canopy, buildings=buildings,
        mount_height_m=settings.mount.height,
    )  # fmt: skip
    return _look(land, features)


def _coarse(grid: Grid) -> Grid:
    return grid.coarser(max(1, round(max(grid.shape) / COARSE_CELLS)))


def _look(land: Land, features: Features) -> CoarseLook:
    is_open = np.isfinite(land.receiver)
    if features.boundary is not None:
        is_open &= burn(features.boundary, land.grid, all_touched=False)
    return CoarseLook(land, is_open)


def season_sun(settings: RunSettings, grid: Grid, ground_elevation_m: float) -> SunPath:
    """Return the season's sun at the middle of the grid."""
    lon, lat = grid.lonlat(*grid.centre)
    season, rule = settings.season, settings.sun
    return sun_positions(
        float(lat),
        float(lon),
        start=season.start,
        end=season.end,
        step_min=season.step,
        every_days=season.every_days,
        year=season.year,
        ground_elevation_m=ground_elevation_m,
        rule=rule.rule,
        min_irradiance_w_m2=rule.min_irradiance,
        min_altitude_deg=rule.min_altitude,
        linke_turbidity=rule.linke_turbidity,
    )


def unknown_edge(look: CoarseLook, sun: SunPath) -> dict[str, float]:
    """Return how much of the open land could be shaded by land that is not known."""
    if not look.is_open.any() or not len(sun):
        return {"share_of_open_land": 0.0, "margin_needed_m": 0.0}
    land = look.land
    needed = margin_needed_m(land.surface, land.receiver, sun)[look.is_open]
    beyond = np.pad(np.isnan(land.ground), 1, constant_values=True)
    known = distance_to(beyond, land.grid.cell_m)[1:-1, 1:-1][look.is_open]
    return {
        "share_of_open_land": float(np.mean(needed > known)),
        "margin_needed_m": float(needed.max()),
    }


def turn_deg(grid: Grid) -> float:
    """Return by how much grid north turns from the middle of a grid to its sides. [degrees]."""
    west, _, east, _ = grid.bounds
    middle = grid.centre[1]
    return abs(grid.convergence_deg(east, middle) - grid.convergence_deg(west, middle)) / 2


def caveats(
    settings: RunSettings,
    grid: Grid,
    scores: Float64,
    edge: dict[str, float],
) -> Iterator[str]:
    """Yield what a reader of the results has to know, beside what the inputs say.

    Parameters
    ----------
    settings : RunSettings
        The run.
    grid : Grid
        Its grid.
    scores : numpy.ndarray
        (n,) of the sites, or of the groups of boxes, best first.
    edge : dict
        What `unknown_edge` found.
    """
    wanted, tell = settings.sites, settings.quantities
    units = "sites" if wanted.groups is None else "groups of boxes"
    if scores.size < wanted.count:
        why = _why_fewer(wanted, tell)
        yield f"{scores.size} of {wanted.count} {units} wanted were found: {why}"
    clearance = settings.exclusions.clearance
    if clearance is not None and grid.cell_m > clearance:
        yield (
            f"cells of {tell.stated(grid.cell_m)} are too wide to show {tell.stated(clearance)} of "
            "clearance: look for branches and walls at each site"
        )
    if grid.cell_m > _TREE_SHADOW_M:
        yield (
            f"cells of {tell.stated(grid.cell_m)} are too wide for the shadows of single trees and "
            "of edges: direct sun near canopy is an upper bound"
        )
    if edge["share_of_open_land"] > 0:
        yield (
            f"about {edge['share_of_open_land']:.0%} of the open land could be shaded by land "
            f"beyond the elevation data while the sun is low; to rule it out, give elevation for "
            f"{tell.length(edge['margin_needed_m'])} around"
        )
    if scores.size and (equal := int((scores == scores[0]).sum())) > 1:
        yield (
            f"the best {equal} {units} score the same: their order tells only how good the land "
            "around them is"
        )
    if scores.size and scores[0] <= 0:
        yield "every candidate cell scores 0: check the value functions against the layers"


def _why_fewer(wanted: SiteSettings, tell: Quantities) -> str:
    good = f" and scores {wanted.min_score:g} or more" if wanted.min_score > 0 else ""
    spacing = tell.stated(wanted.spacing)
    if wanted.groups is None:
        return f"no other land is left that lies {spacing} or more from them{good}"
    return (
        "nowhere else do places for every box lie within "
        f"{tell.stated(wanted.groups.within)} of each other and {spacing} or more from "
        f"them{good}"
    )


def expected_sun(sun: SunPath, settings: RunSettings, grid: Grid) -> Iterator[str]:
    """Yield what a run would cast shadows with, in words, without casting any."""
    yield sun.rule
    yield f"{len(sun):,} positions, {settings.season.start} to {settings.season.end}"
    if len(sun):
        hours = float(sun.season_hours.sum())
        lowest = float(sun.altitude_deg.min())
        yield f"{hours:.1f} h a day on open level land; the lowest counted sun at {lowest:.1f}°"
        tall_m, tell = 10.0, settings.quantities
        away = tell.length(tall_m / np.tan(np.radians(lowest)))
        yield f"something {tell.height(tall_m)} above a box shades it from up to {away} away"
    turn = grid.convergence_deg()
    yield f"true north lies {abs(turn):.2f}° {'west' if turn > 0 else 'east'} of grid north"


def expected_edge(look: CoarseLook, sun: SunPath, tell: Quantities) -> str:
    """Say how much land could be shaded by land that is not known."""
    if not look.is_open.any():
        return "no open land was seen inside the boundary"
    edge = unknown_edge(look, sun)
    return (
        f"about {edge['share_of_open_land']:.0%} of the open land could be shaded by land beyond "
        f"the elevation data while the sun is low (up to {tell.length(edge['margin_needed_m'])} "
        "away)"
    )
