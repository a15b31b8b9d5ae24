"""How much land of a finished run has which score or is out, and in whose parcel it lies."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

import rasterio

from suitability.decide.exclusions import Reason
from suitability.decide.land_counts import LandCount, PieceOfLand
from suitability.errors import InputError, ResultError
from suitability.finished import FinishedRun
from suitability.inputs.burn import numbered
from suitability.outputs.land_table import LAND_TABLE, write_land_table
from suitability.outputs.rasters import CACHE_BYTES
from suitability.parcels import read_parcels
from suitability.quantities import Quantities, Units

WHOLE, ELSEWHERE = "whole land", "in no parcel"

_WINDOW = 1024  # cells along the windows that are counted


@dataclass(frozen=True)
class LandSummary:
    """How much land is what.

    Parameters
    ----------
    pieces : list of (str, PieceOfLand)
        The whole land, then each parcel, and what is in none.
    reasons : tuple of Reason
        Why land of the run may be out.
    cell_m : float
        Edge of a cell. [m]
    quantities : Quantities
        How the run tells areas.
    warnings : tuple of str
        What a reader has to know of the parcels.
    path : pathlib.Path
        The table that was written.
    """

    pieces: list[tuple[str, PieceOfLand]]
    reasons: tuple[Reason, ...]
    cell_m: float
    quantities: Quantities
    warnings: tuple[str, ...]
    path: Path


def summarize(
    folder: str | os.PathLike[str],
    *,
    parcels: str | os.PathLike[str] | None = None,
    layer: str | None = None,
    name_field: str | None = None,
    to: str | os.PathLike[str] | None = None,
    units: Units | None = None,
) -> LandSummary:
    """Count a finished run's land and write the table.

    Parameters
    ----------
    folder : path
        The run's.
    parcels : path, optional
        Polygons; a cell belongs to the parcel that its centre lies in.
    layer : str, optional
        Layer of that file, if it has several.
    name_field : str, optional
        Attribute that names a parcel; parcels of one name are one. Left out, all are one.
    to : path, optional
        The table; left out, `land_summary.csv` in the run's folder.
    units : {"metric", "us"}, optional
        To tell areas in; left out, those of the run. The table has both.

    Raises
    ------
    InputError
        If the run or the parcels cannot be read, or the table not be written.
    ResultError
        If no parcel lies on the run's land.
    """
    run = FinishedRun.of(folder, units)
    grid, reasons = run.grid, _reasons(run)
    features, names, warnings = (
        (None, [], ()) if parcels is None else read_parcels(parcels, layer, name_field, grid)
    )
    order = list(dict.fromkeys(names))
    number_of = {name: number for number, name in enumerate(order, start=1)}
    numbers = [number_of[name] for name in names]
    count, shared = LandCount(len(order)), 0
    with rasterio.Env(GDAL_CACHEMAX=CACHE_BYTES):
        for window in grid.tiles(_WINDOW):
            belongs = None
            if features is not None:
                belongs, twice = numbered(features, numbers, grid.window(window))
                shared += int(twice.sum())
            try:
                count.add(*run.window(window), belongs)
            except ValueError as exc:
                msg = f"score and exclusions do not fit together: {exc}"
                fix = "run `suitability screen` again"
                raise ResultError(msg, where=run.folder, fix=fix) from exc
    if shared:
        warnings += (
            f"{shared:,} cells lie in more than one parcel; each counts for the first of them",
        )
    pieces = [(WHOLE, count.whole)]
    if features is not None:
        pieces += [*zip(order, count.parcels, strict=True), (ELSEWHERE, count.elsewhere)]
    path = run.folder / LAND_TABLE if to is None else Path(to)
    try:
        write_land_table(path, pieces, reasons, grid.cell_m)
    except OSError as exc:
        msg = f"this cannot be written: {exc.strerror or exc}"
        raise InputError(msg, where=path, fix="name another file with --to") from exc
    return LandSummary(pieces, reasons, grid.cell_m, run.quantities, warnings, path)


def _reasons(run: FinishedRun) -> tuple[Reason, ...]:
    told = run.record["excluded_share"].items()
    return tuple(Reason(entry["bit"], key, entry["words"]) for key, entry in told)
