"""Extents and files in words, for reports and errors."""

from __future__ import annotations

import math
import os
from collections.abc import Callable

import pyproj
from shapely.geometry import box

from suitability.grid import WGS84, Bounds, transformer

StrPath = str | os.PathLike[str]
Locate = Callable[[str], str]  # a key of the run file to the line that holds it


def place_of(path: StrPath, place: str | None) -> str:
    """Return a file's path, with the line of the run file that names it."""
    return f"{os.fspath(path)} ({place})" if place else os.fspath(path)


def crs_label(crs: pyproj.CRS) -> str:
    """Return the authority code of a CRS where it has one, else its name."""
    authority = crs.to_authority(min_confidence=100)
    return ":".join(authority) if authority else str(crs.name)


def horizontal(crs: pyproj.CRS) -> pyproj.CRS:
    """Return the horizontal part of a CRS: of a compound its first, of a 3-D one its 2-D form."""
    if crs.is_compound:
        crs = crs.sub_crs_list[0]
    return crs.to_2d()


def project_bounds(bounds: Bounds, source: pyproj.CRS, target: pyproj.CRS) -> Bounds:
    """Return the box around a box in another CRS; its edges are followed, not only its corners."""
    if source.equals(target, ignore_axis_order=True):
        return bounds
    west, south, east, north = transformer(source, target).transform_bounds(*bounds, densify_pts=51)
    return float(west), float(south), float(east), float(north)


def intersect(first: Bounds, second: Bounds) -> Bounds | None:
    """Return what two boxes share, or None where they only touch or lie apart."""
    west, south = max(first[0], second[0]), max(first[1], second[1])
    east, north = min(first[2], second[2]), min(first[3], second[3])
    return (west, south, east, north) if west < east and south < north else None


def grow(bounds: Bounds, by_m: float) -> Bounds:
    """Return a box grown on every side."""
    west, south, east, north = bounds
    return west - by_m, south - by_m, east + by_m, north + by_m


def lonlat_text(bounds: Bounds, crs: pyproj.CRS) -> str:
    """Return an extent in degrees, as people read it on a map."""
    west, south, east, north = project_bounds(bounds, crs, WGS84)
    if not all(math.isfinite(edge) for edge in (west, south, east, north)):
        return "an extent that is nowhere on Earth; is its CRS the right one?"
    lons = f"{_degrees(west, 'E', 'W')} to {_degrees(east, 'E', 'W')}"
    return f"{lons}, {_degrees(south, 'N', 'S')} to {_degrees(north, 'N', 'S')}"


def share_outside(bounds: Bounds, of: Bounds) -> float:
    """Return the share of the box `bounds` that lies outside the box `of`. [0..1]."""
    inner, outer = box(*bounds), box(*of)
    return float(1 - inner.intersection(outer).area / inner.area) if inner.area else 0.0


def _degrees(value: float, positive: str, negative: str) -> str:
    return f"{abs(value):.4f}° {positive if value >= 0 else negative}"
