"""What a user gives for a first run file, and what is told of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from suitability.config.sources import VerticalUnit
from suitability.quantities import Units


@dataclass(frozen=True)
class Given:
    """The files that a user has, and what only the user can know of them.

    Parameters
    ----------
    elevation, land_cover : path
        The two that are needed.
    streams : tuple of path
        Lines and polygons of water.
    canopy_height, buildings, boundary, weather : path, optional
        As the run file names them.
    keep_outs, existing_boxes, wires : tuple of path
        As the run file names them.
    elevation_unit, canopy_unit, building_unit : {"m", "ft", "us_survey_ft"}, optional
        Units of heights that their files do not state.
    legend : str, optional
        Of the land cover.
    title : str, optional
        What land it is.
    units : {"metric", "us"}
        What people read.
    """

    elevation: str
    land_cover: str
    streams: tuple[str, ...] = ()
    canopy_height: str | None = None
    buildings: str | None = None
    boundary: str | None = None
    weather: str | None = None
    keep_outs: tuple[str, ...] = ()
    existing_boxes: tuple[str, ...] = ()
    wires: tuple[str, ...] = ()
    elevation_unit: VerticalUnit | None = None
    canopy_unit: VerticalUnit | None = None
    building_unit: VerticalUnit | None = None
    legend: str | None = None
    title: str | None = None
    units: Units = "metric"


@dataclass
class Started:
    """What was written, and what was found on the way.

    Parameters
    ----------
    path : pathlib.Path
        The run file.
    found : list of (str, str)
        Input, and what it is taken for.
    doubts : list of str
        What is guessed and ought to be looked at.
    hints : list of str
        What would make the result better.
    """

    path: Path
    found: list[tuple[str, str]] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)
    hints: list[str] = field(default_factory=list)
