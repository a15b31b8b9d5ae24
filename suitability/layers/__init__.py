"""What is measured on the land: each layer is one function of arrays, (rows, cols)."""

from suitability.layers.canopy import canopy_edge_m, clearance_m
from suitability.layers.distance import distance_to, signed_distance_to_edge
from suitability.layers.land import Land
from suitability.layers.terrain import slope_deg
from suitability.layers.water import (
    Water,
    bed_and_bank,
    exact_water_distance_m,
    water_distance_m,
)

__all__ = [
    "Land",
    "Water",
    "bed_and_bank",
    "canopy_edge_m",
    "clearance_m",
    "distance_to",
    "exact_water_distance_m",
    "signed_distance_to_edge",
    "slope_deg",
    "water_distance_m",
]
