"""The whole land of a run, window by window: samples of its candidates, and a raster of counts."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from suitability.decide.robustness_land import (
    BEST_SHARE,
    sampled,
    thresholds,
    times_among_best,
)
from suitability.grid import Float64
from suitability.outputs.rasters import assemble_raster, write_part
from suitability.robustness.finished import Finished

SAMPLE = 100_000  # cells: the share of the best is then known to a thousandth of the land
STABLE_SHARE = 0.95
Tell = Callable[[float], None]


@dataclass(frozen=True)
class Sample:
    """Cells of the land, drawn the same way every time.

    Parameters
    ----------
    values : numpy.ndarray
        (m, n) the criteria's values.
    candidates : int
        How many candidate cells there are in all.
    """

    values: Float64
    candidates: int


@dataclass(frozen=True)
class Stability:
    """How sure the land's best tenth is.

    Parameters
    ----------
    always_in, always_out : float
        Share of the candidate cells that are in, or out, in at least 95 % of the draws.
    mean_in : float
        Mean share of the candidate cells that are in; above a tenth where equals straddle it.
    """

    always_in: float
    always_out: float
    mean_in: float

    @property
    def stable(self) -> float:
        """Share of the candidate cells whose place is stable."""
        return self.always_in + self.always_out


def sample_land(run: Finished, most: int = SAMPLE) -> Sample:
    """Return values of candidate cells: of all, or of about as many as wanted.

    Parameters
    ----------
    run : Finished
        The run.
    most : int
        About how many cells are wanted; all where there are no more.
    """
    count = sum(int(run.candidates(window).sum()) for window in run.windows)
    share = min(1.0, most / max(1, count))
    taken = [
        run.values(window, run.candidates(window) & sampled(window, share))
        for window in run.windows
    ]
    return Sample(np.concatenate(taken), count)


def write_stability(
    path: Path, run: Finished, sample: Sample, weights: Float64, tell: Tell
) -> Stability:
    """Write in what share of the draws each candidate cell is among the best tenth of the land.

    Parameters
    ----------
    path : pathlib.Path
        Where to; ends in `.tif`.
    run : Finished
        The run.
    sample : Sample
        Of its land: the lowest score of the best tenth is found in it.
    weights : numpy.ndarray
        (draws, k) drawn weights.
    tell : callable
        Is told how far it is, 0..1.
    """
    lowest = thresholds(run.weighing.score, sample.values, weights)
    draws, hidden = weights.shape[0], path.parent / ".parts"
    # In whole draws: 0.95 of 500 is 475, whatever a float makes of it.
    often, seldom = round(STABLE_SHARE * draws), round((1 - STABLE_SHARE) * draws)
    always_in = always_out = inside = 0
    parts = {window: hidden / f"{window.row}_{window.col}.tif" for window in run.windows}
    try:
        for number, (window, part) in enumerate(parts.items()):
            wanted = run.candidates(window)
            times = times_among_best(
                run.weighing.score, run.values(window, wanted), weights, lowest
            )
            share = np.full(wanted.shape, np.nan, np.float32)
            share[wanted] = times / draws
            write_part(part, share)
            always_in += int((times >= often).sum())
            always_out += int((times <= seldom).sum())
            inside += int(times.sum())
            tell((number + 1) / len(parts))
        assemble_raster(
            path,
            parts,
            run.grid,
            name=path.stem,
            unit="1",
            description=f"Share of {draws} draws of the weights in which the cell is among the "
            f"best {BEST_SHARE:.0%} of the candidate cells",
        )
    finally:
        shutil.rmtree(hidden, ignore_errors=True)
    cells = sample.candidates
    return Stability(always_in / cells, always_out / cells, inside / draws / cells)
