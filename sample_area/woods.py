"""Canopy height from single crowns: each tree has a place, a height, a radius and a shape."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from cover import (
    BROADLEAF,
    CONIFER,
    FOREST,
    GRASS,
    LAWN,
    MARSH,
    MIXED,
    PAVED,
    ROOF,
    SHRUB,
    SWAMP,
    WATER,
    Cover,
    creek_distance,
    distance_to,
    hedge_mask,
    own_grass_mask,
    pasture_mask,
)
from frame import (
    CELL_M,
    COLUMNS,
    HEIGHT_M,
    ROWS,
    WIDTH_M,
    X_M,
    Y_M,
    Field,
    Mask,
    dice,
    noise,
    ramp,
    sample,
    survey_to_local,
)
from places import PLANTATION, rows_of
from terrain import Terrain

SPACING_M = 5.2
TALLEST_M, LOWEST_M = 28.0, 2.0
# share of the seed places that hold a tree, by land cover
DENSITY = {BROADLEAF: 0.85, MIXED: 0.85, SWAMP: 0.62, SHRUB: 0.45, MARSH: 0.015, LAWN: 0.025}
PASTURE_DENSITY, GRASS_DENSITY = 0.01, 0.005


@dataclass(frozen=True)
class Crowns:
    """Trees: place [m, local], height [m], crown radius [m], and whether the crown is a cone."""

    x: Field
    y: Field
    height_m: Field
    radius_m: Field
    cone: Mask

    def where(self, kept: Mask) -> Crowns:
        """Keep some of the trees."""
        return Crowns(
            self.x[kept], self.y[kept], self.height_m[kept], self.radius_m[kept], self.cone[kept]
        )


def canopy(cover: Cover, terrain: Terrain) -> Field:
    """Height of the canopy above the ground, 0 in the open [m]."""
    creek_m = creek_distance(terrain)
    open_ground = np.isin(cover, (PAVED, ROOF)) | ((cover == WATER) & (creek_m > 6))
    trees = _join(_seed(cover, creek_m), _plantation(cover))
    height = _stamp(_clear_of(trees, open_ground, creek_m))
    height[open_ground] = 0
    return height


def _join(a: Crowns, b: Crowns) -> Crowns:
    return Crowns(
        np.concatenate([a.x, b.x]),
        np.concatenate([a.y, b.y]),
        np.concatenate([a.height_m, b.height_m]),
        np.concatenate([a.radius_m, b.radius_m]),
        np.concatenate([a.cone, b.cone]),
    )


def _density(cover: Cover) -> Field:
    density = np.zeros(cover.shape)
    for code, share in DENSITY.items():
        density[cover == code] = share
    density[pasture_mask(cover)] = PASTURE_DENSITY
    density[own_grass_mask(cover)] = GRASS_DENSITY
    density[np.isin(cover, FOREST)] *= np.clip(1 + 0.18 * noise("thin woods", 55), 0.3, 1.2)[
        np.isin(cover, FOREST)
    ]
    return density


def _seed(cover: Cover, creek_m: Field) -> Crowns:
    """Sow trees on a shaken lattice, as dense and as tall as the land cover asks for."""
    chance = dice("trees")
    x, y = np.meshgrid(
        np.arange(-SPACING_M, WIDTH_M + SPACING_M, SPACING_M),
        np.arange(-SPACING_M, HEIGHT_M + SPACING_M, SPACING_M),
    )
    x = (x + chance.uniform(-0.55, 0.55, x.shape) * SPACING_M).ravel()
    y = (y + chance.uniform(-0.55, 0.55, y.shape) * SPACING_M).ravel()
    inside = (x > 0) & (x < WIDTH_M) & (y > 0) & (y < HEIGHT_M)
    xy = np.column_stack([x, y])[inside]
    grows = chance.random(len(xy)) < sample(_density(cover), xy)
    xy = xy[grows & ~_fallen(xy, chance)]
    return _grow(xy, sample(creek_m, xy), cover, chance)


def _fallen(xy: Field, chance: np.random.Generator) -> Mask:
    """Trees that stood where a gap has opened."""
    count = int(WIDTH_M * HEIGHT_M / 11_000)
    x, y = chance.uniform(0, WIDTH_M, count), chance.uniform(0, HEIGHT_M, count)
    radius = np.exp(chance.normal(1.9, 0.4, count))
    fallen = np.zeros(len(xy), dtype=bool)
    for k in range(count):
        fallen |= np.hypot(xy[:, 0] - x[k], xy[:, 1] - y[k]) < radius[k]
    return fallen


def _grow(xy: Field, creek_m: Field, cover: Cover, chance: np.random.Generator) -> Crowns:
    """Give each tree a height and a crown that suit its place."""
    code = sample(cover, xy)
    inside_m = sample(distance_to(~np.isin(cover, FOREST)), xy)
    stand = 19.5 + 2.6 * noise("stand age", 260) + 0.8 * noise("site", 60)
    height = sample(stand, xy) * np.exp(chance.normal(-0.04, 0.14, len(xy)))
    height *= 0.8 + 0.2 * ramp(inside_m, 2, 16)
    height *= np.where(code == SWAMP, 0.8 + 0.25 * (1 - ramp(creek_m, 15, 40)), 1)
    giant = chance.random(len(xy)) < 0.06
    height = np.where(giant, height * 1.2, height)
    radius = (1.5 + 0.12 * height) * np.exp(chance.normal(0, 0.2, len(xy)))
    radius *= np.where(giant, 1.45, 1.0) * (1.2 - 0.2 * ramp(inside_m, 2, 12))
    alone = np.isin(code, (GRASS, LAWN)) | sample(pasture_mask(cover), xy)
    height = np.where(alone, chance.uniform(9, 19, len(xy)), height)
    radius = np.where(alone, height * chance.uniform(0.24, 0.36, len(xy)), radius)
    hedge = sample(hedge_mask(), xy) & (inside_m < 8)
    height = np.where(hedge, chance.uniform(5, 15, len(xy)), height)
    radius = np.where(hedge, 1.2 + 0.2 * height, radius)
    low = np.isin(code, (SHRUB, MARSH))
    height = np.where(low, np.exp(chance.normal(1.15, 0.3, len(xy))), height)
    radius = np.where(low, 0.9 + 0.35 * height, radius)
    cone = (code == MIXED) & (chance.random(len(xy)) < 0.45)
    radius = np.where(cone, radius * 0.75, radius)
    return Crowns(xy[:, 0], xy[:, 1], np.clip(height, LOWEST_M, TALLEST_M), radius, cone)


def _plantation(cover: Cover) -> Crowns:
    """Conifers in rows, all of an age."""
    chance = dice("plantation")
    pq = rows_of(PLANTATION, 4.8)
    pq = pq + chance.normal(0, 0.25, pq.shape)
    x, y = survey_to_local(pq[:, 0], pq[:, 1])
    height = 15.5 + chance.normal(0, 1.1, len(pq))
    radius = chance.uniform(2.3, 3.1, len(pq))
    trees = Crowns(x, y, height, radius, np.ones(len(pq), dtype=bool))
    stands = sample(cover, np.column_stack([x, y])) == CONIFER
    return trees.where(stands & (chance.random(len(pq)) > 0.06))


def _clear_of(trees: Crowns, open_ground: Mask, creek_m: Field) -> Crowns:
    """Narrow crowns that would reach over open ground; drop thin ones and trunks in the creek."""
    xy = np.column_stack([trees.x, trees.y])
    room = sample(distance_to(open_ground), xy) - 2 * CELL_M
    radius = np.minimum(trees.radius_m, room)
    narrowed = Crowns(trees.x, trees.y, trees.height_m, radius, trees.cone)
    return narrowed.where((radius > 1.4) & (sample(creek_m, xy) > 6))


def _stamp(trees: Crowns) -> Field:
    """Set every crown into the raster; the highest leaf of a cell counts."""
    chance = dice("crown shapes")
    height = np.zeros((ROWS, COLUMNS))
    lobes = chance.uniform(0, 2 * np.pi, (len(trees.x), 2))
    for x, y, top, radius, cone, (two, three) in zip(
        trees.x, trees.y, trees.height_m, trees.radius_m, trees.cone, lobes, strict=True
    ):
        reach = radius * 1.25
        rows = slice(
            max(int((HEIGHT_M - y - reach) / CELL_M), 0), int((HEIGHT_M - y + reach) / CELL_M) + 1
        )
        columns = slice(max(int((x - reach) / CELL_M), 0), int((x + reach) / CELL_M) + 1)
        east, north = X_M[columns][None, :] - x, Y_M[rows][:, None] - y
        angle = np.arctan2(north, east)
        rim = radius * (1 + 0.14 * np.cos(2 * angle + two) + 0.1 * np.cos(3 * angle + three))
        out = np.hypot(east, north) / rim
        crown = _cone(out) if cone else _dome(out)
        height[rows, columns] = np.maximum(height[rows, columns], top * crown)
    return height


def _dome(out: Field) -> Field:
    """Broadleaf crown as a share of the tree's height, by distance out from the trunk, 0..1."""
    return np.where(out < 1, 0.5 + 0.5 * np.sqrt(np.maximum(0, 1 - out**2.2)), 0.0)


def _cone(out: Field) -> Field:
    """Conifer crown as a share of the tree's height, by distance out from the trunk, 0..1."""
    return np.where(out < 1, 0.4 + 0.6 * (1 - out), 0.0)
