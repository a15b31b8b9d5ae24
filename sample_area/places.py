"""What people laid out, in survey metres: roads, fields, hedgerows, buildings, the preserve."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from frame import Field, dice, surveyed
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

ROAD_P, ROAD_Q = 900.0, -800.0
QUARTER_M = 402.336  # a quarter of a survey mile

ROADS = (
    LineString([(-1400, ROAD_Q), (1400, ROAD_Q)]).buffer(3.6, cap_style="flat"),
    LineString([(ROAD_P, -1300), (ROAD_P, 1300)]).buffer(3.6, cap_style="flat"),
)
LANES = (
    LineString([(-60, ROAD_Q), (-60, -735), (-52, -700), (-52, -680)]).buffer(2.4),
    box(-72, -694, -30, -670),
    LineString([(787, ROAD_Q), (787, -705), (815, -705)]).buffer(2.2),
    LineString([(ROAD_P, 243), (938, 243)]).buffer(2.0),
    LineString([(-428, ROAD_Q), (-428, -858)]).buffer(2.0),
)
YARDS = (
    box(742, -762, 858, -655).buffer(6),
    box(918, 214, 985, 274).buffer(5),
    box(-462, -880, -388, -818).buffer(5),
    box(-86, -708, -14, -656).buffer(4),
)
BOUNDARY = Polygon(
    [
        (-708, -398),
        (-306, -398),
        (-306, -790),
        (690, -790),
        (690, -604),
        (889, -604),
        (889, 4),
        (498, 4),
        (498, 470),
        (372, 640),
        (392, 806),
        (-520, 806),
        (-520, 560),
        (-708, 406),
    ]
)
KEEP_OUTS = {
    "prairie restoration plot": Polygon(
        [(128, -752), (318, -752), (318, -640), (262, -566), (128, -566)]
    ),
    "archery range": box(-245, -372, -165, -232),
}
# Planted and left woods keep the straight sides of the fields that they once were.
PLANTATION = box(-462, 400, -268, 590)
WOODLOTS = (box(610, -580, 889, -330), box(-1120, 700, -860, 1100), box(300, -1200, 520, -960))
PASTURE = Polygon([(-960, -420), (-520, -330), (-400, -150), (-560, 4), (-1000, 4)])


@dataclass(frozen=True)
class FieldPlot:
    """An area of one use (NLCD code)."""

    shape: Polygon
    code: int


@dataclass(frozen=True)
class Building:
    """A footprint and its height [m]."""

    kind: str
    height_m: float
    shape: BaseGeometry


@dataclass(frozen=True)
class ExistingBox:
    """A bat box that already stands, where it is and what the last visit found."""

    label: str
    year: int
    occupied: bool
    p: float
    q: float


EXISTING_BOXES = (
    ExistingBox("CF-01", 2016, True, -78, -452),
    ExistingBox("CF-02", 2018, False, -28, 410),
    ExistingBox("CF-03", 2019, True, 360, -300),
    ExistingBox("CF-04", 2021, False, -410, 108),
    ExistingBox("CF-05", 2023, False, 350, -440),
)

OWN_PLOTS = (
    FieldPlot(BOUNDARY, 71),
    FieldPlot(box(402, -790, 690, -398), 82),
    FieldPlot(box(-306, -790, 96, -398), 81),
    FieldPlot(box(-306, -398, 60, -60), 52),
    FieldPlot(box(498, -330, 900, 4), 81),
    FieldPlot(box(498, 4, 900, 406), 82),
    FieldPlot(box(-708, -60, -330, 300), 81),
    FieldPlot(box(-520, 590, -306, 806), 81),
)


def fields() -> list[FieldPlot]:
    """Farm land by quarter lines, each quarter whole or halved, then the preserve's own plots."""
    chance = dice("fields")
    plots = []
    for column in range(-6, 2):
        for row in range(-2, 6):
            p, q = ROAD_P + column * QUARTER_M, ROAD_Q + row * QUARTER_M
            codes = chance.choice([82, 81], size=2, p=[0.68, 0.32])
            cut_m = chance.choice([1.0, 0.5]) * QUARTER_M
            lengthwise = chance.random() < 0.5
            width_m, length_m = (QUARTER_M, cut_m) if lengthwise else (cut_m, QUARTER_M)
            plots.append(FieldPlot(box(p, q, p + QUARTER_M, q + QUARTER_M), int(codes[0])))
            plots.append(FieldPlot(box(p, q, p + width_m, q + length_m), int(codes[1])))
    return [FieldPlot(surveyed(plot.shape), plot.code) for plot in [*plots, *OWN_PLOTS]]


def hedgerows() -> list[LineString]:
    """Tree lines on some of the field edges."""
    chance = dice("hedgerows")
    half_m = QUARTER_M / 2
    edges = [
        LineString([(p, q), (p, q + half_m)])
        for p in ROAD_P + QUARTER_M * np.arange(-6, 3)
        for q in np.arange(-1210.0, 1100.0, half_m)
        if p != ROAD_P
    ] + [
        LineString([(p, q), (p + half_m, q)])
        for q in ROAD_Q + QUARTER_M * np.arange(-2, 6)
        for p in np.arange(-1310.0, 1300.0, half_m)
        if q != ROAD_Q
    ]
    kept = [edge for edge in edges if chance.random() < 0.4]
    own = [LineString([(402, -770), (402, -398)]), LineString([(-290, -398), (60, -398)])]
    return [surveyed(line) for line in kept + own]


def _block(  # a rectangle about a place, turned
    p: float, q: float, length_m: float, width_m: float, turn_deg: float = 0.0
) -> BaseGeometry:
    shape = box(p - length_m / 2, q - width_m / 2, p + length_m / 2, q + width_m / 2)
    return affinity.rotate(shape, turn_deg)


def buildings() -> list[Building]:
    """Farmstead, two homes, the preserve's old barn and its shelter."""
    house_with_wing = _block(764, -742, 13, 8.5).union(_block(768, -735, 6, 8))
    drawn = [
        Building("house", 7.8, house_with_wing),
        Building("barn", 10.6, _block(812, -686, 26, 13.5)),
        Building("silo", 16.5, Point(831, -678).buffer(3.1, quad_segs=4)),
        Building("shed", 5.4, _block(838, -728, 12, 22)),
        Building("shed", 3.2, _block(775, -716, 6, 4.5)),
        Building("house", 6.9, _block(950, 245, 9, 12)),
        Building("shed", 4.2, _block(968, 259, 7, 7)),
        Building("house", 7.1, _block(-414, -838, 11, 8.5)),
        Building("barn", 9.2, _block(-440, -866, 19, 11)),
        Building("barn", 9.4, _block(-112, -452, 11, 19, 24)),
        Building("shed", 4.1, _block(-22, -664, 9, 6.5)),
    ]
    return [Building(b.kind, b.height_m, surveyed(b.shape)) for b in drawn]


def box_points() -> list[Point]:
    """Places of the boxes that already stand."""
    return [surveyed(Point(b.p, b.q)) for b in EXISTING_BOXES]


def askew(shapes: tuple[BaseGeometry, ...]) -> list[BaseGeometry]:
    """Survey shapes in local coordinates."""
    return [surveyed(shape) for shape in shapes]


def rows_of(area: Polygon, spacing_m: float) -> Field:
    """Points of planted rows in a survey rectangle, in survey coordinates [m]."""
    west, south, east, north = area.bounds
    p, q = np.meshgrid(np.arange(west, east, spacing_m), np.arange(south, north, spacing_m * 0.7))
    return np.column_stack([p.ravel(), q.ravel()])
