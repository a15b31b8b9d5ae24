"""The picture of rank acceptability: how each place ranks over the draws of the weights."""

from __future__ import annotations

import math
import os
from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from suitability.grid import Float64
from suitability.outputs import colours
from suitability.outputs.picture_page import (
    MARGIN_IN,
    ROOM_IN,
    Page,
    Words,
    page,
    percent,
    share_axis,
)

MOST_ROWS = 40  # of sites on a page
_ROW_IN = 0.24
_GAP = 0.12  # of a row, between bars
# From the best rank on: each is much lighter than the one before, for grey print as well.
_RANK_COLOURS = (
    colours.SCORE_COLOURS[9],
    colours.SCORE_COLOURS[5],
    colours.SCORE_COLOURS[1],
    colours.PAPER,
)


@dataclass(frozen=True)
class RankedPlace:
    """A place as a row of the picture.

    Parameters
    ----------
    name : str
        Such as `site 3`.
    none_better : float
        Share of the draws in which no place is better.
    shares : numpy.ndarray
        (m,) share of the draws in which it has each rank.
    is_listed : bool
        Whether it is a site of the run.
    """

    name: str
    none_better: float
    shares: Float64
    is_listed: bool


def draw_acceptability(
    path: str | os.PathLike[str], words: Words, places: Sequence[RankedPlace], listed: int
) -> None:
    """Draw a bar for each place: in what share of the draws it is first, among the best, beyond.

    Parameters
    ----------
    path : path
        Where to; ends in `.png`.
    words : Words
        What stands around it.
    places : sequence of RankedPlace
        From the top down, the listed ones first.
    listed : int
        How many places the list has.
    """
    ends = rank_classes(listed)
    gap = 0.3 if 0 < sum(place.is_listed for place in places) < len(places) else 0.0
    height = len(places) * _ROW_IN + gap
    with page(path, words, height + 0.95) as sheet:
        _rank_key(sheet, ends, listed)
        left, right = MARGIN_IN + 0.75, 1.75
        width = ROOM_IN - 0.75 - right
        axes = sheet.axes(left, sheet.top - 0.55 - height, width, height)
        tops = []
        for number, place in enumerate(places):
            tops.append(number * _ROW_IN + (0.0 if place.is_listed else gap))
            _rank_bar(axes, tops[-1], place, ends)
        share_axis(axes, "share of the draws")
        axes.set(ylim=(height, 0))
        axes.set_yticks([])
        columns = [left + width + 0.85, left + width + right - 0.05]
        head = sheet.top - 0.45
        for x, name in zip(columns, ("none better", f"among {listed}"), strict=True):
            sheet.text(x, head, name, ha="right", weight="bold")
        for top, place in zip(tops, places, strict=True):
            y = sheet.top - 0.55 - top - _ROW_IN / 2
            sheet.text(left - 0.08, y, place.name, ha="right")
            told = (place.none_better, place.shares[:listed].sum())
            for x, share in zip(columns, told, strict=True):
                sheet.text(x, y, percent(float(share)), ha="right")


def rank_classes(listed: int) -> tuple[int, ...]:
    """Return where classes of ranks end: the first, the best few, the list."""
    few = max(2, math.ceil(listed / 4)) if listed > 3 else listed
    return tuple(sorted({1, few, listed}))


def _rank_key(sheet: Page, ends: Sequence[int], listed: int) -> None:
    x, y = MARGIN_IN, sheet.top - 0.12
    begin = 1
    for end, colour in zip(ends, _colours_of(ends), strict=False):
        name = f"rank {end}" if begin == end else f"ranks {begin} to {end}"
        x = sheet.swatch(x, y, colour, name)
        begin = end + 1
    sheet.swatch(x, y, colours.PAPER, f"not among the best {listed}")


def _colours_of(ends: Sequence[int]) -> tuple[str, ...]:
    """Return the colours of the classes: dark for the first, whatever their number."""
    return _RANK_COLOURS[: len(ends)]


def _rank_bar(axes: Axes, top: float, place: RankedPlace, ends: Sequence[int]) -> None:
    begins = (0, *ends[:-1])
    x = 0.0
    bar = (top + _GAP * _ROW_IN, _ROW_IN * (1 - 2 * _GAP))
    for begin, end, colour in zip(begins, ends, _colours_of(ends), strict=True):
        share = float(place.shares[begin:end].sum())
        axes.add_patch(Rectangle((x, bar[0]), share, bar[1], fc=colour, ec=colours.INK, lw=0.3))
        x += share
    axes.add_patch(Rectangle((0, bar[0]), 1, bar[1], fc="none", ec=colours.INK, lw=0.5))
