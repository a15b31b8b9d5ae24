"""From a box's hours of heat at some places to a table that holds for all of a land.

At each place the full model gives the hours, and its horizon the sun that reaches it. Hours are
regressed on that sun by month and hour of the day, no weight below 0; the sums that these weights
give are then turned into hours by a curve that only rises.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import isotonic_regression, nnls

from suitability.grid import Float64
from suitability.layers.heat import HeatTable, solar_hour
from suitability.sun import SunPath

KNOTS = 24
# How firmly weights are held to one another: hours of the day in which all places are alike lit
# tell nothing about theirs. Chosen by what predicted other places best.
_HELD = 0.17


def fit_table(sun: SunPath, lit: NDArray[np.bool_], hours: Float64, lon: float) -> HeatTable:
    """Return the table that fits hours of heat at some places.

    Parameters
    ----------
    sun : SunPath
        Positions that count.
    lit : numpy.ndarray
        (places, n) which of them reach each place; from full shade to open land.
    hours : numpy.ndarray
        (places,) that the full model gives. [h]
    lon : float
        Of the land. [degrees]
    """
    weight = _weights(sun, lit, hours, lon)
    # The scale of the sums is theirs alone, so that a table needs no other.
    table = HeatTable(lon, tuple(tuple(month) for month in weight.tolist()), (0.0,), (0.0,))
    sums = np.asarray(lit @ table.counts(sun), dtype=np.float64)
    at, rising = _rising(sums, hours)
    return HeatTable(lon, table.weight, tuple(at.tolist()), tuple(rising.tolist()))


def _weights(sun: SunPath, lit: NDArray[np.bool_], hours: Float64, lon: float) -> Float64:
    """Return what an hour of sun a day counts, (12, 24)."""
    cell = (sun.month - 1) * 24 + solar_hour(sun, lon)
    used, column = np.unique(cell, return_inverse=True)
    of_cell = np.zeros((len(sun), used.size))
    of_cell[np.arange(len(sun)), column] = sun.season_hours
    sunny = lit @ of_cell  # (places, cells) hours a day
    alike = np.ptp(hours) / max(float(np.ptp(sunny.sum(axis=1))), 1e-9)
    held = _HELD * sunny.std(axis=0).mean() * np.sqrt(hours.size) * np.eye(used.size)
    system = np.block([[sunny, np.ones((hours.size, 1))], [held, np.zeros((used.size, 1))]])
    found = nnls(system, np.concatenate([hours, held.sum(axis=0) * alike]))[0][:-1]
    weight = np.zeros(12 * 24)
    weight[used] = found if found.max(initial=0.0) > 0 else 1.0  # no heat: any sun will do
    return weight.reshape(12, 24)


def _rising(sums: Float64, hours: Float64) -> tuple[Float64, Float64]:
    """Return the knots of a curve that only rises."""
    order = np.lexsort((hours, sums))
    at, rising = sums[order], isotonic_regression(hours[order]).x
    groups = np.array_split(np.arange(at.size), min(KNOTS, at.size))
    middle = np.array([(at[group].mean(), rising[group].mean()) for group in groups])
    knots = np.vstack([[at[0], rising[0]], middle, [at[-1], rising[-1]]])
    first = np.unique(knots[:, 0], return_index=True)[1]
    return knots[first, 0], np.maximum.accumulate(knots[first, 1])
