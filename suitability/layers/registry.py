"""Every layer of a run by its name: how it is computed, its unit, and how far it reaches."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from suitability.config import LoadedRun, RunSettings
from suitability.config.days import MONTH_NAMES
from suitability.errors import ConfigError
from suitability.grid import Float32
from suitability.layers.canopy import FAR_EDGE_M, canopy_edge_m, clearance_m
from suitability.layers.configured import cover_spec, spec_of
from suitability.layers.measurement import LayerSpec, Measurement
from suitability.layers.terrain import slope_deg
from suitability.layers.water import FAR_WATER_M, water_distance_m

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
# Those that no more than the season's mean day of sun can fill.
SUN_LAYERS = frozenset({"direct_sun_h", "morning_sun_h", "afternoon_sun_h"})
# Of the table of sites, beside the layers.
_COLUMNS = ("x_m", "y_m", "lon_deg", "lat_deg", "water_distance_exact_m")
# The one layer of the program's own that the run file defines closer, in its key `foraging`.
FORAGING = "foraging_share"

BUILT_IN: dict[str, LayerSpec] = {
    "direct_sun_h": LayerSpec(lambda m: m.sun.mean, "h", 0.0, "direct sun a day"),
    "morning_sun_h": LayerSpec(lambda m: m.sun.morning, "h", 0.0, "direct sun before noon"),
    "afternoon_sun_h": LayerSpec(lambda m: m.sun.afternoon, "h", 0.0, "direct sun after noon"),
    "darkest_month_sun_h": LayerSpec(
        lambda m: m.sun.darkest_month, "h", 0.0, "direct sun a day in the darkest month"
    ),
    "water_distance_m": LayerSpec(
        lambda m: water_distance_m(
            m.grid, m.window, m.water, m.cover, m.reach_m["water_distance_m"]
        ),
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


def layers_of(settings: RunSettings) -> dict[str, LayerSpec]:
    """Return the layers that a run measures, each after those that it needs."""
    own = {name: spec_of(name, layer) for name, layer in settings.layers.items()}
    return {**BUILT_IN, FORAGING: cover_spec(settings.foraging, "land to hunt over nearby"), **own}


def named_layers(run: LoadedRun) -> dict[str, LayerSpec]:
    """Return the layers of a run file, once the names of its own are seen to be free.

    Raises
    ------
    ConfigError
        If a name is that of a layer or a column that every run writes, or if two layers' names
        differ in their unit alone, by which the columns of their values would be one.
    """
    layers, own = layers_of(run.settings), run.settings.layers
    stems = {_stem(name): name for name in layers if name not in own}
    for name in own:
        twin = stems.setdefault(_stem(name), name)
        if name in {*BUILT_IN, FORAGING, *_COLUMNS, *map(month_layer, range(1, 13))}:
            what = f"every run has a layer or column {name}"
        elif twin != name:
            what = f"{name} and {twin} differ in their unit alone"
        else:
            continue
        where = run.locate(f"layers.{name}")
        raise ConfigError(what, where=where, fix=f"give it another name, such as own_{name}")
    return layers


def month_layer(month: int) -> str:
    """Return the name of a month's layer of direct-sun hours."""
    return f"{MONTHS[month - 1]}_sun_h"


def month_title(name: str) -> str:
    """Return what a month's layer measures, in words."""
    return f"direct sun a day in {MONTH_NAMES[MONTHS.index(_stem(_stem(name)))]}"


def _stem(name: str) -> str:
    return name.rpartition("_")[0]


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
