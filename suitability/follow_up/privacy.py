"""Places of boxes for the public: coarse enough not to lead anyone to a roost.

A place is given as the middle of the square of the Military Grid Reference System that holds it.
The square is the same whenever it is told, so that no number of exports tells more than one does;
places moved at random would, by their mean. That is how guides to sensitive species want it
(Chapman 2020, Current Best Practices for Generalizing Sensitive Species Occurrence Data, GBIF; from
memory).
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
        Grid reference of the square.
    lon_deg, lat_deg : float
        Of its middle, WGS 84. [degrees]
    side_m : int
        Of the square. [m]
    """

    square: str
    lon_deg: float
    lat_deg: float
    side_m: int


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
    square = mgrs.MGRS().toMGRS(lat_deg, lon_deg, MGRSPrecision=SQUARES_M[side_m])
    # By the zone that the reference names; the middle of a square at its rim may lie in the next.
    utm = pyproj.Proj(proj="utm", zone=int(square[:2]), south=lat_deg < 0, ellps="WGS84")
    east, north = ((math.floor(at / side_m) + 0.5) * side_m for at in utm(lon_deg, lat_deg))
    lon, lat = utm(east, north, inverse=True)
    return CoarsePlace(square, round(float(lon), 4), round(float(lat), 4), side_m)
