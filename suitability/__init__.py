"""Where on a piece of land bat boxes go: sun, water, canopy edge, terrain, ranked sites."""

from importlib.metadata import version

__version__ = version("bat-box-suitability")
