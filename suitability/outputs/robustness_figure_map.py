"""The map of a ranking's robustness: which land is among the best tenth, whatever the weights."""

from __future__ import annotations

import os
from dataclasses import dataclass

import numpy as np
from matplotlib.colors import to_rgb
from numpy.typing import NDArray

from suitability.grid import Float32, Float64, Grid
from suitability.outputs import colours, figure_map, figure_parts, figure_sites
from suitability.outputs.picture_page import DPI, MARGIN_IN, ROOM_IN, Words, page

_TALLEST_IN = 7.6
_TICKS_IN = 0.3
_BELOW_IN = 1.65  # key, ticks, scale and norths
# Classes of the share of draws in which land is in; the outer two are the stable ones.
ENDS = (0.05, 0.35, 0.65, 0.95)
_COLOURS = ("#f7efd9", *(colours.SCORE_COLOURS[k] for k in (2, 4, 6)), colours.SCORE_COLOURS[9])
_NAMES = ("out, stable (at most 5%)", "5 to 35%", "35 to 65%", "65 to 95%",
          "in, stable (at least 95%)")  # fmt: skip


@dataclass(frozen=True)
class StabilityMap:
    """What the map shows.

    Parameters
    ----------
    grid : Grid
        Where the raster lies.
    share : numpy.ndarray
        (rows, cols) float32 share of the draws in which a cell is in; NaN is no candidate.
    ranks : tuple of int
        The sites' numbers.
    x_m, y_m : numpy.ndarray
        Where they lie. [m]
    """

    grid: Grid
    share: Float32
    ranks: tuple[int, ...]
    x_m: Float64
    y_m: Float64


def draw_stability(path: str | os.PathLike[str], words: Words, content: StabilityMap) -> None:
    """Draw the map with its key and the listed sites.

    Parameters
    ----------
    path : path
        Where to; ends in `.png`.
    words : Words
        What stands around it.
    content : StabilityMap
        What to show.
    """
    grid = content.grid
    width = ROOM_IN - _TICKS_IN
    in_per_m = min(width / grid.cols, _TALLEST_IN / grid.rows) / grid.cell_m
    width, height = grid.cols * grid.cell_m * in_per_m, grid.rows * grid.cell_m * in_per_m
    with page(path, words, height + _BELOW_IN) as sheet:
        x, y = MARGIN_IN, sheet.top - 0.1
        for colour, name in zip(_COLOURS, _NAMES, strict=True):
            x = sheet.swatch(x, y, colour, name)
        sheet.swatch(x, y, colours.PAPER, "no candidate", hatch="/////")
        left = MARGIN_IN + _TICKS_IN + (ROOM_IN - _TICKS_IN - width) / 2
        place = (left, sheet.top - 0.3 - height, width, height)
        axes = sheet.axes(*place)
        lines = figure_map.hatching(
            np.isnan(content.share), round(height * DPI), round(width * DPI), DPI
        )
        figure_map.draw_ground(axes, grid, paint(content.share), lines)
        figure_map.draw_ticks(axes, grid, in_per_m)
        over = sheet.axes(*place)
        over.set(xlim=(0, width), ylim=(0, height))
        over.axis("off")
        x_in = (content.x_m - grid.bounds[0]) * in_per_m
        y_in = (content.y_m - grid.bounds[1]) * in_per_m
        figure_sites.draw_sites(over, content.ranks, x_in, y_in)
        top, half = place[1] - 0.35, ROOM_IN / 2
        on_ground = in_per_m * grid.scale_factor()
        figure_parts.scale_bar(sheet.sheet, MARGIN_IN, top, half - 0.5, on_ground)
        figure_parts.norths(sheet.sheet, MARGIN_IN + half, top, half, grid.convergence_deg())


def paint(share: Float32) -> NDArray[np.float32]:
    """Return the map's picture: a colour for each class, white where there is no candidate.

    Parameters
    ----------
    share : numpy.ndarray
        (rows, cols) float32, 0..1; NaN where there is none.

    Returns
    -------
    numpy.ndarray
        (rows, cols, 3) float32, 0..1, no finer than the page shows.
    """
    shown = figure_map.block_mean(share, figure_map.decimation(share.shape))
    palette = np.array([to_rgb(colour) for colour in (*_COLOURS, colours.PAPER)], np.float32)
    # As the shares are counted: just 5% is out and just 95% is in.
    kind = np.searchsorted(np.array(ENDS[:1], np.float32), shown, side="left")
    kind += np.searchsorted(np.array(ENDS[1:], np.float32), shown, side="right")
    return palette[np.where(np.isnan(shown), len(_COLOURS), kind)]
