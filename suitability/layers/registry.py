"""Every layer of a run by its name: how it is computed, its unit, and how far it reaches."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

from suitability.config import RunSettings
from suitability.grid import Float32, Grid, Window
from suitability.layers.canopy import FAR_EDGE_M, canopy_edge_m, clearance_m
from suitability.layers.land import Land
from suitability.layers.terrain import slope_deg
from suitability.layers.water import FAR_WATER_M, Water, water_distance_m
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
    water : Water
        Water within reach of the window.
    sun : SeasonHours
        Direct-sun hours of the window.
    reach_m : mapping
        By layer: how far land may lie that changes it. [m]
    threads : int
        For each layer.
    found : dict
        Layers computed before that others need, as they left their function.
    """

    grid: Grid
    window: Window
    around: Window
    land: Land
    water: Water
    sun: SeasonHours
    reach_m: Mapping[str, float]
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


BUILT_IN: dict[str, LayerSpec] = {
    "direct_sun_h": LayerSpec(lambda m: m.sun.mean, "h", 0.0, "direct sun a day"),
    "morning_sun_h": LayerSpec(lambda m: m.sun.morning, "h", 0.0, "direct sun before noon"),
    "afternoon_sun_h": LayerSpec(lambda m: m.sun.afternoon, "h", 0.0, "direct sun after noon"),
    "darkest_month_sun_h": LayerSpec(
        lambda m: m.sun.darkest_month, "h", 0.0, "direct sun a day in the darkest month"
    ),
    "water_distance_m": LayerSpec(
        lambda m: water_distance_m(m.grid, m.window, m.water, m.reach_m["water_distance_m"]),
        "m",
        FAR_WATER_M,
        "distance to water",
        is_distance=True,
    ),
    "canopy_edge_m": LayerSpec(
        lambda m: canopy_edge_m(m.land, m.reach_m["canopy_edge_m"]),
        "m",
        FAR_EDGE_M,
        "distance to the canopy edge",
        is_distance=True,
    ),
    "clearance_m": LayerSpec(
        lambda m: clearance_m(m.land, m.found["canopy_edge_m"], m.reach_m["clearance_m"]),
        "m",
        FAR_EDGE_M,
        "open space to canopy or building",
        needs=("canopy_edge_m",),
        is_distance=True,
    ),
    "slope_deg": LayerSpec(lambda m: slope_deg(m.land), "deg", 0.0, "slope of the ground"),
    "ground_elevation_m": LayerSpec(lambda m: m.land.ground, "m", 0.0, "elevation of the ground"),
}


def layers_of(settings: RunSettings) -> dict[str, LayerSpec]:  # noqa: ARG001
    """Return the layers that a run measures, each after those that it needs."""
    return dict(BUILT_IN)


def reaches(layers: Mapping[str, LayerSpec], wanted_m: Mapping[str, float]) -> dict[str, float]:
    """Return how far each layer reaches in a run. [m].

    Parameters
    ----------
    layers : mapping
        The run's layers by name.
    wanted_m : mapping
        By layer, the greatest distance that the run tells apart; a layer reaches at least as far
        as those that need it. [m]
    """
    reach = {
        name: max(spec.reach_m, wanted_m.get(name, 0.0)) if spec.is_distance else spec.reach_m
        for name, spec in layers.items()
    }
    for name, spec in layers.items():
        for need in spec.needs:
            reach[need] = max(reach[need], reach[name])
    return reach


def measure(
    layers: Mapping[str, LayerSpec], measurement: Measurement
) -> Iterator[tuple[str, Float32]]:
    """Yield every layer, (rows, cols) of the measurement's window.

    Parameters
    ----------
    layers : mapping
        By name, each after those that it needs.
    measurement : Measurement
        What they are computed from.
    """
    core = measurement.window.within(measurement.around)
    whole = (measurement.around.rows, measurement.around.cols)
    needed = {need for spec in layers.values() for need in spec.needs}
    for name, spec in layers.items():
        values = spec.compute(measurement)
        if name in needed:
            measurement.found[name] = values
        yield name, values[core] if values.shape == whole else values
