"""Layers that a run file names: from what it says of each to how it is computed."""

from __future__ import annotations

import geopandas as gpd
import numpy as np

from suitability.config.layers import Aspect, CoverShare, Density, MeasuredLayer, Position
from suitability.config.units import stem_of, unit_of
from suitability.grid import Float32, Grid, Window
from suitability.inputs.burn import burn
from suitability.layers.cover import cover_share
from suitability.layers.distance import distance_to_features
from suitability.layers.focal import above_mean_within, density_within, reach_cells
from suitability.layers.measurement import LayerSpec, Measurement
from suitability.layers.terrain import aspect_deg, convergence_over


def spec_of(name: str, layer: MeasuredLayer) -> LayerSpec:  # noqa: PLR0911  one line a kind
    """Return how a layer of the run's own is computed."""
    unit, title = unit_of(name), layer.title or stem_of(name).replace("_", " ")
    if layer.distance is not None:
        return LayerSpec(
            lambda m: distance_to_features(m.grid, m.window, m.features[name], m.reach_m[name]),
            unit,
            layer.distance.reach,
            title,
            is_distance=True,
        )
    if layer.cover is not None:
        return cover_spec(layer.cover, title)
    if layer.presence is not None:
        return LayerSpec(lambda m: presence(m.grid, m.window, m.features[name]), unit, 0.0, title)
    if (density := layer.density) is not None:
        return LayerSpec(lambda m: _density(m, name, density), unit, density.within, title)
    if (aspect := layer.aspect) is not None:
        return LayerSpec(lambda m: _aspect(m, aspect), unit, 0.0, title)
    if (position := layer.position) is not None:
        return LayerSpec(lambda m: _position(m, position), unit, position.within, title)
    if (box := layer.box_heat) is not None:
        told = layer.title or f"above {box.above:g} °C, {box.design}, {box.colour}, {box.faces}"
        return LayerSpec(lambda m: m.heat[name], unit, 0.0, f"{told} (screening estimate)")
    return LayerSpec(lambda m: m.given(name), unit, 0.0, title)


def cover_spec(cover: CoverShare, title: str) -> LayerSpec:
    """Return how a share of land cover is computed."""

    def compute(m: Measurement) -> Float32:
        return cover_share(
            m.cover,
            m.window,
            m.cover.legend.codes_of(cover.of),
            within_m=cover.within,
            cell_m=m.grid.cell_m,
            woodland_edge_m=cover.woodland_edge,
        )

    return LayerSpec(compute, "1", cover.within + (cover.woodland_edge or 0.0), title)


def presence(grid: Grid, window: Window, features: gpd.GeoDataFrame) -> Float32:
    """Return 1 where a feature touches the cell and 0 elsewhere, (rows, cols) of the window."""
    return burn(features, grid.window(window), all_touched=True).astype(np.float32)


def points_by_cell(grid: Grid, window: Window, points: gpd.GeoDataFrame) -> np.ndarray:
    """Return how many points lie in each cell of a window, perhaps beyond the grid, int32."""
    x, y = points.geometry.x.to_numpy(), points.geometry.y.to_numpy()
    # By the whole grid's cells, so that every window finds a point in the same one.
    col = np.floor((x - grid.west) / grid.cell_m).astype(np.int64) - window.col
    row = np.floor((grid.north - y) / grid.cell_m).astype(np.int64) - window.row
    here = (row >= 0) & (row < window.rows) & (col >= 0) & (col < window.cols)
    counts = np.zeros((window.rows, window.cols), np.int32)
    np.add.at(counts, (row[here], col[here]), 1)
    return counts


def _density(m: Measurement, name: str, density: Density) -> Float32:
    wide = m.window.grown(reach_cells(density.within, m.grid.cell_m))
    counts = points_by_cell(m.grid, wide, m.features[name])
    return density_within(counts, density.within, m.grid.cell_m)


def _aspect(m: Measurement, aspect: Aspect) -> Float32:
    turn = convergence_over(m.grid, m.around)
    return aspect_deg(m.land, turn, level_below_deg=aspect.level_below)


def _position(m: Measurement, position: Position) -> Float32:
    cell_m = m.grid.cell_m
    ground = m.ground_of(m.window.grown(reach_cells(position.within, cell_m)))
    return above_mean_within(ground, position.within, cell_m, beyond_m=position.beyond)
