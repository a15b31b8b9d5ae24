"""Water of a run: lines and polygons, and which of them count in its season."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import geopandas
import numpy as np

from suitability.config import RunSettings
from suitability.errors import InputError
from suitability.grid import Grid
from suitability.inputs.permanent import (
    flowing_all_season,
    lasting_of,
    load_permanence,
    told_of,
)
from suitability.inputs.places import Locate, place_of
from suitability.inputs.report import InputReport
from suitability.inputs.vector import Kind, read_features, together

_WATER: frozenset[Kind] = frozenset({"line", "polygon"})


@dataclass(frozen=True)
class Waters:
    """Water of a run, in the grid's CRS.

    Parameters
    ----------
    counting : geopandas.GeoDataFrame
        Lines and polygons to which distance is measured.
    dry_beds : geopandas.GeoDataFrame or None
        Those that may be dry in the season: no distance is measured to them, yet no box may stand
        in them.
    reports : tuple of InputReport
        What each source is, and what was done to it.
    """

    counting: geopandas.GeoDataFrame
    dry_beds: geopandas.GeoDataFrame | None
    reports: tuple[InputReport, ...]


def read_water(
    settings: RunSettings, grid: Grid, locate: Locate, reach_m: Mapping[str, float]
) -> Waters:
    """Read lines and polygons of water, also from beyond the grid; some must count.

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

    Raises
    ------
    InputError
        If there is no source, no feature of any is within reach, or none counts in the season.
    """
    sources = settings.inputs.streams
    if sources is None:
        msg = "the run names no streams, and none were derived from its elevation"
        raise InputError(msg, where=locate("inputs"), fix="give `inputs.streams`")
    counting, dry, reports = [], [], []
    for number, source in enumerate(sources):
        place = locate(f"inputs.streams[{number}]")
        features, report = read_features(
            source,
            grid,
            buffer_m=reach_m.get("water_distance_m", 0.0),
            kinds=_WATER,
            role="streams",
            place=place,
        )
        if source.permanence is not None:
            where = place_of(source.path, place)
            table = load_permanence(source.permanence.table, place)
            lasting = lasting_of(features, source.permanence, table, where)
            report = told_of(report, lasting, source.permanence, settings)
            counts = np.isin(lasting, list(flowing_all_season(settings)))
            dry.append(features[~counts & (lasting != "no_water")])
            features = features[counts]
        counting.append(features)
        reports.append(report)
    water = together(counting, [source.path for source in sources], grid)
    if water.empty:
        raise _no_water(reports, locate)
    beds = together(dry, [""] * len(dry), grid) if dry else None
    return Waters(water, None if beds is None or beds.empty else beds, tuple(reports))


def _no_water(reports: list[InputReport], locate: Locate) -> InputError:
    seen = [text for report in reports for text in report.warnings]
    seen = seen or [text for report in reports for text in (*report.done, *report.assumed)]
    msg = f"no water: {'; '.join(seen)}. Distance to water would be unknown everywhere"
    fix = "correct the filter (`where`), the layer or the file, so that some water is left"
    return InputError(msg, where=locate("inputs.streams"), fix=fix)
