"""Where boxes that are due to move may go: free sites of a run, and what is different there."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import geopandas
import numpy as np
import pandas as pd
import shapely

from suitability.finished import FinishedRun
from suitability.grid import WGS84, Float64
from suitability.outputs.heat_table import HEAT
from suitability.quantities import Quantities

# A handheld may be off by some metres on each of two days.
HANDHELD_M = 20.0

# What is compared, besides a run's layers of heat: a column of sites, and what it is called.
SUN, WATER = ("direct_sun_h", "direct sun"), ("water_distance_m", "to water")
WARM, HOT = (
    ("comfortable_mid_h", "warmth for bats, 26.7 to 37.8 °C, in a season"),
    ("over_40_mid_h", "too hot, above 40 °C, in a season"),
)
COMPARED = (SUN, WATER, WARM, HOT)


@dataclass(frozen=True)
class Proposal:
    """A site that a box may move to.

    Parameters
    ----------
    box, site : str
        Which box, and the site's name.
    rank : int
        Of the site.
    lon_deg, lat_deg : float
        Where it is. [degrees]
    measures : dict
        By what is compared: what it is where the box stands, and there; NaN where not known.
    titles : dict
        By the same: what it is called.
    """

    box: str
    site: str
    rank: int
    lon_deg: float
    lat_deg: float
    measures: dict[str, tuple[float, float]]
    titles: dict[str, str]


def propose_moves(
    run: FinishedRun, standing: pd.DataFrame, due: pd.DataFrame
) -> tuple[Proposal, ...]:
    """Give each box that is due to move a free site, the best to the one that waits longest.

    A site is free if all boxes that are up, whichever they are, stand at least as far from it as
    the run wants its sites apart, less what handhelds may be off.

    Parameters
    ----------
    run : FinishedRun
        Whose sites.
    standing : pandas.DataFrame
        Every place of a box that is up, as `review` returns them.
    due : pandas.DataFrame
        Those of boxes that are to move.

    Returns
    -------
    tuple of Proposal
        Fewer than boxes if there are fewer free sites.
    """
    places = _in_grid(run, standing)
    free = free_sites(run, standing)
    longest_first = due.sort_values(["empty_seasons", "put_up"], ascending=[False, True])
    heat, titles = _heat(run), compared_by(run)
    at = dict(zip(standing["placement"], places, strict=True))
    return tuple(
        Proposal(
            box["box"],
            site["site"],
            int(site["rank"]),
            float(site["lon_deg"]),
            float(site["lat_deg"]),
            _compared(run, box, at[box["placement"]], site, heat),
            titles,
        )
        for box, site in zip(
            longest_first.to_dict("records"),
            free.sort_values("rank").to_dict("records"),
            strict=False,
        )
    )


def compared_by(run: FinishedRun | None) -> dict[str, str]:
    """Return what places are compared by, with what it is called."""
    layers = () if run is None else _heat_layers(run)
    return dict(COMPARED) | {name: run.layer_title(name) for name in layers if run is not None}


def _heat_layers(run: FinishedRun) -> tuple[str, ...]:
    return tuple(run.record.get("heat_layers") or ())


def free_sites(run: FinishedRun, standing: pd.DataFrame) -> geopandas.GeoDataFrame:
    """Return a run's sites that are away from boxes that are up; see `propose_moves`."""
    spacing_m = float(run.settings["sites"]["spacing"])
    return run.sites[_is_free(run.sites, _in_grid(run, standing), spacing_m)]


def in_words(proposal: Proposal, quantities: Quantities) -> tuple[str, ...]:
    """Say in a line each what is different at a proposed site.

    Heat is told of both places or not at all; alone it says nothing of a difference.
    """
    return tuple(
        f"{title}: {_told(name, now, quantities)} now, {_told(name, there, quantities)} there"
        for name, title in proposal.titles.items()
        for now, there in (proposal.measures[name],)
        if not math.isnan(there) and (name in (SUN[0], WATER[0]) or not math.isnan(now))
    )


def heat_is_told(proposals: Iterable[Proposal]) -> bool:
    """Tell whether any proposal compares the heat of two places."""
    return any(
        not math.isnan(sum(pair))
        for proposal in proposals
        for name, pair in proposal.measures.items()
        if name not in (SUN[0], WATER[0])
    )


def _told(name: str, value: float, quantities: Quantities) -> str:
    if math.isnan(value):
        return "not known"
    if name == WATER[0]:
        return quantities.length(value)
    return f"{value:.1f} h a day" if name == SUN[0] else f"{value:,.0f} h"


def _in_grid(run: FinishedRun, table: pd.DataFrame) -> Any:
    points = geopandas.points_from_xy(table["lon_deg"], table["lat_deg"], crs=WGS84)
    return points.to_crs(run.grid.crs)


def _is_free(sites: geopandas.GeoDataFrame, places: Any, spacing_m: float) -> Any:
    if not len(places):
        return np.ones(len(sites), np.bool_)
    clear_m = max(spacing_m - HANDHELD_M, HANDHELD_M)
    tree = shapely.STRtree(np.asarray(places))
    taken, _ = tree.query(sites.geometry.to_numpy(), predicate="dwithin", distance=clear_m)
    return ~np.isin(np.arange(len(sites)), taken)


def _compared(
    run: FinishedRun, box: dict[Any, Any], here: Any, site: dict[Any, Any], heat: pd.DataFrame
) -> dict[str, tuple[float, float]]:
    layers = (SUN[0], WATER[0], *_heat_layers(run))
    there = {name: float(site.get(name, np.nan)) for name in layers}
    now = {name: _measured(run, box, here, name) for name in layers}
    stood = _site_near(run.sites, here)
    warm_now = _heat_of(heat, stood, box["facing_deg"], box)
    warm_there = _heat_of(heat, int(site["rank"]), site.get("facing_deg", np.nan), box)
    return {
        name: (
            now.get(name, warm_now.get(name, np.nan)),
            there.get(name, warm_there.get(name, np.nan)),
        )
        for name in (*dict(COMPARED), *_heat_layers(run))
    }


def _measured(run: FinishedRun, box: dict[Any, Any], here: Any, layer: str) -> float:
    """Return what the register has of a place, else what the run measured on the ground there."""
    kept = float(box.get(layer, np.nan))
    if not np.isnan(kept) or layer not in run.layers or box["kind"] == "wall":
        return kept
    x_m, y_m = np.array([here.x]), np.array([here.y])
    return float(run.measures(layer, x_m, y_m)[0])


def _site_near(sites: geopandas.GeoDataFrame, here: Any) -> int | None:
    distance_m = sites.distance(here)
    nearest = distance_m.idxmin()
    return int(sites["rank"][nearest]) if distance_m[nearest] <= HANDHELD_M else None


def _heat(run: FinishedRun) -> pd.DataFrame:
    path = run.folder / HEAT
    columns = ["rank", "facing_deg", "colour", "box", WARM[0], HOT[0]]
    if not path.exists():
        return pd.DataFrame(columns=columns)
    return pd.read_csv(path, usecols=columns)


def _heat_of(
    heat: pd.DataFrame, rank: int | None, facing_deg: float, box: dict[Any, Any]
) -> dict[str, float]:
    """Return how warm this box would get at a site, by the table's nearest facing."""
    rows = heat[
        (heat["rank"] == rank) & (heat["colour"] == box["colour"]) & (heat["box"] == box["design"])
    ]
    if rank is None or rows.empty or np.isnan(facing_deg):
        return {}
    off: Float64 = np.abs((rows["facing_deg"].to_numpy(np.float64) - facing_deg + 180) % 360 - 180)
    row = rows.iloc[int(off.argmin())]
    return {name: float(row[name]) for name, _ in (WARM, HOT)}
