"""Direct-sun hours of a season, month by month, mornings and afternoons apart."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from suitability.sun.far import FarLand
from suitability.sun.positions import SunPath
from suitability.sun.shadows import Scene, lit_hours

Float32 = NDArray[np.float32]


@dataclass(frozen=True)
class SeasonHours:
    """Mean direct-sun hours a day; each array is (rows, cols) float32, NaN as the receiver. [h].

    Parameters
    ----------
    mean : numpy.ndarray
        Over the season.
    morning, afternoon : numpy.ndarray
        The parts of `mean` before and after the sun's transit.
    darkest_month : numpy.ndarray
        The least sunny month's mean in each cell.
    months : dict
        Month (1..12) to its own mean.
    """

    mean: Float32
    morning: Float32
    afternoon: Float32
    darkest_month: Float32
    months: dict[int, Float32]


def season_hours(
    scene: Scene,
    sun: SunPath,
    convergence_deg: float,
    *,
    lines_per_cell: int = 1,
    threads: int = 2,
    first_cell: tuple[int, int] = (0, 0),
    far: FarLand | None = None,
    part: tuple[slice, slice] = (slice(None), slice(None)),
    progress: Callable[[float], None] | None = None,
) -> SeasonHours:
    """Return the direct-sun hours of a season over a scene.

    Parameters
    ----------
    scene : Scene
        Surface and receivers.
    sun : SunPath
        Positions that count, azimuths from true north.
    convergence_deg : float
        Meridian convergence at the middle of the scene, PROJ's sign. [degrees]
    lines_per_cell : {1, 2}
        See `sweep_hours`.
    threads : int
        How many months' halves are swept at once; the result does not depend on it.
    first_cell : tuple of int
        See `lit_hours`.
    far : FarLand, optional
        See `lit_hours`.
    part : tuple of slice
        The rows and columns of the scene that are wanted; the rest only casts shadows.
    progress : callable
        Told the share of positions done, 0..1.
    """
    unknown = scene.unknown[part]
    shape = unknown.shape
    months = {month: np.zeros(shape, np.float32) for month in sun.share_of_season}
    halves = {half: np.zeros(shape, np.float32) for half in (True, False)}
    grid_azimuth = sun.azimuth_deg - convergence_deg

    def swept(month_half: tuple[int, bool]) -> tuple[Float32, NDArray[np.intp]]:
        month, half = month_half
        chosen = np.flatnonzero((sun.month == month) & (sun.is_morning == half))
        # Whole numbers: float32 counts them exactly, in whatever order they are added.
        counts = lit_hours(
            scene,
            grid_azimuth[chosen],
            sun.altitude_deg[chosen],
            np.ones(chosen.size, np.float32),
            lines_per_cell=lines_per_cell,
            first_cell=first_cell,
            far=far,
        )
        return counts[part], chosen

    month_halves = list(product(months, (True, False)))
    done = 0
    with ThreadPoolExecutor(threads) as pool:
        # As many at once as there are threads: each holds a whole raster of counts.
        for first in range(0, len(month_halves), threads):
            some = month_halves[first : first + threads]
            for (month, half), (counts, chosen) in zip(some, pool.map(swept, some), strict=True):
                if chosen.size:
                    np.multiply(counts, sun.hours[chosen[0]], out=counts)
                    months[month] += counts
                    np.multiply(counts, sun.share_of_season[month], out=counts)
                    halves[half] += counts
                done += chosen.size
                if progress is not None:
                    progress(done / max(len(sun), 1))
    for values in (*months.values(), *halves.values()):
        values[unknown] = np.nan
    darkest = np.full(shape, np.inf, np.float32)
    for values in months.values():
        np.minimum(darkest, values, out=darkest)
    return SeasonHours(halves[True] + halves[False], halves[True], halves[False], darkest, months)


def margin_needed_m(surface: Float32, receiver: Float32, sun: SunPath) -> Float32:
    """Return how far away the highest known land could shade each cell, (rows, cols). [m].

    The relief above the receiver over the tangent of the lowest counted sun: land beyond the
    known edge, were it as high, could shade cells that are nearer to the edge than this.
    """
    if not len(sun):
        return np.zeros_like(receiver)
    lowest = np.tan(np.radians(sun.altitude_deg.min()))
    relief = np.nanmax(surface) - receiver
    return np.asarray(np.maximum(relief, 0) / lowest, dtype=np.float32)
