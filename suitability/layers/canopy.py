"""Distance to the canopy edge, and the open space around a box."""

from __future__ import annotations

import numpy as np

from suitability.layers.distance import Float32, distance_to, signed_distance_to_edge
from suitability.layers.land import Land

# Bats follow edges; this far from one, the default curve has come to its end.
FAR_EDGE_M = 300.0


def canopy_edge_m(land: Land, reach_m: float) -> Float32:
    """Return the distance to the canopy edge, (rows, cols), negative inside the canopy. [m].

    Parameters
    ----------
    land : Land
        The land, known for `reach_m` around the cells that count.
    reach_m : float
        The greatest distance that is told, of either sign; land further from any edge, or without
        one, gets it. [m]
    """
    distance = signed_distance_to_edge(land.trees, land.grid.cell_m)
    np.clip(distance, -reach_m, reach_m, out=distance)
    distance[np.isnan(land.canopy)] = np.nan
    return distance


def clearance_m(land: Land, canopy_edge: Float32, reach_m: float) -> Float32:
    """Return the distance to the nearest canopy or building, (rows, cols), 0 inside them. [m].

    Parameters
    ----------
    land : Land
        The land, known for `reach_m` around the cells that count.
    canopy_edge : numpy.ndarray
        What `canopy_edge_m` gave.
    reach_m : float
        The greatest distance that is told. [m]
    """
    half = np.float32(land.grid.cell_m / 2)
    to_building = distance_to(land.buildings > 0, land.grid.cell_m) - half
    space: Float32 = np.minimum(canopy_edge, to_building)
    np.clip(space, 0, reach_m, out=space)
    return space
