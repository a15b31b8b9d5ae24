"""Where the sun stands, and where its light falls."""

from suitability.sun.compiling import compile_kernels
from suitability.sun.day import days_shown, sun_on
from suitability.sun.far import FarLand
from suitability.sun.hillshade import hillshade
from suitability.sun.points import face_is_lit, horizon, hours_by_facing, hours_by_month, is_lit
from suitability.sun.positions import SunPath, clear_sky_dni, sun_positions
from suitability.sun.season import SeasonHours, margin_needed_m, season_hours
from suitability.sun.shadows import Scene, lit_hours, sweep_hours

__all__ = [
    "FarLand",
    "Scene",
    "SeasonHours",
    "SunPath",
    "clear_sky_dni",
    "compile_kernels",
    "days_shown",
    "face_is_lit",
    "hillshade",
    "horizon",
    "hours_by_facing",
    "hours_by_month",
    "is_lit",
    "lit_hours",
    "margin_needed_m",
    "season_hours",
    "sun_on",
    "sun_positions",
    "sweep_hours",
]
