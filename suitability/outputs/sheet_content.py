"""What the pages for the field and for a landowner say about one site."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import geopandas
import numpy as np
from numpy.typing import NDArray

from suitability.grid import Float32, Float64, Grid
from suitability.outputs.sky_chart import DayPath

# Label and text.
Rows = tuple[tuple[str, str], ...]
# Heading and sentences.
Parts = tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True)
class SheetMap:
    """A square of the land around a site.

    Parameters
    ----------
    bounds : tuple of float
        West, south, east, north of the square in the grid's CRS. [m]
    grid : Grid
        Cells of the rasters, the part of the square that was screened.
    score : numpy.ndarray
        (rows, cols) float32, 0..1; NaN where there is none.
    excluded : numpy.ndarray
        (rows, cols) bool.
    light : numpy.ndarray or None
        (rows, cols) float32, 0..1: the relief.
    ranks : tuple of int
        The sites in the square, this one first.
    x_m, y_m : numpy.ndarray
        Where they lie. [m]
    facing_deg : float or None
        The way that the box looks, clockwise from the map's top. [degrees]
    true_north_deg : float
        Of true north, clockwise from the map's top. [degrees]
    scale_factor : float
        Metres of the grid for a metre on the ground.
    shapes : dict of str to geopandas.GeoDataFrame
        What lies in the square, by kind, as `FinishedRun.features` names them.
    """

    bounds: tuple[float, float, float, float]
    grid: Grid
    score: Float32
    excluded: NDArray[np.bool_]
    light: Float32 | None
    ranks: tuple[int, ...]
    x_m: Float64
    y_m: Float64
    facing_deg: float | None
    true_north_deg: float
    scale_factor: float
    shapes: Mapping[str, geopandas.GeoDataFrame] = field(default_factory=dict)

    @property
    def side_m(self) -> float:
        """Length of the square's edge in the grid's CRS. [m]."""
        return self.bounds[2] - self.bounds[0]


@dataclass(frozen=True)
class Sky:
    """A site's horizon and the sun's ways over it.

    Parameters
    ----------
    horizon_deg : numpy.ndarray
        (360,) altitude clockwise from true north. [degrees]
    days : tuple of DayPath
        The sun's ways.
    facing_deg : float or None
        The way that the box looks, from true north. [degrees]
    lat : float
        Of the site. [degrees]
    """

    horizon_deg: Float64
    days: tuple[DayPath, ...]
    facing_deg: float | None
    lat: float


@dataclass(frozen=True)
class Merit:
    """What one criterion does for a site.

    Parameters
    ----------
    name : str
        What was measured.
    measure : str
        How much of it the site has.
    share : float
        The most that it can add, or its weight, 0..1.
    got : float
        What it adds, or its value times its weight, 0..1.
    told : str
        The same in few words.
    """

    name: str
    measure: str
    share: float
    got: float
    told: str


@dataclass(frozen=True)
class FieldSheet:
    """All that the page for the field says.

    Parameters
    ----------
    site, land : str
        Which site of which land.
    summary : str
        Kind, role, score and rank in a line.
    geo : str
        The place as a link that phones open (RFC 5870).
    place, bearings, put_up, distances, when : tuple of (str, str)
        Label and text of each row.
    needle : str
        How far a compass points from true north, on which day, by what model.
    months : tuple of (str, float)
        Names and direct-sun hours a day. [h]
    sun : str
        What those hours are.
    merits : tuple of Merit
        What the score is made of.
    how : str
        How criteria become the score.
    why : tuple of str
        Reasons for what to put up, and what else would do, the weightiest first.
    here : tuple of str
        What to heed for a reason found at this site.
    everywhere : tuple of str
        Titles of what to heed at every site.
    checks : tuple of str
        What to have done before work begins.
    missing : tuple of str
        What the run does not know of this site.
    map : SheetMap
        The land around.
    lowest : float
        Where the first class of the score starts.
    sky : Sky or None
        None where the run kept no horizon.
    foot : str
        Where this comes from, and the run's day.
    """

    site: str
    land: str
    summary: str
    geo: str
    place: Rows
    bearings: Rows
    needle: str
    put_up: Rows
    distances: Rows
    when: Rows
    months: tuple[tuple[str, float], ...]
    sun: str
    merits: tuple[Merit, ...]
    how: str
    why: tuple[str, ...]
    here: tuple[str, ...]
    everywhere: tuple[str, ...]
    checks: tuple[str, ...]
    missing: tuple[str, ...]
    map: SheetMap
    lowest: float
    sky: Sky | None
    foot: str


@dataclass(frozen=True)
class LandownerSheet:
    """All that the page for a landowner says.

    Parameters
    ----------
    title, land : str
        Of the page, and the land's name.
    geo : str
        The place as a link that phones open (RFC 5870).
    parts : tuple of (str, tuple of str)
        Headings with their sentences, in the order in which to read them.
    first : tuple of str
        What has to be done before work begins; what applies here comes first.
    near, wide : SheetMap
        The spot, and where it is on the land.
    foot : str
        Where this comes from, who has the last word, and the run's day.
    """

    title: str
    land: str
    geo: str
    parts: Parts
    first: tuple[str, ...]
    near: SheetMap
    wide: SheetMap
    foot: str
