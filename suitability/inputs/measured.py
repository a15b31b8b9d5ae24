"""What the layers of a run's own are measured from: their features and rasters."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import geopandas
import numpy as np

from suitability.config import RunSettings
from suitability.config.layers import MeasuredLayer, RasterValue
from suitability.config.sources import VectorSource
from suitability.grid import Grid
from suitability.inputs.cells import ValueCells
from suitability.inputs.legend import load_legend
from suitability.inputs.opening import open_raster
from suitability.inputs.places import Locate, place_of
from suitability.inputs.raster import report_values, require_overlap
from suitability.inputs.report import InputReport
from suitability.inputs.sampling import sample_windows
from suitability.inputs.vector import ANY_KIND, Kind, read_features, together

_POINT: frozenset[Kind] = frozenset({"point"})

FeaturesByLayer = dict[str, geopandas.GeoDataFrame]


def read_layer_features(
    settings: RunSettings, grid: Grid, locate: Locate, reach_m: Mapping[str, float]
) -> tuple[FeaturesByLayer, tuple[InputReport, ...]]:
    """Read the features of every layer that is measured from some, also from beyond the grid.

    Parameters
    ----------
    settings : RunSettings
        The run.
    grid : Grid
        Its grid.
    locate : callable
        Gives the line of the run file for a key, for errors.
    reach_m : mapping
        By layer: how far beyond the grid a feature counts. [m]

    Returns
    -------
    features : dict
        By layer, in the grid's CRS; maybe none, which a warning says.
    reports : tuple of InputReport
        What each source is.

    Raises
    ------
    InputError
        If a source cannot be used.
    """
    found: FeaturesByLayer = {}
    reports: list[InputReport] = []
    for name, layer in settings.layers.items():
        if layer.vectors is not None:
            found[name], told = _features_of(name, layer, layer.vectors, grid, locate, reach_m)
            reports += told
    return found, tuple(reports)


def _features_of(
    name: str,
    layer: MeasuredLayer,
    vectors: tuple[str, tuple[VectorSource, ...]],
    grid: Grid,
    locate: Locate,
    reach_m: Mapping[str, float],
) -> tuple[geopandas.GeoDataFrame, list[InputReport]]:
    key, sources = vectors
    kinds = ANY_KIND if layer.density is None else _POINT
    frames, reports = [], []
    for number, source in enumerate(sources):
        place = locate(f"layers.{name}.{key}[{number}]")
        features, report = read_features(
            source, grid, buffer_m=reach_m[name], kinds=kinds, role=name, place=place
        )
        frames.append(features)
        reports.append(report)
    if all(frame.empty for frame in frames):
        value = f"{reach_m[name]:g} m" if layer.distance is not None else "0"
        words = f"{name} has no feature within reach: it is {value} everywhere"
        reports[-1] = replace(reports[-1], warnings=(*reports[-1].warnings, words))
    return together(frames, [source.path for source in sources], grid), reports


def look_at_layers(settings: RunSettings, grid: Grid, locate: Locate) -> list[InputReport]:
    """Look at what layers are measured from beside features, without measuring them.

    Raises
    ------
    InputError
        If a raster cannot be used, or land cover is named that its legend does not hold.
    """
    require_usable(settings, grid, locate)
    reports = []
    for name, layer in settings.layers.items():
        if layer.value is not None:
            reports.append(_sampled(name, layer.value, grid, locate(f"layers.{name}.value")))
        elif layer.box_heat is not None and settings.inputs.weather is not None:
            path = settings.inputs.weather.path
            reports.append(InputReport(name, path, facts=(in_words(layer),)))
        elif layer.vectors is None:
            source = (
                settings.inputs.elevation if layer.cover is None else settings.inputs.land_cover
            )
            reports.append(InputReport(name, source.path, facts=(in_words(layer),)))
    return reports


def require_usable(settings: RunSettings, grid: Grid, locate: Locate) -> None:
    """Refuse layers of rasters that lie elsewhere, or of land cover that the legend lacks.

    Raises
    ------
    InputError
        At the first such layer.
    """
    legend = load_legend(settings.inputs.land_cover.legend, locate("inputs.land_cover.legend"))
    legend.codes_of(settings.foraging.of, locate("foraging.of"))
    for name, layer in settings.layers.items():
        if layer.cover is not None:
            legend.codes_of(layer.cover.of, locate(f"layers.{name}.cover.of"))
        if layer.value is not None:
            source, place = layer.value, locate(f"layers.{name}.value")
            with open_raster(source.path, band=source.band, place=place) as dataset:
                require_overlap(dataset, grid, name, place_of(source.path, place))


def in_words(layer: MeasuredLayer) -> str:
    """Return what a layer measures that has no file of its own."""
    if layer.cover is not None:
        edge = layer.cover.woodland_edge
        also = "" if edge is None else f" and of woodland within {edge:g} m of other land"
        of = ", ".join(map(str, layer.cover.of))
        return f"share of {of}{also}, within {layer.cover.within:g} m"
    if layer.position is not None:
        ring = f"{layer.position.beyond:g} to " if layer.position.beyond else ""
        return f"ground above the mean of the ground {ring}{layer.position.within:g} m around"
    if (box := layer.box_heat) is not None:
        return (
            f"hours of the season above {box.above:g} °C in a box ({box.design}, {box.colour}, "
            f"facing {box.facing:g}°): a screening estimate"
        )
    return "where the slope faces, clockwise from true north"


def _sampled(name: str, source: RasterValue, grid: Grid, place: str) -> InputReport:
    with open_raster(source.path, band=source.band, place=place) as dataset:
        cells = ValueCells(dataset, source.band)
        values = np.concatenate([cells(w).ravel() for w in sample_windows(dataset, grid)])
        missing = np.isnan(values)
        report = report_values(
            cells, name, grid, missing=missing, how=f"{values.size:,} cells sampled"
        )
    if missing.all():
        return replace(report, warnings=(*report.warnings, f"{name}: no data in any sampled cell"))
    seen = f"{np.nanmin(values):.3g} to {np.nanmax(values):.3g} seen"
    return replace(report, facts=(*report.facts, seen))
