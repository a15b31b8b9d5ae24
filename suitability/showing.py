"""What pictures of a run show beside its score, kept in its folder: relief and shapes."""

from __future__ import annotations

import math
from pathlib import Path

import geopandas
import numpy as np

from suitability.caveats import land_of
from suitability.errors import InputError
from suitability.grid import Float32, Grid
from suitability.inputs.gather import Features, gather_rasters
from suitability.outputs.geopackage import write_shapes
from suitability.outputs.rasters import read_raster, read_tags, write_raster
from suitability.plan import Plan
from suitability.store import KEY_TAG
from suitability.sun import hillshade

PICTURE_CELLS = 1600  # along the longer side of a picture: finer is not printed

_LIGHT_DEG = (315.0, 45.0)  # from the north-west, as map readers expect
_SHADES = 255  # more are not seen, and take room
_TITLES = {
    "water": "Water that counts",
    "boundary": "Boundary",
    "buildings": "Buildings",
    "keep_outs": "Keep-out areas",
    "existing_boxes": "Boxes already up",
    "wires": "Overhead lines",
}


def picture_step(grid: Grid) -> int:
    """Return how many cells of a grid are one in a picture of it."""
    return math.ceil(max(grid.shape) / PICTURE_CELLS)


def keep_features(path: Path, features: Features, grid: Grid) -> None:
    """Write the shapes of a run that reach its grid, a layer for each kind that it was given."""
    given: dict[str, geopandas.GeoDataFrame | None] = {
        kind: getattr(features, kind) for kind in _TITLES
    }
    west, south, east, north = grid.bounds
    layers = {
        kind: shapes.cx[west:east, south:north]
        for kind, shapes in given.items()
        if shapes is not None
    }
    write_shapes(path, layers, _TITLES)


def keep_relief(path: Path, plan: Plan, features: Features) -> Float32:
    """Return a run's relief, and write it unless it lies there already."""
    grid = plan.grid.coarser(picture_step(plan.grid))
    kept = _kept(path, plan, grid)
    if kept is not None:
        return kept
    settings, locate = plan.run.settings, plan.run.locate
    land = land_of(settings, grid, gather_rasters(settings, grid, locate, features))
    light = hillshade(land.surface, grid.cell_m, *_LIGHT_DEG)
    shades = (np.round(light * np.float32(_SHADES)) / np.float32(_SHADES)).astype(np.float32)
    write_raster(
        path,
        shades,
        grid,
        name="relief",
        unit="1",
        description="Ground, canopy and buildings in light from the north-west, for pictures",
        tags={KEY_TAG: plan.store.key},
    )
    return shades


def _kept(path: Path, plan: Plan, grid: Grid) -> Float32 | None:
    try:
        if read_tags(path).get(KEY_TAG) != plan.store.key:
            return None
        light, there, _ = read_raster(path)
    except InputError:
        return None
    return light if there.shape == grid.shape else None
