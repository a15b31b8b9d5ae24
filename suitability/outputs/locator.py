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
    An outline that goes out of sight is led along the rim, leftwards as outlines turn, to where
    it, or the next of the same land, comes back. (Straight lines to far-away points would cut
    across the globe.)
    """
    pieces = [_in_sight(rings, lon_deg, lat_deg) for rings in _world()]
    return shapely.union_all(pieces, grid_size=1e-6)  # what is cut at 180 degrees is one again


def _in_sight(rings: tuple[Float64, ...], lon_deg: float, lat_deg: float) -> shapely.Geometry:
    """Return the visible part of one piece of land, its outer ring first."""
    whole: list[Float64] = []
    runs: list[Float64] = []
    for ring in rings:
        found, is_whole = _runs_in_sight(ring, lon_deg, lat_deg)
        (whole if is_whole else runs).extend(found)
    shells = [outline for outline in whole if _turns_left(outline)]
    inside = [_polygon(outline) for outline in (*_led_round(runs), *shells)]
    holes = [_polygon(outline) for outline in whole if not _turns_left(outline)]
    if not inside and shapely.contains_xy(
        shapely.Polygon(rings[0]), (lon_deg + 180) % 360 - 180, lat_deg
    ):
        inside = [shapely.Point(0, 0).buffer(1.0, quad_segs=90)]  # its coast is out of sight
    return shapely.difference(shapely.union_all(inside), shapely.union_all(holes))


def _polygon(outline: Float64) -> shapely.Geometry:
    return shapely.make_valid(shapely.Polygon(outline))


def _turns_left(outline: Float64) -> bool:
    return bool(shapely.is_ccw(shapely.LinearRing(outline)))


def _runs_in_sight(ring: Float64, lon_deg: float, lat_deg: float) -> tuple[list[Float64], bool]:
    """Return the stretches of a ring that are seen, ends on the rim, and whether it is all seen."""
    east, north, up = _turned(ring[:-1], lon_deg, lat_deg)
    points = np.column_stack([east, north])
    seen = up > 0
    if seen.all():
        return [np.vstack([points, points[:1]])], True
    if not seen.any():
        return [], False
    start = int(np.flatnonzero(seen & ~np.roll(seen, 1))[0])  # the first that comes into sight
    points, up = np.roll(points, -start, axis=0), np.roll(up, -start)
    seen = up > 0
    firsts = np.flatnonzero(seen & ~np.roll(seen, 1))
    lasts = np.flatnonzero(seen & ~np.roll(seen, -1))
    runs = []
    for first, last in zip(firsts.tolist(), lasts.tolist(), strict=True):
        comes = _on_rim(points, up, first, first - 1)
        goes = _on_rim(points, up, last, (last + 1) % len(points))
        runs.append(np.vstack([comes, points[first : last + 1], goes]))
    return runs, False


def _on_rim(points: Float64, up: Float64, seen: int, hidden: int) -> Float64:
    """Return where the line from a point in sight to one that is not meets the rim."""
    part = up[seen] / (up[seen] - up[hidden])
    at = points[seen] + part * (points[hidden] - points[seen])
    on_rim: Float64 = at / np.hypot(*at)
    return on_rim


def _led_round(runs: list[Float64]) -> list[Float64]:
    """Return closed outlines: from the end of each stretch leftwards along the rim to the next."""
    ends, begins = (
        np.array([np.arctan2(run[at, 1], run[at, 0]) for run in runs]) for at in (-1, 0)
    )
    turns = (begins[None] - ends[:, None]) % (2 * np.pi)
    after: dict[int, int] = {}
    for pair in np.argsort(turns, axis=None, kind="stable"):  # the nearest first, each once
        end, begin = divmod(int(pair), len(runs))
        if end not in after and begin not in after.values():
            after[end] = begin
    outlines = []
    while after:
        number = next(iter(after))
        parts = []
        while number in after:
            follower = after.pop(number)
            turn = turns[number, follower]
            arc = ends[number] + np.linspace(0, turn, 2 + int(turn / 0.02))
            parts += [runs[number], np.column_stack([np.cos(arc), np.sin(arc)])]
            number = follower
        outlines.append(np.vstack(parts))
    return outlines


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
    """Return the rings of each piece of land, (n, 2) degrees: outer ones turn left, holes right."""
    text = (files("suitability.outputs") / "world_land.json").read_text(encoding="utf-8")
    data: dict[str, Any] = json.loads(text)
    return tuple(
        tuple(shapely.get_coordinates(shapely.segmentize(ring, _STEP_DEG)) for ring in rings)
        for rings in (_rings(shell, *holes) for shell, *holes in data["polygons"])
    )


def _rings(shell: list[Any], *holes: list[Any]) -> tuple[shapely.LinearRing, ...]:
    land = shapely.geometry.polygon.orient(shapely.Polygon(shell, holes))
    return (land.exterior, *land.interiors)
