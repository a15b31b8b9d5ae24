"""Distance to the canopy edge, and the open space around a box."""

from __future__ import annotations

import numpy as np

from suitability.layers.distance import Float32, distance_to, signed_distance_to_edge
from suitability.layers.land import Land


def canopy_edge_m(land: Land) -> Float32:
    """Return the distance to the canopy edge, (rows, cols), negative inside the canopy. [m].

    Land without a tree (or without an opening) has no edge; its cells get the grid's diagonal.
    """
    distance = signed_distance_to_edge(land.trees, land.grid.cell_m)
    far = np.float32(np.hypot(*land.grid.shape) * land.grid.cell_m)
    distance = np.clip(distance, -far, far)
    distance[np.isnan(land.canopy)] = np.nan
    return distance


def clearance_m(land: Land, canopy_edge: Float32) -> Float32:
    """Return the distance to the nearest canopy or building, (rows, cols), 0 inside them. [m].

    Parameters
    ----------
    land : Land
        The land.
    canopy_edge : numpy.ndarray
        What `canopy_edge_m` gave.
    """
    half = np.float32(land.grid.cell_m / 2)
    to_building = distance_to(land.buildings > 0, land.grid.cell_m) - half
    space: Float32 = np.minimum(canopy_edge, to_building)
    space[space < 0] = 0
    return space
