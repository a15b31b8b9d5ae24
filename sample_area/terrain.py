"""Bare earth: a till plain, a valley with a terrace, draws, a kettle, channels, road beds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from frame import (
    XX_M,
    YY_M,
    Field,
    Line,
    Mask,
    dice,
    evenly,
    mask_of,
    noise,
    ramp,
    sample,
)
from scipy.ndimage import distance_transform_edt, gaussian_filter, gaussian_filter1d
from shapely.geometry import Polygon
from waterways import (
    FEN_CENTRE,
    FEN_RADII_M,
    TRIBUTARIES,
    blob_distance,
    draw_path,
    meander,
    oxbow,
    ponds,
    valley_axis,
)

CREEK_HALF_WIDTH_M, CREEK_DEPTH_M = 3.5, 1.5


@dataclass(frozen=True)
class Stream:
    """A stream's course, downhill, with its bed's elevation [m] at each point."""

    name: str
    permanence: str
    line: Line
    bed_m: Field


@dataclass(frozen=True)
class Terrain:
    """Bare earth and what shaped it."""

    elevation_m: Field
    outside_floodplain_m: Field  # negative in the floodplain
    fen: Field  # 0 in the fen's centre, 1 on its rim
    streams: tuple[Stream, ...]
    oxbow: Line
    ponds: dict[str, Polygon]


def build(roads: Mask) -> Terrain:
    """Shape the ground.

    Parameters
    ----------
    roads
        Cells that a road runs over.
    """
    axis = valley_axis()
    creek = meander(axis)
    paths = [draw_path(tributary, creek) for tributary in TRIBUTARIES]
    ground, outside_m, bottom_m = _valley(axis)
    uneven = noise("sides", 120)
    ground = _cut_ravines(ground, outside_m, axis, uneven)
    for tributary, path in zip(TRIBUTARIES, paths, strict=True):
        ground = _cut_draw(ground, path, uneven, tributary.depth_m, side_slope=0.17)
    ground = gaussian_filter(ground, 3)  # soil creep rounds the edges of what water has cut
    old_bend = oxbow(axis)
    ground = _scoop(ground, old_bend, half_width_m=7, depth_m=0.9)
    fen = blob_distance("fen", FEN_CENTRE, FEN_RADII_M, XX_M, YY_M)
    ground = _sink_fen(ground, fen)
    shores = ponds()
    ground = _dam_pond(ground, shores["Stock Pond"])
    ground = _lay_roads(ground, roads)
    ground = _fill(ground, list(shores.values()))
    water = mask_of(list(shores.values()), touched=True)
    cut, streams = _cut_channels(ground, creek, bottom_m, paths)
    ground = np.where(water, ground, cut)
    return Terrain(ground, outside_m, fen, streams, old_bend, shores)


def _valley(axis: Line) -> tuple[Field, Field, Field]:
    """Till plain with the valley in it; distance outside the floodplain; its level by axis."""
    distance, index = axis.nearest(XX_M, YY_M)
    toward = np.stack([XX_M, YY_M], axis=-1) - axis.xy[index]
    left = ramp(np.sum(toward * axis.normal[index], axis=-1) / 40, -1, 1)
    bottom_m = 263.5 - 0.0021 * axis.station_m
    level = gaussian_filter(bottom_m[index], 8)
    outside = distance - 88 - 24 * noise("foot", 330) - 5 * noise("foot, small", 90)
    plain = (
        289.5
        - 0.0011 * (XX_M - 1200)
        + 0.0016 * (YY_M - 1100)
        + 1.9 * noise("plain", 620)
        + 0.8 * noise("plain, small", 210)
        + 0.15 * noise("plain, fine", 60)
    )
    steep = outside / (150 + 30 * noise("wall", 400))
    stepped = outside / (410 + 40 * noise("terrace", 400))
    wall = left * ramp(steep, 0, 1) + (1 - left) * _terraced(stepped)
    rough = 0.25 * noise("bottom", 110) + 0.1 * noise("bottom, small", 34)
    tilt = 0.7 * np.clip(1 + outside / 90, 0, 1) ** 2
    return level + tilt + rough + (plain - level) * wall, outside, bottom_m


def _terraced(t: Field) -> Field:
    """Profile from a floodplain over a gravel terrace up to the plain, 0..1."""
    return np.asarray(0.2 * ramp(t, 0, 0.13) + 0.05 * ramp(t, 0.1, 0.6) + 0.75 * ramp(t, 0.5, 1))


def _soft_minimum(a: Field, b: Field, blend_m: float) -> Field:
    """Lower of two surfaces, rounded where they meet."""
    gap = np.clip(0.5 + (b - a) / (2 * blend_m), 0, 1)
    return np.asarray(b + (a - b) * gap - blend_m * gap * (1 - gap))


def _cut_draw(ground: Field, path: Line, uneven: Field, depth_m: float, side_slope: float) -> Field:
    """Cut a small valley that deepens from the head of a path and meets the ground at its foot."""
    way = path.station_m / path.station_m[-1]
    surface = gaussian_filter1d(sample(ground, path.xy), 8)
    depth = depth_m * np.minimum(1, way * 2.2) * (1 - way**4)
    bed = np.maximum(gaussian_filter1d(surface - depth, 10), surface[-1] - 0.2)
    bed = np.minimum.accumulate(bed)
    window = path.window(130)
    distance, index = path.nearest(XX_M[window], YY_M[window])
    sides = side_slope * np.exp(0.35 * uneven[window]) * (np.sqrt(distance**2 + 8**2) - 8)
    cut = ground.copy()
    cut[window] = _soft_minimum(ground[window], bed[index] + sides, 2.0)
    return cut


def _cut_ravines(ground: Field, outside_m: Field, axis: Line, uneven: Field) -> Field:
    """Cut short gullies into the valley's walls, from the plain's edge down to the foot."""
    chance = dice("ravines")
    smooth = gaussian_filter(ground, 10)
    for station in np.arange(60, axis.station_m[-1] - 60, 62):
        for side in (-1.0, 1.0):
            start = int(np.clip((station + chance.normal(0, 22)) / 2, 0, len(axis.xy) - 1))
            foot_m = 4.0 if side > 0 or chance.random() < 0.3 else 235.0
            heading = axis.normal[start] * side
            path = _uphill(smooth, outside_m, axis.xy[start], heading, foot_m, chance)
            depth = chance.uniform(1.0, 3.6)
            if path is not None and chance.random() < 0.7:
                ground = _cut_draw(ground, path, uneven, depth, side_slope=0.3)
    return ground


def _uphill(
    smooth: Field,
    outside_m: Field,
    start: Field,
    heading: Field,
    foot_m: float,
    chance: np.random.Generator,
) -> Line | None:
    """Gully's path, from its head down: away from the axis, bending towards the steepest slope."""
    outward = start + np.arange(0, 500, 4.0)[:, None] * heading
    foot = np.flatnonzero(sample(outside_m, outward) > foot_m)
    if not foot.size:
        return None
    points = [outward[foot[0]]]
    turn = 0.0
    for _ in range(int(chance.uniform(80, 230) / 4)):
        x, y = points[-1]
        beside = np.array([[x + 4, y], [x - 4, y], [x, y + 4], [x, y - 4]])
        east, west, north, south = sample(smooth, beside)
        turn = 0.9 * turn + chance.normal(0, 0.025)
        aside = np.array([-heading[1], heading[0]])
        heading = heading + 0.15 * np.array([east - west, north - south]) + turn * aside
        heading = heading / np.hypot(*heading)
        points.append(points[-1] + 4 * heading)
    return evenly(np.array(points[::-1]))


def _scoop(ground: Field, path: Line, half_width_m: float, depth_m: float) -> Field:
    """Lower the ground along a path by a rounded trough."""
    distance, _ = path.nearest(XX_M, YY_M)
    return np.asarray(ground - depth_m * np.exp(-((distance / half_width_m) ** 2)))


def _sink_fen(ground: Field, fen: Field) -> Field:
    """Sink the kettle: a level of peat that rises a little from the pond to a short rim."""
    level = float(ground[(fen > 1.0) & (fen < 1.5)].min()) - 1.2
    peat = level + 0.08 + 0.5 * np.clip(fen - 0.42, 0, None) + 0.06 * noise("peat", 25)
    rim = ramp(fen, 0.95, 1.6)
    return np.asarray(np.minimum(ground, peat) * (1 - rim) + ground * rim)


def _dam_pond(ground: Field, shore: Polygon) -> Field:
    """Dig a stock pond into a draw, with a bank thrown up where the ground would be too low."""
    water = mask_of([shore], touched=True)
    away = distance_transform_edt(~water) * 2.0
    level = float(np.quantile(ground[water], 0.35))
    bank = level + 1.0 - 0.4 * np.maximum(0, away - 7)
    dug = level + 0.1 + 0.28 * away
    return np.asarray(np.minimum(np.maximum(ground, bank), np.maximum(dug, bank)))


def _lay_roads(ground: Field, roads: Mask) -> Field:
    """Smooth the ground under a road, raise its bed a little and line it with ditches."""
    away = distance_transform_edt(~roads) * 2.0
    graded = gaussian_filter(ground, 7)
    near = 1 - ramp(away, 3, 14)
    bed = 0.35 * (1 - ramp(away, 1, 5)) - 0.4 * np.exp(-(((away - 7) / 2.2) ** 2))
    return np.asarray(ground * (1 - near) + graded * near + bed)


def _cut_channels(
    ground: Field, creek: Line, bottom_m: Field, paths: list[Line]
) -> tuple[Field, tuple[Stream, ...]]:
    """Cut the creek and its tributaries, each with a bed that only falls."""
    way = creek.station_m / creek.station_m[-1]
    bed = bottom_m[0] - CREEK_DEPTH_M + (bottom_m[-1] - bottom_m[0]) * way
    ground = _channel(ground, creek, bed, CREEK_HALF_WIDTH_M, bank_slope=0.55)
    streams = [Stream("Cinder Creek", "perennial", creek, bed)]
    for tributary, path in zip(TRIBUTARIES, paths, strict=True):
        line = Line(path.xy[int(tributary.dry_m / 2) :])
        mouth = bed[creek.nearest(line.xy[-1:, 0], line.xy[-1:, 1])[1][0]]
        surface = sample(ground, line.xy)
        fall = gaussian_filter1d(surface, 6) - 0.5 * ramp(line.station_m, 0, 40)
        fall[0] = min(fall[0], surface[0])  # an outlet starts no higher than its pond
        lowest = mouth + 0.004 * (line.station_m[-1] - line.station_m)
        own_bed = np.maximum(np.minimum.accumulate(fall), lowest)
        ground = _channel(ground, line, own_bed, 1.6, bank_slope=0.5)
        streams.append(Stream(tributary.name, tributary.permanence, line, own_bed))
    return ground, tuple(streams)


def _channel(
    ground: Field, line: Line, bed_m: Field, half_width_m: float, bank_slope: float
) -> Field:
    """Cut a flat-bottomed channel; ground that is lower already stays."""
    window = line.window(40)
    distance, index = line.nearest(XX_M[window], YY_M[window])
    banks = bed_m[index] + bank_slope * np.maximum(0, distance - half_width_m)
    cut = ground.copy()
    cut[window] = np.minimum(ground[window], banks)
    return cut


def _fill(ground: Field, shores: list[Polygon]) -> Field:
    """Make each pond's water level: the lowest ground that it covers."""
    level = ground.copy()
    for shore in shores:
        water = mask_of([shore], touched=True)
        level[water] = ground[water].min()
    return level
