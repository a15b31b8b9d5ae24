"""How warm boxes would get at each chosen site: a screening estimate, not a measurement."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from typing import Any

import numpy as np
import pandas as pd

from suitability.box.body import Assumptions
from suitability.box.design import BoxDesign, Colour, MountKind
from suitability.box.faces import ALBEDO
from suitability.box.findings import SPREAD, BoxHeat, measures
from suitability.box.heat import heat_at, heat_model
from suitability.config.box_heat import BatsWithin
from suitability.config.settings import Season
from suitability.grid import Float32, Float64
from suitability.inputs.weather import Weather

# The table has a row a box that is compared, some 300 a site.
MOST_LISTED = 200


def heat_sites(
    weather: Weather,
    season: Season,
    designs: Mapping[MountKind, Sequence[BoxDesign]],
    colours: Sequence[Colour],
    mounts: Sequence[MountKind],
    horizons_deg: Float32,
    turned_deg: Float64,
    *,
    bats: BatsWithin | None = None,
    tell: Callable[[float], None] | None = None,
) -> list[BoxHeat]:
    """Return how warm boxes would get at each site.

    Parameters
    ----------
    weather : Weather
        A year.
    season : Season
        Its part that counts.
    designs : mapping of {"pole", "wall"} to sequence of BoxDesign
        Boxes that are compared, by what they hang on.
    colours : sequence of Colour
        Colours that are compared.
    mounts : sequence of {"pole", "wall"}
        By site: what its box hangs on.
    horizons_deg : numpy.ndarray
        (n, m) altitude of the sites' horizons, clockwise from grid north; that of a wall's site has
        its wall in it. [degrees]
    turned_deg : numpy.ndarray
        (n,) meridian convergence at the sites. [degrees]
    bats : BatsWithin, optional
        Whose heat warms each box; left out, boxes are empty.
    tell : callable, optional
        Told the share that is done.
    """
    found: dict[int, BoxHeat] = {}
    for mount in sorted(set(mounts)):
        those = np.flatnonzero([each == mount for each in mounts])
        model = heat_model(
            weather,
            designs=designs[mount],
            colours=colours,
            season=(season.start, season.end),
            on_wall=mount == "wall",
            assumed=_assumed(bats),
        )
        heats = heat_at(
            model, horizons_deg[those].astype(np.float64), turned_deg[those],
            tell=None if tell is None else _part(tell, len(found), those.size, len(mounts)),
        )  # fmt: skip
        found |= dict(zip(those.tolist(), heats, strict=True))
    return [found[site] for site in range(len(mounts))]


def heat_record(weather: Weather, bats: BatsWithin | None = None) -> dict[str, Any]:
    """Return what a run's record tells of the heat of boxes: whence, and what was assumed."""
    return {
        "what": "a screening estimate by a model of the box, not a measurement",
        "station": f"{weather.form}, {weather.name}",
        "assumed": asdict(_assumed(bats)),
        "bats_within": None if bats is None else bats.model_dump(),
        "on_walls": "the back of a box takes no sun and lets no heat through; the wall's own "
        "warmth, as of stone or a heated house, is left out",
        "albedo": ALBEDO,
        "sites_listed_at_most": MOST_LISTED,
    }


def _assumed(bats: BatsWithin | None) -> Assumptions:
    return Assumptions(bats_w=0.0 if bats is None else bats.heat_w)


def heat_table(ranks: Sequence[int], heats: Sequence[BoxHeat]) -> pd.DataFrame:
    """Return a row a site, facing, colour and box, a column a measure and assumption.

    Parameters
    ----------
    ranks : sequence of int
        Of the sites.
    heats : sequence of BoxHeat
        Of the same sites.
    """
    parts = [_rows(rank, heat) for rank, heat in zip(ranks, heats, strict=True)]
    return pd.concat(parts, ignore_index=True)


def _rows(rank: int, heat: BoxHeat) -> pd.DataFrame:
    facing, colour, design = np.meshgrid(
        heat.facing_deg, np.array(heat.colours), np.array(heat.designs), indexing="ij"
    )
    columns = {
        "rank": np.full(facing.size, rank),
        "facing_deg": facing.ravel(),
        "colour": colour.ravel(),
        "box": design.ravel(),
    }
    for name in measures():
        stem, _, unit = name.rpartition("_")
        has_unit = unit in {"h", "c"}
        values = getattr(heat, name)
        for place, case in enumerate(SPREAD):
            column = f"{stem}_{case}_{unit}" if has_unit else f"{name}_{case}"
            columns[column] = values[..., place].ravel()
    return pd.DataFrame(columns)


def _part(tell: Callable[[float], None], done: int, count: int, of: int) -> Callable[[float], None]:
    return lambda share: tell((done + share * count) / of)
