"""What to put up: boxes, their colours, and how warm they get."""

from suitability.box.catalogue import Catalogue, load_catalogue
from suitability.box.design import BoxDesign, Colour, Ground, SpeciesGroup
from suitability.box.findings import SPREAD, BoxHeat

__all__ = [
    "SPREAD",
    "BoxDesign",
    "BoxHeat",
    "Catalogue",
    "Colour",
    "Ground",
    "SpeciesGroup",
    "load_catalogue",
]
