"""Places of boxes for the public: coarse enough not to lead anyone to a roost.

A place is given as the middle of the square of the Military Grid Reference System that holds it.
The square is the same whenever it is told, so that no number of exports tells more than one does;
places moved at random would, by their mean. That is how guides to sensitive species want it
(Chapman 2020, Current Best Practices for Generalizing Sensitive Species Occurrence Data, GBIF; from
memory).

Where zones of the grid meet, squares are cut, and what is left of some is a strip that would tell
far more than a square. A square of which less than half lies in its zone counts as its neighbour.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import mgrs
import pyproj

# Side of the square [m] by the digits of the grid reference.
SQUARES_M = {100_000: 0, 10_000: 1, 1_000: 2}

_SOUTHERNMOST_DEG, _NORTHERNMOST_DEG = -80.0, 84.0


@dataclass(frozen=True)
class CoarsePlace:
    """A place that is told to the public.

    Parameters
    ----------
    square : str
        Grid reference of the square. Its band is that of the middle, for squares lie across bands.
    lon_deg, lat_deg : float
        Of its middle, WGS 84. [degrees]
    side_m : int
        Of the square. [m]
    corners_deg : tuple of (float, float)
        Longitude and latitude, counter-clockwise from the south-west; beyond 180 where the square
        lies across the antimeridian. [degrees]
    """

    square: str
    lon_deg: float
    lat_deg: float
    side_m: int
    corners_deg: tuple[tuple[float, float], ...]


def coarse_place(lon_deg: float, lat_deg: float, side_m: int = 10_000) -> CoarsePlace:
    """Return the square that a place is told by.

    Parameters
    ----------
    lon_deg, lat_deg : float
        WGS 84. [degrees]
    side_m : {1000, 10000, 100000}
        Of the square. [m]

    Raises
    ------
    ValueError
        If there are no such squares, or the place is beyond 80° south or 84° north.
    """
    if side_m not in SQUARES_M:
        msg = f"squares have sides of {', '.join(f'{side:,}' for side in SQUARES_M)} m"
        raise ValueError(msg)
    if not _SOUTHERNMOST_DEG <= lat_deg <= _NORTHERNMOST_DEG:
        msg = f"a place at latitude {lat_deg:g} lies in no zone of the grid"
        raise ValueError(msg)
    grid = mgrs.MGRS()
    zone = int(grid.toMGRS(lat_deg, lon_deg, MGRSPrecision=0)[:2])
    utm = pyproj.Proj(proj="utm", zone=zone, south=lat_deg < 0, ellps="WGS84")
    east, north = ((math.floor(at / side_m) + 0.5) * side_m for at in utm(lon_deg, lat_deg))
    for over_m in (0, side_m, -side_m):
        lon, lat = map(float, utm(east + over_m, north, inverse=True))
        named = grid.toMGRS(lat, lon, MGRSPrecision=SQUARES_M[side_m])
        if int(named[:2]) == zone:
            break
    else:  # near a pole a zone is narrower than the square: what there is of it
        over_m = 0
        lon, lat = map(float, utm(east, north, inverse=True))
        named = grid.toMGRS(lat_deg, lon_deg, MGRSPrecision=SQUARES_M[side_m])
    half_m = side_m / 2
    corners = [
        utm(east + over_m + x * half_m, north + y * half_m, inverse=True)
        for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
    around = tuple((_near(corner, lon), round(float(up), 6)) for corner, up in corners)
    return CoarsePlace(named, round(lon, 4), round(lat, 4), side_m, around)


def _near(lon_deg: float, middle_deg: float) -> float:
    """Return a longitude on the middle's side of the antimeridian."""
    return round(float(lon_deg) - 360 * round((lon_deg - middle_deg) / 360), 6)
