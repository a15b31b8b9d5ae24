"""Which files a run reads."""

from __future__ import annotations

from suitability.config.paths import SHIPPED_LEGENDS
from suitability.config.settings import RunSettings


def input_files(settings: RunSettings) -> tuple[str, ...]:
    """Return the path of every input that a run names, once; a legend of one's own too."""
    paths: list[str] = []
    for _, source in settings.inputs:
        paths += [one.path for one in (source if isinstance(source, tuple) else (source,)) if one]
    legend = settings.inputs.land_cover.legend
    return tuple(dict.fromkeys(paths if legend in SHIPPED_LEGENDS else (*paths, legend)))
