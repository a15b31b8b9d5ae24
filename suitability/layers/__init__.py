"""What is measured on the land: each layer is one function of arrays, (rows, cols)."""

from suitability.layers.canopy import canopy_edge_m, clearance_m
from suitability.layers.cover import Cover, cover_share
from suitability.layers.distance import distance_to, distance_to_features, signed_distance_to_edge
from suitability.layers.focal import above_mean_within, density_within, share_within
from suitability.layers.land import Land
from suitability.layers.terrain import aspect_deg, slope_deg
from suitability.layers.water import bed_and_bank, exact_water_distance_m, water_distance_m

__all__ = [
    "Cover",
    "Land",
    "above_mean_within",
    "aspect_deg",
    "bed_and_bank",
    "canopy_edge_m",
    "clearance_m",
    "cover_share",
    "density_within",
    "distance_to",
    "distance_to_features",
    "exact_water_distance_m",
    "share_within",
    "signed_distance_to_edge",
    "slope_deg",
    "water_distance_m",
]
