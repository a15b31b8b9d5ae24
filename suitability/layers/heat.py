"""Hours in which a box would be too warm, from the sun that warms it most.

Each position of the sun counts by its month and its hour of the day; the hours follow from the sum
of those that reach a cell, by a table. Table and weights are found elsewhere, from places of the
land at which boxes were modelled.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import numpy as np

from suitability.grid import Float32, Float64
from suitability.sun import FarLand, Scene, SunPath, lit_hours

# Weights are whole numbers of this sum at most: float32 adds them up exactly, in whatever order.
_WHOLE = 2.0**23


@dataclass(frozen=True)
class HeatTable:
    """From the sun that reaches a cell to hours above a temperature.

    Parameters
    ----------
    lon : float
        Where the sun's hours are those of the day. [degrees]
    weight : tuple of tuple of float
        (12, 24) what an hour of sun a day counts, by month and hour of the mean solar day.
    sun : tuple of float
        (k,) rising sums of weighted positions.
    hours : tuple of float
        (k,) hours of the season at those, rising. [h]
    """

    lon: float
    weight: tuple[tuple[float, ...], ...]
    sun: tuple[float, ...]
    hours: tuple[float, ...]

    @classmethod
    def of(cls, kept: Mapping[str, Any]) -> HeatTable:
        """Return what `dataclasses.asdict` made of a table, perhaps by way of JSON."""
        return cls(
            kept["lon"],
            tuple(tuple(month) for month in kept["weight"]),
            tuple(kept["sun"]),
            tuple(kept["hours"]),
        )

    def counts(self, sun: SunPath) -> Float32:
        """Return what each position of the sun counts, (n,) whole numbers."""
        weight = np.asarray(self.weight)[sun.month - 1, solar_hour(sun, self.lon)]
        return whole_counts(weight * sun.season_hours)

    def hours_at(self, sums: Float32) -> Float32:
        """Return the hours for sums of positions that reach a place, in their shape. [h]."""
        return np.interp(sums, self.sun, self.hours).astype(np.float32)


def solar_hour(sun: SunPath, lon: float) -> np.ndarray:
    """Return the hour of the mean solar day in which each position lies, (n,) 0..23."""
    utc_h = np.asarray(sun.utc.hour + sun.utc.minute / 60 + sun.utc.second / 3600)
    return np.floor((utc_h + lon / 15) % 24).astype(np.intp)


def whole_counts(weight: Float64) -> Float32:
    """Return weights as whole numbers, none of them below 0, that sum up to 2²³ at most."""
    total = weight.sum()
    return np.floor(weight * (_WHOLE / total) if total > 0 else weight).astype(np.float32)


def hours_too_warm(
    scene: Scene,
    sun: SunPath,
    convergence_deg: float,
    table: HeatTable,
    *,
    lines_per_cell: int = 1,
    threads: int = 2,
    first_cell: tuple[int, int] = (0, 0),
    far: FarLand | None = None,
    part: tuple[slice, slice] = (slice(None), slice(None)),
) -> Float32:
    """Return hours of the season in which a box would be too warm, NaN as the receiver. [h].

    Parameters
    ----------
    table : HeatTable
        What sun warms the box, and by how much.
    scene, sun, convergence_deg, lines_per_cell, threads, first_cell, far, part
        As for `suitability.sun.season_hours`.
    """
    counts = table.counts(sun)
    grid_azimuth = sun.azimuth_deg - convergence_deg

    def swept(chosen: np.ndarray) -> Float32:
        return lit_hours(
            scene,
            grid_azimuth[chosen],
            sun.altitude_deg[chosen],
            counts[chosen],
            lines_per_cell=lines_per_cell,
            first_cell=first_cell,
            far=far,
        )[part]

    warming = np.flatnonzero(counts > 0)
    halves: Sequence[np.ndarray] = np.array_split(warming, threads)
    with ThreadPoolExecutor(threads) as pool:
        total = np.asarray(sum(pool.map(swept, halves)), dtype=np.float32)
    hours = table.hours_at(total)
    hours[scene.unknown[part]] = np.nan
    return hours
