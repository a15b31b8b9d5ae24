"""The picture of correlation: which criteria go together over the land."""

from __future__ import annotations

import math
import os
from collections.abc import Sequence

import numpy as np
from matplotlib.patches import Rectangle

from suitability.grid import Float64
from suitability.outputs import colours
from suitability.outputs.picture_page import (
    MARGIN_IN,
    ROOM_IN,
    Page,
    Words,
    line_width_in,
    page,
)

_PAIR_IN = 0.9


def draw_correlation(
    path: str | os.PathLike[str],
    words: Words,
    names: Sequence[str],
    spearman: Float64,
    pearson: Float64,
    limit: float,
) -> None:
    """Draw the correlation of each pair of criteria; pairs beyond the limit are framed.

    Parameters
    ----------
    path : path
        Where to; ends in `.png`.
    words : Words
        What stands around it.
    names : sequence of str
        The criteria.
    spearman, pearson : numpy.ndarray
        (n, n) coefficients, NaN where there is none.
    limit : float
        Spearman's coefficient from which a pair is framed, either way.
    """
    count = len(names)
    widest = max(line_width_in(name, 7.5) for name in names)
    side = min(max(_PAIR_IN, widest + 0.12), (ROOM_IN - widest - 0.2) / (count - 1))
    stands = widest > side - 0.1
    below = widest + 0.15 if stands else 0.3
    with page(path, words, (count - 1) * side + below + 0.2) as sheet:
        left, top = MARGIN_IN + widest + 0.2, sheet.top - 0.05
        for row in range(1, count):
            sheet.text(left - 0.1, top - (row - 0.5) * side, names[row], ha="right")
            for col in range(row):
                corner = (left + col * side, top - row * side)
                _pair(sheet, corner, side, spearman[row, col], pearson[row, col], limit)
        base = top - (count - 1) * side - 0.08
        for col in range(count - 1):
            sheet.text(
                left + (col + 0.5) * side, base, names[col], ha="center", va="top",
                rotation=90 if stands else 0,
            )  # fmt: skip


def _pair(
    sheet: Page, corner: tuple[float, float], side: float, rho: float, r: float, limit: float
) -> None:
    place = min(9, int(abs(np.nan_to_num(rho)) * 10))
    colour = colours.PAPER if np.isnan(rho) else colours.SCORE_COLOURS[place]
    ink = colours.PAPER if place >= 5 else colours.INK
    axes = sheet.sheet.axes
    axes.add_patch(Rectangle(corner, side, side, fc=colour, ec=colours.PAPER, lw=1.5))
    if abs(rho) >= limit:
        inner = 0.035
        frame = (corner[0] + inner, corner[1] + inner)
        axes.add_patch(
            Rectangle(frame, side - 2 * inner, side - 2 * inner, fc="none", ec=ink, lw=2)
        )
    x, y = corner[0] + side / 2, corner[1] + side / 2
    sheet.text(
        x,
        y + 0.08 * side,
        signed(rho),
        ha="center",
        size=min(11, 14 * side),
        weight="bold",
        color=ink,
    )
    sheet.text(x, y - 0.16 * side, signed(r), ha="center", size=min(7.5, 9.5 * side), color=ink)


def signed(coefficient: float) -> str:
    """Return a coefficient with its sign; a dash where there is none."""
    if math.isnan(coefficient):
        return "–"
    text = f"{coefficient:+.2f}".replace("-", "−")
    return "0.00" if text[1:] == "0.00" else text
