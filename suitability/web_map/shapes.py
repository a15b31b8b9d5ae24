"""Water, boundary and buildings as lists of numbers for a page."""

from __future__ import annotations

from typing import Any

import geopandas
import numpy as np
import shapely

from suitability.finished import FinishedRun

# What is drawn, under what name, in the order of the key.
KINDS = {
    "water": "stream or water edge",
    "boundary": "boundary",
    "buildings": "building",
    "keep_outs": "keep-out area",
    "existing_boxes": "box already up",
    "wires": "overhead line",
}
_MOST_CORNERS = 60_000  # of a kind: some 0.7 MB
_ROUNDED_M = 1  # decimals


def shapes_of(run: FinishedRun, tolerance_m: float) -> list[dict[str, Any]]:
    """Return the shapes that a run was given, each kind with its parts.

    Parameters
    ----------
    run : FinishedRun
        The run.
    tolerance_m : float
        How far outlines may move to have fewer corners; more where they are too many. [m]

    Returns
    -------
    list of dict
        `kind`, `words`, and `points`, `lines` and `areas`: x and y in turn, from the grid's lower
        left corner, a list for each point or line, and for each area a list of its rings. [m]
        `moved_m` tells how far outlines may have moved.
    """
    west, south, _, _ = run.grid.bounds
    found = []
    for kind, words in KINDS.items():
        shapes = run.features(kind)
        if shapes is not None and len(shapes):
            found.append({"kind": kind, "words": words, **_parts(shapes, west, south, tolerance_m)})
    return found


def _parts(
    shapes: geopandas.GeoDataFrame, west: float, south: float, tolerance_m: float
) -> dict[str, Any]:
    geometry = shapes.geometry.to_numpy()
    geometry = geometry[~(shapely.is_missing(geometry) | shapely.is_empty(geometry))]
    simple = shapely.simplify(geometry, tolerance_m)
    while shapely.get_num_coordinates(simple).sum() > _MOST_CORNERS and tolerance_m < 1000:
        tolerance_m *= 2
        simple = shapely.simplify(geometry, tolerance_m)
    parts = shapely.get_parts(simple)
    kinds = shapely.get_type_id(parts)

    def numbers(line: shapely.Geometry) -> list[float]:
        corners = shapely.get_coordinates(line) - (west, south)
        return [float(each) for each in np.round(corners, _ROUNDED_M).ravel()]

    return {
        "moved_m": tolerance_m,
        "points": [numbers(part) for part in parts[kinds == 0]],
        "lines": [numbers(part) for part in parts[(kinds == 1) | (kinds == 2)]],
        "areas": [
            [numbers(ring) for ring in (part.exterior, *part.interiors)]
            for part in parts[kinds == 3]
        ],
    }
