"""Overhead lines near the sites: which of them a pole could reach as it is raised, or falls."""

from __future__ import annotations

from collections.abc import Iterator

import geopandas as gpd
import numpy as np

from suitability.quantities import Quantities

# OSHA 29 CFR 1926: people, ladders and poles keep 10 ft from lines of up to 50 kV. [m]
KEEP_OFF_M = 3.048
# What stands above the height that the box hangs at: the box, and the post's end. [m]
ABOVE_BOX_M = 1.0


def wires_in_reach(
    sites: gpd.GeoDataFrame,
    wires: gpd.GeoDataFrame | None,
    mount_height_m: float,
    quantities: Quantities,
) -> Iterator[str]:
    """Yield a warning for each site from which a pole could come too near to an overhead line.

    A pole of the mount height and a metre may fall in every direction, and keeps 10 ft off.

    Parameters
    ----------
    sites : geopandas.GeoDataFrame
        The sites.
    wires : geopandas.GeoDataFrame or None
        Overhead lines, in the same CRS.
    mount_height_m : float
        Of the boxes above the ground. [m]
    quantities : Quantities
        How lengths are told.
    """
    if wires is None or wires.empty:
        return
    reach_m = mount_height_m + ABOVE_BOX_M + KEEP_OFF_M
    every = wires.geometry.union_all()
    away_m = sites.geometry.distance(every).to_numpy()
    tell, keep_off = quantities.axis("m"), quantities.retold("10 ft (3 m)")
    for at in np.flatnonzero(away_m < reach_m):
        yield (
            f"site {sites['rank'].iloc[at]}: an overhead line is {tell.tell(away_m[at], 1)} away, "
            f"and a pole wants {tell.tell(reach_m, 1)} to fall and keep {keep_off} off it: ask the "
            "utility before anything is raised, or leave the site"
        )
