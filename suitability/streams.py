"""Streams for a run that names none: derived from its elevation once, then kept in its folder."""

from __future__ import annotations

import hashlib
import json
import secrets
from dataclasses import asdict, replace
from pathlib import Path

from suitability.config import LoadedRun
from suitability.config.sources import WaterSource
from suitability.grid import Grid
from suitability.inputs.derive import derive_streams
from suitability.inputs.report import InputReport
from suitability.outputs.geopackage import read_metadata, write_geopackage
from suitability.store import KEY_TAG, code_hash, content_of

STREAMS = "derived_streams.gpkg"
_TOLD_TAG = "DERIVED_FROM"


def with_streams(run: LoadedRun, grid: Grid, folder: Path) -> tuple[LoadedRun, InputReport | None]:
    """Return a run that names its streams.

    Parameters
    ----------
    run : LoadedRun
        The run file.
    grid : Grid
        Its grid.
    folder : pathlib.Path
        Where derived streams are kept.

    Returns
    -------
    run : LoadedRun
        The run itself, or one whose streams are those derived.
    report : InputReport or None
        What is told of derived streams.

    Raises
    ------
    InputError
        If none can be derived.
    """
    if run.settings.inputs.streams is not None:
        return run, None
    path, key = folder / STREAMS, _key(run, grid)
    kept = read_metadata(path)
    if kept.get(KEY_TAG) == key:
        report = InputReport.of(json.loads(kept[_TOLD_TAG]))
    else:
        network, report = derive_streams(run.settings, grid, run.locate)
        write_geopackage(
            path,
            network.lines,
            layer="streams",
            geometry_type="LineString",
            title=f"{run.settings.title}: streams derived from elevation",
            description=report.warnings[0],
            layer_metadata={KEY_TAG: key, _TOLD_TAG: json.dumps(asdict(report))},
        )
    source = WaterSource(path=str(path.absolute()))
    inputs = run.settings.inputs.model_copy(update={"streams": (source,)})
    return replace(run, settings=run.settings.model_copy(update={"inputs": inputs})), report


def is_derived(path: Path) -> bool:
    """Tell whether a file holds streams that a run derived."""
    return _TOLD_TAG in read_metadata(path)


def _key(run: LoadedRun, grid: Grid) -> str:
    """Return a hash of all that the streams depend on."""
    settings = run.settings
    depends = {
        "code": code_hash(),
        "grid": [grid.crs.to_wkt(), grid.west, grid.north, grid.cell_m, grid.rows, grid.cols],
        # What cannot be told from its like is never taken for it.
        "content": content_of(settings.inputs.elevation.path) or secrets.token_hex(),
        "elevation": settings.inputs.elevation.model_dump(mode="json", exclude={"path"}),
        "how": settings.water.from_elevation.model_dump(mode="json"),
        "title": settings.title,
    }
    return hashlib.sha256(json.dumps(depends, sort_keys=True).encode()).hexdigest()
