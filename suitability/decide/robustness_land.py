"""The whole land under unsure weights: whose place among the best is sure, what counts twice."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.stats import rankdata

from suitability.decide.robustness_weights import Score
from suitability.grid import Float64, Window

Bool = NDArray[np.bool_]
Counts = NDArray[np.int64]

BEST_SHARE = 0.1
_TOGETHER = 2**20  # scores held at once: fewer cost more, for smaller memory is asked for anew
_MIX = (0xBF58476D1CE4E5B9, 0x94D049BB133111EB)  # of the splitmix64 generator


def sampled(window: Window, share: float) -> Bool:
    """Return which cells of a window are in the sample; (rows, cols).

    Whether a cell is depends on its row and column alone, not on the window.

    Parameters
    ----------
    window : Window
        Where.
    share : float
        Share of all cells that shall be in it, 0..1.
    """
    row = np.arange(window.row, window.row + window.rows, dtype=np.uint64)[:, None]
    col = np.arange(window.col, window.col + window.cols, dtype=np.uint64)[None, :]
    mixed = (row << np.uint64(32)) + col + np.uint64(0x9E3779B97F4A7C15)
    for shift, factor in zip((30, 27), _MIX, strict=True):
        mixed = (mixed ^ (mixed >> np.uint64(shift))) * np.uint64(factor)
    mixed ^= mixed >> np.uint64(31)
    return np.asarray((mixed >> np.uint64(11)) < np.uint64(round(share * 2**53)))


def thresholds(
    score: Score, values: Float64, weights: Float64, *, best_share: float = BEST_SHARE
) -> Float64:
    """Return the lowest score of the best share of the cells in each draw, (draws,).

    Parameters
    ----------
    score : callable
        Gives (draws, m) scores of values and weights.
    values : numpy.ndarray
        (m, n) values of the cells, or of a sample of them.
    weights : numpy.ndarray
        (draws, k) drawn weights.
    best_share : float
        What share counts as the best, 0..1.
    """
    count = values.shape[0]
    place = count - max(1, round(best_share * count))
    lowest = np.empty(weights.shape[0])
    step = max(1, _TOGETHER * 4 // count)
    for start in range(0, weights.shape[0], step):
        scores = score(values, weights[start : start + step])
        scores.partition(place, axis=1)
        lowest[start : start + step] = scores[:, place]
    return lowest


def times_among_best(score: Score, values: Float64, weights: Float64, lowest: Float64) -> Counts:
    """Return in how many draws each cell is among the best; (m,).

    Parameters
    ----------
    score : callable
        Gives (draws, m) scores of values and weights.
    values : numpy.ndarray
        (m, n) values of the cells.
    weights : numpy.ndarray
        (draws, k) drawn weights.
    lowest : numpy.ndarray
        (draws,) scores from `thresholds`; a cell of just this score is in.
    """
    counts = np.empty(values.shape[0], np.int64)
    step = max(1, _TOGETHER // weights.shape[0])
    for start in range(0, values.shape[0], step):
        reached = score(values[start : start + step], weights) >= lowest[:, None]
        counts[start : start + step] = _times(reached)
    return counts


def _times(reached: Bool) -> Counts:
    """Return how many rows are true in each column; in bytes, which is ten times as fast."""
    counts = np.zeros(reached.shape[1], np.int64)
    for start in range(0, reached.shape[0], 255):
        some = reached[start : start + 255].view(np.uint8)
        counts += np.add.reduce(some, axis=0, dtype=np.uint8)
    return counts


def correlations(values: Float64) -> tuple[Float64, Float64]:
    """Return how criteria go together over cells: Spearman's and Pearson's coefficients, (n, n).

    Parameters
    ----------
    values : numpy.ndarray
        (m, n) values of cells; equals share the mean of their ranks. NaN where a criterion
        has the same value everywhere.
    """
    ranks = rankdata(values, axis=0)
    return _pearson(ranks), _pearson(values)


def _pearson(columns: Float64) -> Float64:
    centred = columns - columns.mean(axis=0)
    level = np.ptp(columns, axis=0) == 0
    lengths = np.sqrt((centred**2).sum(axis=0))
    lengths[level] = np.nan
    found: Float64 = np.clip(centred.T @ centred / np.outer(lengths, lengths), -1, 1)
    np.fill_diagonal(found, np.where(level, np.nan, 1.0))
    return found
