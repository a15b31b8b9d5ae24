"""Walls of buildings as places for boxes: where along them, facing where, what stands before.

A wall is an edge of a footprint, outer or around a courtyard; it rises to the building's height.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import geopandas
import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry.polygon import orient

from suitability.kernels.skyline import skyline_slopes

Float64 = NDArray[np.float64]
Bool = NDArray[np.bool_]
Index = NDArray[np.intp]

# A box hangs before its wall; this far from it, its place is told and sun is looked for. [m]
SETBACK_M = 0.2
# Corners that stray less from a straight line are the surveyor's, not the wall's. [m]
STRAIGHT_M = 0.05
# A wall carries a box if it is as wide as this: boxes are up to 0.6 m wide (common practice). [m]
NARROWEST_M = 1.0
# Bats drop and leave ahead: the open space that is asked for lies within this of the facing.
AHEAD_DEG = 45.0
DIRECTIONS = 360


@dataclass(frozen=True)
class WallPlaces:
    """Places before walls; each array is (n,).

    Parameters
    ----------
    x_m, y_m : numpy.ndarray
        `SETBACK_M` before the wall, in the CRS of the footprints. [m]
    facing_deg : numpy.ndarray
        The way that the wall looks, clockwise from grid north. [degrees]
    building : numpy.ndarray
        Row of the footprint, from 0.
    """

    x_m: Float64
    y_m: Float64
    facing_deg: Float64
    building: Index

    def __len__(self) -> int:
        """Count the places."""
        return int(self.x_m.size)

    @property
    def points(self) -> NDArray[np.object_]:
        """The places as points."""
        return np.asarray(shapely.points(self.x_m, self.y_m), dtype=object)

    def those(self, chosen: Bool | Index) -> WallPlaces:
        """Return some of the places."""
        return WallPlaces(*(getattr(self, each.name)[chosen] for each in fields(self)))


def wall_places(footprints: geopandas.GeoDataFrame, every_m: float) -> WallPlaces:
    """Return places along the walls of buildings, evenly on each wall.

    Parameters
    ----------
    footprints : geopandas.GeoDataFrame
        Polygons, with courtyards as holes, or several of them a row; in metres.
    every_m : float
        Distance between two places on a wall; a shorter wall has one in its middle. [m]
    """
    if every_m <= 0:
        msg = "places on a wall need a distance above 0"
        raise ValueError(msg)
    ends, building = wall_edges(footprints)
    run = ends[:, 2:] - ends[:, :2]
    length = np.hypot(run[:, 0], run[:, 1])
    wide = np.flatnonzero(length >= NARROWEST_M)
    counts = np.maximum(1, np.floor(length[wide] / every_m + 1e-9)).astype(np.intp)
    edge = np.repeat(wide, counts)
    number = np.arange(edge.size) - np.repeat(np.cumsum(counts) - counts, counts)
    along = (number + 0.5) / np.repeat(counts, counts)
    # The solid lies to the left of an edge, so the wall looks to the right.
    out_x, out_y = run[edge, 1] / length[edge], -run[edge, 0] / length[edge]
    return WallPlaces(
        ends[edge, 0] + along * run[edge, 0] + SETBACK_M * out_x,
        ends[edge, 1] + along * run[edge, 1] + SETBACK_M * out_y,
        np.degrees(np.arctan2(out_x, out_y)) % 360,
        building[edge],
    )


def wall_edges(footprints: geopandas.GeoDataFrame) -> tuple[Float64, Index]:
    """Return the straight walls of footprints and whose they are.

    Parameters
    ----------
    footprints : geopandas.GeoDataFrame
        As for `wall_places`.

    Returns
    -------
    ends : numpy.ndarray
        (m, 4) x and y of both ends, the solid to the left. [m]
    building : numpy.ndarray
        (m,) row of the footprint, from 0.
    """
    ends, building = [np.empty((0, 4))], [np.empty(0, np.intp)]
    for row, shape in enumerate(footprints.geometry):
        for part in shapely.get_parts(shape.simplify(STRAIGHT_M)):
            if part.geom_type != "Polygon" or part.is_empty:
                continue
            solid = orient(part)
            for ring in (solid.exterior, *solid.interiors):
                corners = np.asarray(ring.coords)[:, :2]
                ends.append(np.hstack([corners[:-1], corners[1:]]))
                building.append(np.full(len(corners) - 1, row, np.intp))
    return np.concatenate(ends), np.concatenate(building)


def is_walled_up(places: WallPlaces, footprints: geopandas.GeoDataFrame) -> Bool:
    """Say which places lie inside a building: their wall is shared with the one next door."""
    tree = shapely.STRtree(footprints.geometry.to_numpy())
    inside = np.zeros(len(places), bool)
    inside[tree.query(places.points, predicate="intersects")[0]] = True
    return inside


def is_open_ahead(
    places: WallPlaces, footprints: geopandas.GeoDataFrame, clearance_m: float
) -> Bool:
    """Say which places have no building ahead, their own one's other walls included.

    Parameters
    ----------
    places : WallPlaces
        Where.
    footprints : geopandas.GeoDataFrame
        The buildings.
    clearance_m : float
        How far it must be open, within `AHEAD_DEG` of the facing. [m]
    """
    is_open = np.ones(len(places), bool)
    if clearance_m <= SETBACK_M or not len(places):
        return is_open
    turned = places.facing_deg[:, None] + np.linspace(-AHEAD_DEG, AHEAD_DEG, 13)
    arc_x = places.x_m[:, None] + clearance_m * np.sin(np.radians(turned))
    arc_y = places.y_m[:, None] + clearance_m * np.cos(np.radians(turned))
    corners = np.stack(
        [np.column_stack([places.x_m, arc_x]), np.column_stack([places.y_m, arc_y])], axis=2
    )
    ahead = shapely.polygons(corners)
    tree = shapely.STRtree(footprints.geometry.to_numpy())
    is_open[tree.query(ahead, predicate="intersects")[0]] = False
    return is_open


def with_own_wall(horizon_deg: Float64, facing_deg: Float64, above_m: Float64) -> Float64:
    """Return horizons before walls with the wall itself, (n, 360). [degrees].

    Parameters
    ----------
    horizon_deg : numpy.ndarray
        (n, 360) as `wall_horizons` returns them. [degrees]
    facing_deg : numpy.ndarray
        (n,) clockwise from grid north. [degrees]
    above_m : numpy.ndarray
        (n,) what the wall rises above the box. [m]
    """
    behind = -np.cos(np.radians(np.arange(DIRECTIONS)[None, :] - facing_deg[:, None]))
    wall = np.degrees(np.arctan2(above_m[:, None] * np.clip(behind, 0, 1), SETBACK_M))
    return np.where(behind > 0, np.maximum(horizon_deg, wall), horizon_deg)


def wall_horizons(
    places: WallPlaces, height_m: Float64, beyond_deg: ArrayLike, edges: Float64, tops_m: Float64
) -> Float64:
    """Return the horizon before walls: buildings exactly, over what else stands there.

    Parameters
    ----------
    places : WallPlaces
        Where.
    height_m : numpy.ndarray
        (n,) of the boxes, in the datum of the tops. [m]
    beyond_deg : array_like
        (n, 360) horizon of ground and canopy at every whole degree from grid north. [degrees]
    edges, tops_m : numpy.ndarray
        (m, 4) walls of buildings; (m, 2) height of their top at both ends. [m]

    Returns
    -------
    numpy.ndarray
        (n, 360). What lies behind a wall's plane is not in it: no sun comes from there. [degrees]
    """
    slopes = np.tan(np.radians(np.asarray(beyond_deg, np.float64)))
    facing = np.radians(places.facing_deg)
    skyline_slopes(
        places.x_m, places.y_m, height_m, np.sin(facing), np.cos(facing), SETBACK_M,
        np.ascontiguousarray(edges), np.ascontiguousarray(tops_m), slopes,
    )  # fmt: skip
    return np.asarray(np.degrees(np.arctan(slopes)), np.float64)
