"""Where water runs and stands: the creek in its valley, the draws that feed it, ponds, a fen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from frame import CELL_M, Field, Line, curve_through, evenly, wander
from shapely.geometry import Polygon

VALLEY = [
    (1640, 2420),
    (1585, 2150),
    (1450, 1860),
    (1480, 1560),
    (1330, 1260),
    (1010, 1040),
    (660, 965),
    (330, 770),
    (-220, 690),
]
OXBOW_AT_M, OXBOW_SIDE = 1480.0, -1.0


@dataclass(frozen=True)
class Tributary:
    """A draw and the stream in it, from the head down. The stream starts `dry_m` below the head."""

    name: str
    permanence: str
    points: tuple[tuple[float, float], ...]
    depth_m: float
    dry_m: float
    wiggle_m: float


TRIBUTARIES = (
    Tributary(
        "Fen Outlet",
        "intermittent",
        ((1223, 1652), (1290, 1614), (1370, 1625), (1460, 1590)),
        1.6,
        0,
        5,
    ),
    Tributary(
        "Ember Draw",
        "intermittent",
        ((1960, 640), (1830, 800), (1690, 830), (1560, 960), (1425, 1060), (1290, 1200)),
        5.0,
        230,
        7,
    ),
    Tributary(
        "Tern Swale",
        "ephemeral",
        ((300, 1760), (350, 1600), (330, 1460), (420, 1300), (430, 1120), (500, 880)),
        4.0,
        186,
        5,
    ),
    Tributary(
        "Slate Gully",
        "ephemeral",
        ((860, 330), (800, 470), (845, 620), (790, 760), (800, 980)),
        4.5,
        140,
        6,
    ),
)
FEN_CENTRE, FEN_RADII_M = (1195.0, 1660.0), (82.0, 128.0)
FARM_POND_CENTRE, FARM_POND_RADII_M = (343.0, 1655.0), (24.0, 41.0)


def valley_axis() -> Line:
    """Middle of the valley, downstream."""
    return curve_through([(float(x), float(y)) for x, y in VALLEY])


def meander(axis: Line) -> Line:
    """Creek that swings about the valley's axis.

    The direction follows Kinoshita's skewed sine-generated curve (Parker, Sawai & Ikeda 1982,
    J. Fluid Mech. 115:303-314; cited from memory); bend length and swing vary from bend to bend.
    """
    count = 2400
    bend_m = 330 * np.exp(0.36 * wander("bend length", count, 260))
    phase = np.cumsum(2 * np.pi * CELL_M / bend_m)
    swing = np.clip(1.05 + 0.28 * wander("bend swing", count, 300), 0.5, 1.4)
    turn = swing * np.sin(phase) + swing**3 * (0.04 * np.cos(3 * phase) - 0.03 * np.sin(3 * phase))
    along = np.cumsum(np.cos(turn)) * CELL_M
    across = np.cumsum(np.sin(turn)) * CELL_M
    drift = np.convolve(np.pad(across, 250, mode="edge"), np.hanning(501) / 250, mode="valid")
    across = np.clip(across - drift, -78, 78)
    kept = along < axis.station_m[-1]
    at = along[kept]
    centre, normal = _along(axis, axis.xy, at), _along(axis, axis.normal, at)
    return evenly(centre + normal * across[kept, None])


def _along(axis: Line, values: Field, at_m: Field) -> Field:
    way = axis.station_m
    return np.column_stack([np.interp(at_m, way, values[:, k]) for k in (0, 1)])


def draw_path(tributary: Tributary, creek: Line) -> Line:
    """Line of a draw from its head to the creek, where it ends on one of the creek's points."""
    smooth = curve_through(list(tributary.points))
    way = smooth.station_m
    fade = np.minimum(1, np.minimum(way, way[-1] - way) / 40)
    sway = tributary.wiggle_m * fade * wander(tributary.name, way.size, 38)
    path = evenly(smooth.xy + smooth.normal * sway[:, None]).xy
    distance, index = creek.nearest(path[:, 0], path[:, 1])
    close = np.flatnonzero(distance < 3 * CELL_M)
    end = int(close[0]) if close.size else int(np.argmin(distance))
    return evenly(np.vstack([path[: end + 1], creek.xy[index[end]]]))


def oxbow(axis: Line) -> Line:
    """Arc of an old bend that the creek has left."""
    angle = np.radians(np.linspace(-115, 115, 80))
    at = OXBOW_AT_M + 30 * np.sin(angle)
    across = OXBOW_SIDE * (48 + 24 * np.cos(angle))
    return evenly(_along(axis, axis.xy, at) + _along(axis, axis.normal, at) * across[:, None])


def blob_radius(name: str, angle: Field) -> Field:
    """Radius of an uneven round shape about 1, as a function of the angle [rad]."""
    shake = wander(name, 8, 2)
    wobble = sum(
        (
            shake[k] * 0.11 / k * np.cos(k * angle) + shake[k + 3] * 0.11 / k * np.sin(k * angle)
            for k in (1, 2, 3, 4)
        ),
        start=np.zeros_like(angle),
    )
    return np.asarray(1 + wobble)


def blob(name: str, centre: tuple[float, float], radii_m: tuple[float, float]) -> Polygon:
    """Shore of an uneven round pond."""
    angle = np.linspace(0, 2 * np.pi, 73)[:-1]
    radius = blob_radius(name, angle)
    x = centre[0] + radii_m[0] * radius * np.cos(angle)
    y = centre[1] + radii_m[1] * radius * np.sin(angle)
    return Polygon(np.column_stack([x, y]))


def blob_distance(
    name: str, centre: tuple[float, float], radii_m: tuple[float, float], x: Field, y: Field
) -> Field:
    """How far out places lie in terms of an uneven round shape: 0 its centre, 1 its rim."""
    east, north = (x - centre[0]) / radii_m[0], (y - centre[1]) / radii_m[1]
    return np.hypot(east, north) / blob_radius(name, np.arctan2(north, east))


def ponds() -> dict[str, Polygon]:
    """Shores of the two ponds."""
    return {
        "Cinder Pond": blob("fen", FEN_CENTRE, (FEN_RADII_M[0] * 0.42, FEN_RADII_M[1] * 0.42)),
        "Stock Pond": blob("stock pond", FARM_POND_CENTRE, FARM_POND_RADII_M),
    }
