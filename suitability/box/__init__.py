"""What to put up: boxes, their colours, and how warm they get."""

from suitability.box.design import BoxDesign, Colour
from suitability.box.findings import SPREAD, BoxHeat

__all__ = ["SPREAD", "BoxDesign", "BoxHeat", "Colour"]
