"""The sky of a site: its horizon, and where the sun passes over it on some days."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import cycle
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from suitability.grid import Float64
from suitability.outputs import colours
from suitability.outputs.atomic import remove, written
from suitability.outputs.figure_parts import own_style

FOLDER = "sky"
DPI = 150
SIZE_IN = (8.5, 4.2)
DAY_LINES = ("-", "--", ":")
SUN = colours.SCORE_COLOURS[6]


@dataclass(frozen=True)
class DayPath:
    """Where the sun stands on one day.

    Parameters
    ----------
    name : str
        Of the day.
    azimuth_deg, altitude_deg : numpy.ndarray
        (n,) in the order of the hours, clockwise from true north. [degrees]
    """

    name: str
    azimuth_deg: Float64
    altitude_deg: Float64


def sky_picture(folder: str | os.PathLike[str], rank: int) -> Path:
    """Return where the picture of a site's sky lies in a run's folder."""
    return Path(folder) / FOLDER / f"site_{rank}.png"


def forget_skies(folder: str | os.PathLike[str]) -> None:
    """Take away the pictures of an earlier run's sites."""
    for path in (Path(folder) / FOLDER).glob("site_*.png"):
        remove(path)


def draw_sky(
    path: str | os.PathLike[str],
    *,
    title: str,
    horizon_deg: Float64,
    days: Sequence[DayPath],
    facing_deg: float | None,
    lat: float,
) -> None:
    """Draw a site's horizon and the sun's ways over it, as a PNG.

    Parameters
    ----------
    path : path
        Where to.
    title : str
        Which site it is.
    horizon_deg : numpy.ndarray
        (360,) altitude clockwise from true north. [degrees]
    days : sequence of DayPath
        The sun's ways.
    facing_deg : float or None
        The way that the box looks. [degrees]
    lat : float
        North of the equator the middle of the picture is south. [degrees]
    """
    with own_style():
        figure = Figure(figsize=SIZE_IN, dpi=DPI, layout="constrained")
        FigureCanvasAgg(figure)
        axes = figure.add_subplot()
        axes.set_title(title, loc="left")
        draw_sky_on(axes, horizon_deg=horizon_deg, days=days, facing_deg=facing_deg, lat=lat)
        axes.set_ylabel("altitude")
        if facing_deg is not None:
            x = _along(facing_deg, _middle(lat))
            axes.text(x, 88, _FACING_WORDS, color=colours.WATER, va="top", fontsize="small")
        axes.legend(loc="upper left", fontsize="small", framealpha=0.9)
        with written(path) as temporary:
            figure.savefig(temporary, format="png", metadata={"Software": None})


_WORDS = {0: "N", 45: "NE", 90: "E", 135: "SE", 180: "S", 225: "SW", 270: "W", 315: "NW"}


_FACING_WORDS = " the box looks here;\n its face gets sun between the dots"


def draw_sky_on(
    axes: Axes,
    *,
    horizon_deg: Float64,
    days: Sequence[DayPath],
    facing_deg: float | None,
    lat: float,
) -> None:
    """Draw a site's horizon and the sun's ways over it on axes; the parameters are `draw_sky`'s.

    What is drawn carries labels for a legend; words beside the facing are left to the caller.
    """
    middle = _middle(lat)
    azimuth = np.arange(middle - 180, middle + 181)
    axes.fill_between(
        azimuth, 0, np.maximum(horizon_deg[azimuth.astype(int) % 360], 0),
        color=colours.BUILDING, linewidth=0, label="land, trees and buildings",
    )  # fmt: skip
    for day, line in zip(days, cycle(DAY_LINES), strict=False):
        _draw_day(axes, day, line, middle)
    if facing_deg is not None:
        _draw_facing(axes, facing_deg, middle)
    ticks = np.arange(middle - 180, middle + 181, 45)
    axes.set_xticks(ticks, [_WORDS[int(tick) % 360] for tick in ticks])
    axes.set_xlim(middle - 180, middle + 180)
    axes.set_ylim(0, 90)
    axes.set_yticks(range(0, 91, 15), [f"{altitude}°" for altitude in range(0, 91, 15)])
    axes.grid(color=colours.QUIET_INK, alpha=0.2, linewidth=0.5)


def _middle(lat: float) -> float:
    """Return the azimuth that the middle of the picture is: the sun's at noon."""
    return 180.0 if lat >= 0 else 0.0


def _along(azimuth_deg: Any, middle: float) -> Any:
    return (azimuth_deg - middle + 180) % 360 + middle - 180


def _draw_day(axes: Axes, day: DayPath, line: str, middle: float) -> None:
    x = _along(day.azimuth_deg, middle)
    order = np.argsort(x)
    axes.plot(x[order], day.altitude_deg[order], line, color=SUN, linewidth=1.6, label=day.name)


def _draw_facing(axes: Axes, facing_deg: float, middle: float) -> None:
    x = _along(facing_deg, middle)
    axes.axvline(x, color=colours.WATER, linewidth=1.2)
    for side in (-90, 90):
        axes.axvline(x + side, color=colours.WATER, linewidth=0.6, linestyle=":")
