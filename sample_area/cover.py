"""Land cover in NLCD classes, painted in the order in which land comes to be used."""

from __future__ import annotations

import numpy as np
from frame import CELL_M, XX_M, YY_M, Field, Mask, mask_of, noise
from numpy.typing import NDArray
from places import (
    LANES,
    OWN_PLOTS,
    PASTURE,
    PLANTATION,
    ROADS,
    WOODLOTS,
    YARDS,
    askew,
    buildings,
    fields,
    hedgerows,
)
from scipy.ndimage import distance_transform_edt, gaussian_filter, label
from shapely import union_all
from terrain import CREEK_HALF_WIDTH_M, Terrain

WATER, LAWN, PAVED, ROOF = 11, 21, 22, 23
BROADLEAF, CONIFER, MIXED, SHRUB, GRASS = 41, 42, 43, 52, 71
HAY, CROP, SWAMP, MARSH = 81, 82, 90, 95
FOREST = (BROADLEAF, CONIFER, MIXED, SWAMP)

Cover = NDArray[np.uint8]


def paint(terrain: Terrain) -> Cover:
    """Paint the land cover of every cell."""
    cover = np.full(XX_M.shape, BROADLEAF, dtype=np.uint8)
    cover[noise("mixed", 340) > 1.1] = MIXED
    _till(cover, terrain)
    _plant_bottom(cover, terrain)
    for shape in askew(WOODLOTS):
        cover[mask_of([shape]) & (cover != SWAMP)] = BROADLEAF
    cover[mask_of(askew((PLANTATION,))) & (terrain.outside_floodplain_m > 300)] = CONIFER
    _wet(cover, terrain)
    cover = _rounded(cover)
    cover[hedge_mask() & np.isin(cover, (CROP, HAY, GRASS))] = BROADLEAF
    _build_up(cover)
    cover[mask_of(list(terrain.ponds.values()), touched=True)] = WATER
    cover[creek_distance(terrain) <= CREEK_HALF_WIDTH_M] = WATER
    return cover


def _till(cover: Cover, terrain: Terrain) -> None:
    """Farm the level ground outside the floodplain, in plots."""
    ground = gaussian_filter(terrain.elevation_m, 5)
    slope = np.hypot(*np.gradient(ground, CELL_M))
    level = gaussian_filter((slope < 0.075).astype(float), 6) > 0.6
    level &= terrain.outside_floodplain_m > 22 + 8 * noise("field edge", 70)
    level = _broad(level, width_m=36, area_m2=12_000)
    for plot in fields():
        cover[mask_of([plot.shape]) & level] = plot.code
    old_field = (cover == SHRUB) & (noise("old field", 120) < -0.3)
    cover[old_field] = GRASS


def _broad(mask: Mask, width_m: float, area_m2: float) -> Mask:
    """Keep what a disk of that width fits into, and of that only pieces of that area."""
    core = distance_to(~mask) > width_m / 2
    opened = distance_to(core) <= width_m / 2
    pieces, _ = label(opened)
    area = np.bincount(pieces.ravel()) * CELL_M**2
    return np.asarray(opened & (area[pieces] >= area_m2))


def _plant_bottom(cover: Cover, terrain: Terrain) -> None:
    """Cover the floodplain: woods, wet meadow and swamp by the lie of the land, and a pasture."""
    bottom = terrain.outside_floodplain_m < 0
    wetness = noise("wetness", 230)
    cover[bottom] = BROADLEAF
    cover[bottom & (wetness > 0.45)] = SWAMP
    cover[bottom & (wetness < -0.25)] = GRASS
    pasture = mask_of(askew((PASTURE,))) & (noise("pasture", 150) < 1.3)
    cover[pasture] = HAY
    strip = 13 + 6 * noise("strip", 120)
    cover[(creek_distance(terrain) < strip) & (noise("strip gaps", 160) > -0.9)] = SWAMP


def _wet(cover: Cover, terrain: Terrain) -> None:
    """Ring the fen's pond with marsh and the marsh with swamp; fill the old bend."""
    edge = terrain.fen + 0.09 * noise("fen edge", 60)
    cover[edge < 1.08] = SWAMP
    cover[edge < 0.82] = MARSH
    bend, _ = terrain.oxbow.nearest(XX_M, YY_M)
    cover[bend < 8] = MARSH


def _build_up(cover: Cover) -> None:
    """Lay verges, yards, roads, lanes and roofs."""
    roads, lanes = askew(ROADS), askew(LANES)
    cover[mask_of([road.buffer(6.4) for road in roads])] = LAWN
    cover[mask_of(askew(YARDS))] = LAWN
    cover[mask_of([*roads, *lanes])] = PAVED
    cover[mask_of([b.shape for b in buildings()], touched=True)] = ROOF


def _rounded(cover: Cover) -> Cover:
    """Give each cell the class that prevails about it, so that no slivers are left."""
    codes: Cover = np.unique(cover)
    share = np.stack([gaussian_filter((cover == code).astype(np.float64), 1.6) for code in codes])
    prevailing: Cover = codes[np.argmax(share, axis=0)]
    return prevailing


def hedge_mask() -> Mask:
    """Cells of the hedgerows, with the gaps that time has made."""
    lines = union_all([line.buffer(5) for line in hedgerows()])
    return np.asarray(mask_of([lines]) & (noise("hedge gaps", 70) > -1.0))


def pasture_mask(cover: Cover) -> Mask:
    """Grazed land, where single trees stand."""
    return np.asarray(mask_of(askew((PASTURE,))) & (cover == HAY))


def own_grass_mask(cover: Cover) -> Mask:
    """Grassland of the preserve's own plots, where a tree grows up here and there."""
    shapes = [plot.shape for plot in OWN_PLOTS if plot.code == GRASS]
    return np.asarray(mask_of(askew(tuple(shapes))) & (cover == GRASS))


def creek_distance(terrain: Terrain) -> Field:
    """Distance from each cell to the creek's middle [m]."""
    return terrain.streams[0].line.nearest(XX_M, YY_M)[0]


def distance_to(mask: Mask) -> Field:
    """Distance from each cell to the nearest cell of a mask [m]."""
    return np.asarray(distance_transform_edt(~mask) * CELL_M)
