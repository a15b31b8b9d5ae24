"""What layers are computed from, and what a run has to know of each."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import geopandas as gpd

from suitability.grid import Float32, Grid, Window
from suitability.layers.cover import Cover
from suitability.layers.land import Land
from suitability.sun import SeasonHours


@dataclass(frozen=True)
class Measurement:
    """What the layers of a window are computed from.

    Parameters
    ----------
    grid : Grid
        The whole grid.
    window : Window
        Where the layers are wanted.
    around : Window
        The window that `land` is known on, which holds `window`.
    land : Land
        Ground, canopy and buildings.
    water : geopandas.GeoDataFrame
        Lines and polygons of water, also from beyond the grid.
    cover : Cover
        Land cover within reach of the window.
    sun : SeasonHours
        Direct-sun hours of the window.
    reach_m : mapping
        By layer: how far land may lie that changes it. [m]
    features : mapping
        By layer of the run's own: the features that it is measured from.
    given : callable
        Returns the raster that a layer of the run's own is the value of, on `window`.
    ground_of : callable
        Returns the ground of any window, also beyond the grid. [m]
    heat : mapping
        By layer of the run's own: hours in which its box would be too warm. [h]
    threads : int
        For each layer.
    found : dict
        Layers computed before that others need, as they left their function.
    """

    grid: Grid
    window: Window
    around: Window
    land: Land
    water: gpd.GeoDataFrame
    cover: Cover
    sun: SeasonHours
    reach_m: Mapping[str, float]
    features: Mapping[str, gpd.GeoDataFrame]
    given: Callable[[str], Float32]
    ground_of: Callable[[Window], Float32]
    heat: Mapping[str, Float32] = field(default_factory=dict)
    threads: int = 2
    found: dict[str, Float32] = field(default_factory=dict)


@dataclass(frozen=True)
class LayerSpec:
    """A layer.

    Parameters
    ----------
    compute : callable
        From a `Measurement` to float32, on its `around` or its `window`.
    unit : str
        Unit of the values, which the layer's name ends in.
    reach_m : float
        Land further away than this changes nothing, unless a run asks for more. [m]
    title : str
        What a person reads.
    needs : tuple of str
        Layers to be computed before.
    is_distance : bool
        Measures no further than it reaches; a run that values greater distances makes it reach on.
    """

    compute: Callable[[Measurement], Float32]
    unit: str
    reach_m: float
    title: str
    needs: tuple[str, ...] = ()
    is_distance: bool = False
