"""The map of a comparison: where the score rose or fell, what came in, went out, which sites."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.colors import to_rgb
from numpy.typing import NDArray

from suitability.grid import Float32, Float64, Grid
from suitability.outputs import colours, figure_map, figure_parts, figure_sites
from suitability.outputs.picture_page import DPI, MARGIN_IN, ROOM_IN, Words, page

Bool = NDArray[np.bool_]

_TALLEST_IN = 7.4
_TICKS_IN = 0.3
_BELOW_IN = 2.2  # keys, ticks, scale and norths
# Falls are blue-grey to slate, rises sand to brown; the outer classes are the darkest, so that a
# grey printer shows how much, and hue which way.
CHANGE_SCALES = (0.02, 0.05, 0.1, 0.2, 0.5, 1.0)
CHANGE_STEPS = (0.1, 0.5, 1.0)  # of the scale: where the classes end
CHANGE_COLOURS = ("#2f4b6b", "#6f8fae", "#b9cadb", "#f3f0e8", "#efc98f", "#d38a3f", "#8a4513")
_CAME_IN, _WENT_OUT = "#0f7a5a", "#b3188a"


@dataclass(frozen=True)
class ChangeMap:
    """What the map shows.

    Parameters
    ----------
    grid : Grid
        Where the rasters lie.
    moved : numpy.ndarray
        (rows, cols) float32, by how much the score moved; NaN where a run has none.
    came_in, went_out : numpy.ndarray
        (rows, cols) bool: candidates of the second run alone, of the first alone.
    ranks : tuple of int
        Of the second run's sites.
    x_m, y_m : numpy.ndarray
        Where they lie. [m]
    gone_x_m, gone_y_m : numpy.ndarray
        Where sites of the first run lay that went. [m]
    """

    grid: Grid
    moved: Float32
    came_in: Bool
    went_out: Bool
    ranks: tuple[int, ...]
    x_m: Float64
    y_m: Float64
    gone_x_m: Float64
    gone_y_m: Float64


def draw_change(path: str | os.PathLike[str], words: Words, content: ChangeMap) -> None:
    """Draw the map with its keys and the sites of both runs.

    Parameters
    ----------
    path : path
        Where to; ends in `.png`.
    words : Words
        What stands around it.
    content : ChangeMap
        What to show.
    """
    grid = content.grid
    in_per_m = min((ROOM_IN - _TICKS_IN) / grid.cols, _TALLEST_IN / grid.rows) / grid.cell_m
    width, height = grid.cols * grid.cell_m * in_per_m, grid.rows * grid.cell_m * in_per_m
    with page(path, words, height + _BELOW_IN) as sheet:
        x, y = MARGIN_IN, sheet.top - 0.1
        ends = class_ends(content.moved)
        for colour, name in zip(CHANGE_COLOURS, _class_names(ends), strict=True):
            x = sheet.swatch(x, y, colour, name)
        x = sheet.swatch(MARGIN_IN, y - 0.22, _CAME_IN, "came in")
        x = sheet.swatch(x, y - 0.22, _WENT_OUT, "went out")
        x = sheet.swatch(x, y - 0.22, colours.PAPER, "no candidate in either run", hatch="/////")
        left = MARGIN_IN + _TICKS_IN + (ROOM_IN - _TICKS_IN - width) / 2
        place = (left, sheet.top - 0.75 - height, width, height)
        axes = sheet.axes(*place)
        neither = np.isnan(content.moved) & ~content.came_in & ~content.went_out
        lines = figure_map.hatching(neither, round(height * DPI), round(width * DPI), DPI)
        figure_map.draw_ground(axes, grid, paint(content, ends), lines)
        figure_map.draw_ticks(axes, grid, in_per_m)
        over = sheet.axes(*place)
        over.set(xlim=(0, width), ylim=(0, height))
        over.axis("off")

        def on_map(x_m: Float64, y_m: Float64) -> tuple[Float64, Float64]:
            return (x_m - grid.bounds[0]) * in_per_m, (y_m - grid.bounds[1]) * in_per_m

        crosses = on_map(content.gone_x_m, content.gone_y_m)
        places = on_map(content.x_m, content.y_m)
        figure_sites.draw_sites(over, content.ranks, *places, crosses=crosses)
        _draw_site_key(sheet.sheet, y - 0.46)
        top, half = place[1] - 0.35, ROOM_IN / 2
        on_ground = in_per_m * grid.scale_factor()
        figure_parts.scale_bar(sheet.sheet, MARGIN_IN, top, half - 0.5, on_ground)
        figure_parts.norths(sheet.sheet, MARGIN_IN + half, top, half, grid.convergence_deg())


def _draw_site_key(sheet: figure_parts.Sheet, y: float) -> None:
    axes, x = sheet.axes, MARGIN_IN + 0.11
    figure_sites.draw_ring(axes, x, y)
    axes.text(x + 0.17, y, "site of the second run and its rank", size=7.5, va="center_baseline")
    x += 0.4 + sheet.text_width_in("site of the second run and its rank", 7.5)
    figure_sites.draw_crosses(axes, np.array([x]), np.array([y]))
    axes.text(x + 0.17, y, "site of the first run that went", size=7.5, va="center_baseline")


def paint(content: ChangeMap, ends: tuple[float, ...]) -> NDArray[np.float32]:
    """Return the map's picture, (rows, cols, 3) float32 in 0..1."""
    palette = np.array([to_rgb(colour) for colour in (*CHANGE_COLOURS, colours.PAPER)], np.float32)
    kind = classes_of(content.moved, ends)
    picture = palette[np.where(np.isnan(content.moved), len(CHANGE_COLOURS), kind)]
    picture[content.came_in] = to_rgb(_CAME_IN)
    picture[content.went_out] = to_rgb(_WENT_OUT)
    return picture


def class_ends(moved: Float32) -> tuple[float, ...]:
    """Return the three ends of the classes above 0, so that most changes lie within the last.

    Parameters
    ----------
    moved : numpy.ndarray
        By how much the score moved; NaN where a run has none.
    """
    sizes = np.abs(moved[np.isfinite(moved)])
    most = float(np.percentile(sizes, 98)) if sizes.size else 0.0
    scale = next((scale for scale in CHANGE_SCALES if scale >= most), CHANGE_SCALES[-1])
    return tuple(round(step * scale, 4) for step in CHANGE_STEPS)


def _class_names(ends: tuple[float, ...]) -> list[str]:
    small, middle, large = ends
    rises = [f"{small:g} to {middle:g}", f"{middle:g} to {large:g}", f"≥ {large:g}"]
    falls = [f"≤ -{large:g}", f"-{large:g} to -{middle:g}", f"-{middle:g} to -{small:g}"]
    return [*falls, f"less than {small:g}", *rises]


def classes_of(moved: Float32, ends: tuple[float, ...]) -> NDArray[np.intp]:
    """Return the class of each change, 0 for the furthest falls to 6 for the furthest rises."""
    rises = np.array(ends, np.float32)
    # A change of just the last end is in the outer class, whichever way it went.
    up = np.searchsorted(rises, moved, side="right")
    return np.searchsorted(-rises[::-1], moved, side="left") + up


def majority(counts: Sequence[NDArray[np.int64]]) -> tuple[Bool, Bool]:
    """Return where a coarse cell shows as come in and where as gone out.

    Parameters
    ----------
    counts : sequence of numpy.ndarray
        Of the fine cells in each: candidates of both runs, of the second alone, of the first alone.
    """
    both, came_in, went_out = counts
    is_in = (came_in > both) & (came_in >= went_out)
    is_out = (went_out > both) & ~is_in
    return is_in, is_out
