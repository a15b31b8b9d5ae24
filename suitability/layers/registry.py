"""Every layer by its name: how it is computed, its unit, and from how far land may change it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from suitability.grid import Layer
from suitability.layers.canopy import canopy_edge_m, clearance_m
from suitability.layers.distance import Float32
from suitability.layers.land import Land
from suitability.layers.terrain import slope_deg
from suitability.layers.water import REACH_M, water_distance_m
from suitability.sun import SeasonHours


@dataclass(frozen=True)
class Measurement:
    """What a layer may be computed from: the land, its sun, and the layers that it needs."""

    land: Land
    sun: SeasonHours
    layers: Mapping[str, Float32]


@dataclass(frozen=True)
class LayerSpec:
    """A layer.

    Parameters
    ----------
    compute : callable
        From a `Measurement` to (rows, cols) float32.
    unit : str
        Unit of the values, which the layer's name ends in.
    reach_m : float
        Land further away than this changes nothing; infinite where there is no such limit. [m]
    title : str
        What a person reads.
    needs : tuple of str
        Layers to be computed before.
    """

    compute: Callable[[Measurement], Float32]
    unit: str
    reach_m: float
    title: str
    needs: tuple[str, ...] = ()


LAYERS: dict[str, LayerSpec] = {
    "direct_sun_h": LayerSpec(lambda m: m.sun.mean, "h", math.inf, "direct sun a day"),
    "morning_sun_h": LayerSpec(lambda m: m.sun.morning, "h", math.inf, "direct sun before noon"),
    "afternoon_sun_h": LayerSpec(lambda m: m.sun.afternoon, "h", math.inf, "direct sun after noon"),
    "darkest_month_sun_h": LayerSpec(
        lambda m: m.sun.darkest_month, "h", math.inf, "direct sun a day in the darkest month"
    ),
    "water_distance_m": LayerSpec(
        lambda m: water_distance_m(m.land), "m", REACH_M, "distance to water"
    ),
    "canopy_edge_m": LayerSpec(
        lambda m: canopy_edge_m(m.land), "m", math.inf, "distance to the canopy edge"
    ),
    "clearance_m": LayerSpec(
        lambda m: clearance_m(m.land, m.layers["canopy_edge_m"]),
        "m",
        math.inf,
        "open space to canopy or building",
        needs=("canopy_edge_m",),
    ),
    "slope_deg": LayerSpec(lambda m: slope_deg(m.land), "deg", 0.0, "slope of the ground"),
}


def measure(
    names: Iterable[str],
    land: Land,
    sun: SeasonHours,
    *,
    progress: Callable[[str], None] | None = None,
) -> dict[str, Layer]:
    """Return the named layers and those they need, in the registry's order.

    Parameters
    ----------
    names : iterable of str
        Keys of `LAYERS`.
    land : Land
        The land.
    sun : SeasonHours
        Its direct-sun hours.
    progress : callable
        Told the title of each layer before it is computed.
    """
    wanted = set(names)
    wanted |= {need for name in wanted for need in LAYERS[name].needs}
    values: dict[str, Float32] = {}
    for name, spec in LAYERS.items():
        if name in wanted:
            if progress is not None:
                progress(spec.title)
            values[name] = spec.compute(Measurement(land, sun, values))
    return {
        name: Layer(name, found, land.grid, LAYERS[name].unit) for name, found in values.items()
    }
