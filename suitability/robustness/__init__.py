"""How sure a finished run's ranking is when its weights move."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import numpy as np
import rasterio

from suitability.decide.robustness import confidence_factors, rank_acceptability
from suitability.decide.robustness_land import correlations
from suitability.decide.robustness_swings import swing
from suitability.decide.robustness_weights import draw_weights
from suitability.errors import InputError
from suitability.outputs.atomic import remove
from suitability.outputs.rasters import CACHE_BYTES
from suitability.outputs.robustness_files import FILES, FOLDER, RASTER, RECORD, TABLE
from suitability.quantities import Units
from suitability.robustness.files import write_numbers, write_table
from suitability.robustness.findings import Asked, Findings
from suitability.robustness.finished import Finished, read_finished
from suitability.robustness.land import sample_land, write_stability
from suitability.robustness.pictures import draw_pictures
from suitability.store import only_run

__all__ = ["FILES", "FOLDER", "Asked", "Findings", "robustness"]

Progress = Callable[[str, float | None], None]
_CONFIDENCE_DRAWS = 1000


def robustness(
    folder: str | os.PathLike[str],
    asked: Asked | None = None,
    *,
    progress: Progress | None = None,
    units: Units | None = None,
) -> Findings:
    """Find how sure the ranking of a finished run is, and write it into the run's folder.

    Parameters
    ----------
    folder : path
        The run's folder; results go into `robustness/` in it.
    asked : Asked, optional
        What is asked.
    progress : callable, optional
        Is told the stage and how far it is, 0..1.
    units : {"metric", "us"}, optional
        For pictures; left out, those of the run.

    Raises
    ------
    InputError
        If the folder holds no finished run, or nothing can be written into it.
    ResultError
        If its ranking cannot be asked about, or a run is at work in the folder.
    """
    asked, tell = asked or Asked(), progress or (lambda _stage, _share: None)
    run = read_finished(folder, units)
    out = run.folder / FOLDER
    try:
        with only_run(run.folder), rasterio.Env(GDAL_CACHEMAX=CACHE_BYTES):
            # The numbers go first and come last: while they stand, all files tell of one asking.
            remove(out / RECORD)
            found = _found(run, asked, out, tell)
            tell("drawing", None)
            write_table(out / TABLE, found)
            draw_pictures(out, found)
            write_numbers(out / RECORD, found)
    except OSError as exc:
        msg = f"this cannot be written: {exc.strerror or exc}"
        raise InputError(msg, where=out, fix="make room, or allow writing, there") from exc
    return found


def _found(
    run: Finished, asked: Asked, out: Path, tell: Callable[[str, float | None], None]
) -> Findings:
    tell("ranking places", None)
    more_rows, more_cols = run.more_places(asked.places)
    rows, cols = np.append(run.rows, more_rows), np.append(run.cols, more_cols)
    values = run.values_at(rows, cols)
    drawn = draw_weights(
        run.weighing.weights, run.weighing.groups, asked.spread, draws=asked.draws, seed=asked.seed
    )
    accepted = rank_acceptability(run.weighing.score, values, drawn)
    confidence = confidence_factors(
        run.weighing.score,
        values,
        accepted.central_weights,
        value_error=asked.value_error,
        draws=_CONFIDENCE_DRAWS,
        seed=asked.seed,
    )
    swings = {
        at: swing(run.weighing.score, values, run.weighing.weights, group, at, listed=run.rows.size)
        for group in run.weighing.groups
        for at in range(group.start, group.stop)
        if group.stop - group.start > 1
    }
    tell("sampling the land", None)
    sample = sample_land(run)
    spearman, pearson = correlations(sample.values)
    drawn = draw_weights(
        run.weighing.weights,
        run.weighing.groups,
        asked.spread,
        draws=asked.map_draws,
        seed=asked.seed,
    )

    def told(share: float) -> None:
        tell("judging every cell", share)

    stability = write_stability(out / RASTER, run, sample, drawn, told)
    return Findings(
        run=run,
        asked=asked,
        rows=rows,
        cols=cols,
        values=values,
        scores=run.weighing.score(values, run.weighing.weights[None, :])[0],
        acceptability=accepted,
        confidence=confidence,
        swings=swings,
        spearman=spearman,
        pearson=pearson,
        sample=sample,
        stability=stability,
    )
