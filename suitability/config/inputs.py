"""Which files a run reads."""

from __future__ import annotations

from suitability.config.paths import SHIPPED_LEGENDS, SHIPPED_PERMANENCE
from suitability.config.settings import RunSettings


def land_files(settings: RunSettings) -> tuple[str, ...]:
    """Return the path of every input that measured layers depend on: weather warms boxes alone."""
    weather = settings.inputs.weather
    return tuple(path for path in input_files(settings) if weather is None or path != weather.path)


def input_files(settings: RunSettings) -> tuple[str, ...]:
    """Return the path of every input that a run names, once; tables of one's own too."""
    paths: list[str] = []
    for _, source in settings.inputs:
        paths += [one.path for one in (source if isinstance(source, tuple) else (source,)) if one]
    paths += [settings.inputs.land_cover.legend]
    paths += [one.permanence.table for one in settings.inputs.streams or () if one.permanence]
    for layer in settings.layers.values():
        paths += [] if layer.vectors is None else [source.path for source in layer.vectors[1]]
        paths += [] if layer.value is None else [layer.value.path]
    own = (path for path in paths if path not in (*SHIPPED_LEGENDS, *SHIPPED_PERMANENCE))
    return tuple(dict.fromkeys(own))
