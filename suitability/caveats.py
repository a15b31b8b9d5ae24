"""What a reader of the results has to know: land beyond the edge, too few sites, odd settings."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import geopandas as gpd
import numpy as np
from numpy.typing import NDArray

from suitability.config import RunSettings
from suitability.decide import reason_bits
from suitability.grid import Float32, Grid
from suitability.inputs.gather import Gathered, gather
from suitability.layers import Land, distance_to
from suitability.sun import SunPath, margin_needed_m, sun_positions

Bits = NDArray[np.uint16]

# Cells along a side when the land is looked at before a run.
COARSE_CELLS = 400

# Grid north turns from one side of a wide grid to the other; the sun is placed by its middle.
MAX_TURN_DEG = 0.5


def land_of(settings: RunSettings, grid: Grid, gathered: Gathered) -> Land:
    """Return the land as the layers see it."""
    return Land(
        grid=grid,
        ground=gathered.ground,
        canopy=gathered.canopy,
        buildings=gathered.building_height,
        water=gathered.water,
        water_features=gathered.water_features,
        mount_height_m=settings.mount.height,
    )


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


def unknown_edge(land: Land, sun: SunPath, bits: Bits) -> dict[str, float]:
    """Return how much of the candidate land could be shaded by land that is not known."""
    candidates = bits == 0
    needed = margin_needed_m(land.surface, land.receiver, sun)[candidates]
    beyond = np.pad(np.isnan(land.ground), 1, constant_values=True)
    known = distance_to(beyond, land.grid.cell_m)[1:-1, 1:-1][candidates]
    return {
        "share_of_candidates": float(np.mean(needed > known)),
        "margin_needed_m": float(needed.max()),
        "lowest_sun_deg": float(sun.altitude_deg.min()) if len(sun) else float("nan"),
    }


def caveats(
    settings: RunSettings,
    grid: Grid,
    sites: gpd.GeoDataFrame,
    facts: dict[str, Any],
    score: Float32,
) -> Iterator[str]:
    """Yield what a reader of the results has to know, beside what the inputs say."""
    wanted = settings.sites
    if len(sites) < wanted.count:
        good = f" and scores {wanted.min_score:g} or more" if wanted.min_score > 0 else ""
        yield (
            f"{len(sites)} of {wanted.count} sites wanted were found: no other land is left that "
            f"lies {wanted.spacing:g} m or more from them{good}"
        )
    clearance = settings.exclusions.clearance
    if clearance is not None and grid.cell_m > clearance:
        yield (
            f"cells of {grid.cell_m:g} m are too wide to show {clearance:g} m of clearance: look "
            "for branches and walls at each site"
        )
    edge = facts["unknown_edge"]
    if edge["share_of_candidates"] > 0:
        yield (
            f"{edge['share_of_candidates']:.0%} of the candidate land could be shaded by land "
            f"beyond the elevation data while the sun is low; to rule it out, give elevation for "
            f"{edge['margin_needed_m']:.0f} m around"
        )
    west, _, east, _ = grid.bounds
    middle = grid.centre[1]
    turn = abs(grid.convergence_deg(east, middle) - grid.convergence_deg(west, middle)) / 2
    if turn > MAX_TURN_DEG:
        yield f"grid north turns by {turn:.1f}° from the middle of the grid to its sides"
    if float(np.nanmax(score)) <= 0:
        yield "every candidate cell scores 0: check the value functions against the layers"


def expected_sun(settings: RunSettings, grid: Grid) -> Iterator[str]:
    """Yield what a run would cast shadows with, in words, without casting any."""
    sun = season_sun(settings, grid, 0.0)
    yield sun.rule
    yield f"{len(sun):,} positions, {settings.season.start} to {settings.season.end}"
    if len(sun):
        hours = float(sun.season_hours.sum())
        lowest = float(sun.altitude_deg.min())
        yield f"{hours:.1f} h a day on open level land; the lowest counted sun at {lowest:.1f}°"
        yield (
            f"something 10 m above a box shades it from up to {10 / np.tan(np.radians(lowest)):.0f}"
            " m away"
        )
    turn = grid.convergence_deg()
    yield f"true north lies {abs(turn):.2f}° {'west' if turn > 0 else 'east'} of grid north"


def expected_edge(settings: RunSettings, grid: Grid, locate: Callable[[str], str]) -> str:
    """Say how much land could be shaded by land that is not known, from a coarse look at it.

    Parameters
    ----------
    settings : RunSettings
        The run.
    grid : Grid
        Its grid.
    locate : callable
        Gives the line of the run file for a key, for errors.
    """
    step = max(1, round(max(grid.shape) / COARSE_CELLS))
    coarse = replace(
        grid,
        cell_m=grid.cell_m * step,
        rows=-(-grid.rows // step),
        cols=-(-grid.cols // step),
    )
    gathered = gather(settings, coarse, locate)
    land = land_of(settings, coarse, gathered)
    inside = np.ones(coarse.shape, bool) if gathered.boundary is None else gathered.boundary
    bits = reason_bits({"outside": ~(inside & np.isfinite(land.receiver))}, coarse.shape)
    if not (bits == 0).any():
        return "no open land was seen inside the boundary"
    sun = season_sun(settings, grid, float(np.nanmean(land.ground)))
    edge = unknown_edge(land, sun, bits)
    return (
        f"about {edge['share_of_candidates']:.0%} of the open land could be shaded by land beyond "
        f"the elevation data while the sun is low (up to {edge['margin_needed_m']:.0f} m away)"
    )
