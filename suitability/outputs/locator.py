"""A globe that says where on Earth a map lies, seen from above the place."""

from __future__ import annotations

import json
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any

import numpy as np
import shapely
from matplotlib.axes import Axes
from matplotlib.patches import Circle

from suitability.grid import Float64
from suitability.outputs import colours
from suitability.outputs.figure_map import polygon_patches

SOURCE = "Globe: Natural Earth, public domain"
_STEP_DEG = 2.0  # between corners of outlines: a straight line on a map is none on a globe
_GRATICULE_DEG = 30
_RIM = 2**0.5  # of the half globe, on Lambert's equal-area map of the whole


def draw_globe(
    axes: Axes, x: float, y: float, radius_in: float, lon_deg: float, lat_deg: float
) -> None:
    """Draw the half of the globe that lies around a place, north up, and a mark at the place.

    Parameters
    ----------
    axes : matplotlib.axes.Axes
        Its unit is the inch.
    x, y : float
        The globe's middle. [inch]
    radius_in : float
        Its radius. [inch]
    lon_deg, lat_deg : float
        The place, WGS 84.
    """
    middle = np.array([x, y])
    axes.add_patch(Circle((x, y), radius_in, fc=colours.PAPER, ec="none", zorder=1))
    for line in _graticule(lon_deg, lat_deg):
        axes.plot(*(middle + radius_in * line).T, color="0.8", linewidth=0.4, zorder=2)
    land = shapely.transform(globe_land(lon_deg, lat_deg), lambda at: middle + radius_in * at)
    axes.add_collection(polygon_patches(land, fc="0.72", ec="0.4", lw=0.3, zorder=3))
    axes.add_patch(Circle((x, y), radius_in, fc="none", ec=colours.INK, lw=0.7, zorder=4))
    for radius, colour in ((0.05, colours.PAPER), (0.034, colours.INK)):
        axes.add_patch(Circle((x, y), radius, fc=colour, ec="none", zorder=5))


@lru_cache(maxsize=8)
def globe_land(lon_deg: float, lat_deg: float) -> shapely.Geometry:
    """Return the land of the half globe around a place, as seen from far above it.

    Parameters
    ----------
    lon_deg, lat_deg : float
        The place, WGS 84.

    Returns
    -------
    shapely.Geometry
        Polygons within the unit circle; the place is (0, 0), north is up.

    Notes
    -----
    Outlines go through Lambert's azimuthal equal-area map, which shows the whole globe; there the
    half globe is a circle, and what lies in it is moved to where the eye sees it.
    """
    whole = shapely.Point(0, 0).buffer(2.0, quad_segs=90)
    half = shapely.Point(0, 0).buffer(_RIM, quad_segs=90)
    pieces = []
    for rings in _world():
        shell, *holes = (_filled(_equal_area(ring, lon_deg, lat_deg), whole) for ring in rings)
        piece = shapely.difference(shell, shapely.union_all(holes))
        pieces.append(shapely.intersection(piece, half))
    return shapely.transform(shapely.union_all(pieces), _as_seen)


def _filled(ring: Float64, whole: shapely.Geometry) -> shapely.Geometry:
    """Return what a ring holds; one around the far side of the globe is turned inside out."""
    inside = shapely.make_valid(shapely.Polygon(ring))
    return inside if _turns_left(ring) else shapely.difference(whole, inside)


def _turns_left(ring: Float64) -> bool:
    x, y = ring.T
    return bool((x[:-1] * y[1:] - x[1:] * y[:-1]).sum() > 0)


def _as_seen(points: Float64) -> Float64:
    """Move points of the equal-area map to where they are seen from afar."""
    radius = np.hypot(points[:, 0], points[:, 1])
    # 2 sin(c/2) on the map is sin c to the eye, so the factor is cos(c/2).
    return points * np.sqrt(np.clip(1 - radius**2 / 4, 0.5, 1))[:, None]


def _equal_area(ring: Float64, lon_deg: float, lat_deg: float) -> Float64:
    east, north, up = _turned(ring, lon_deg, lat_deg)
    factor = np.sqrt(2 / np.maximum(1 + up, 1e-9))
    return np.column_stack([east, north]) * factor[:, None]


def _turned(points: Float64, lon_deg: float, lat_deg: float) -> tuple[Float64, Float64, Float64]:
    """Return points of the globe, (n, 2) degrees, to the east, to the north and above a place."""
    lon, lat = np.radians(points - [lon_deg, 0.0]).T
    at = np.radians(lat_deg)
    east = np.cos(lat) * np.sin(lon)
    north = np.cos(at) * np.sin(lat) - np.sin(at) * np.cos(lat) * np.cos(lon)
    up = np.sin(at) * np.sin(lat) + np.cos(at) * np.cos(lat) * np.cos(lon)
    return east, north, up


def _graticule(lon_deg: float, lat_deg: float) -> list[Float64]:
    """Return meridians and parallels, (n, 2) each, NaN on the far side."""
    along = np.arange(-180.0, 181.0, 2.0)
    meridians = [
        np.column_stack([np.full(91, lon), np.linspace(-90, 90, 91)])
        for lon in range(-180, 180, _GRATICULE_DEG)
    ]
    parallels = [
        np.column_stack([along, np.full(along.size, lat)])
        for lat in range(_GRATICULE_DEG - 90, 90, _GRATICULE_DEG)
    ]
    lines = []
    for line in (*meridians, *parallels):
        east, north, up = _turned(line, lon_deg, lat_deg)
        lines.append(np.where(up[:, None] > 0, np.column_stack([east, north]), np.nan))
    return lines


@cache
def _world() -> tuple[tuple[Float64, ...], ...]:
    """Return the rings of each piece of land, (n, 2) degrees: outer ones turn left, holes too."""
    text = (files("suitability.outputs") / "world_land.json").read_text(encoding="utf-8")
    data: dict[str, Any] = json.loads(text)
    return tuple(
        tuple(_dense(shapely.LinearRing(ring)) for ring in rings) for rings in data["polygons"]
    )


def _dense(ring: shapely.LinearRing) -> Float64:
    turned = ring if shapely.is_ccw(ring) else shapely.reverse(ring)
    corners: Float64 = shapely.get_coordinates(shapely.segmentize(turned, _STEP_DEG))
    return corners
