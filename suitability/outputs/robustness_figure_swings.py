"""The picture of swings: how much of the list is kept as each weight moves."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes

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

_SWING_IN = 1.15
_CALM = "#d9d9d9"


@dataclass(frozen=True)
class SwungWeight:
    """A weight as a row of the picture.

    Parameters
    ----------
    name : str
        What the weight belongs to.
    share : float
        As given.
    shares, kept : numpy.ndarray
        (s,) shares that it was moved to, and what share of the list was kept there.
    best_stays, list_stays : (float, float)
        Between these shares the best place, or the list, stays the same.
    """

    name: str
    share: float
    shares: Float64
    kept: Float64
    best_stays: tuple[float, float]
    list_stays: tuple[float, float]


def draw_swings(path: str | os.PathLike[str], words: Words, weights: Sequence[SwungWeight]) -> None:
    """Draw how much of the list is kept as each weight moves from nothing to all.

    Parameters
    ----------
    path : path
        Where to; ends in `.png`.
    words : Words
        What stands around it.
    weights : sequence of SwungWeight
        From the top down.
    """
    with page(path, words, len(weights) * _SWING_IN + 0.6) as sheet:
        _swing_key(sheet)
        left = MARGIN_IN + 1.95
        width = ROOM_IN - 1.95 - 0.1
        for number, weight in enumerate(weights):
            top = sheet.top - 0.35 - number * _SWING_IN
            axes = sheet.axes(left, top - _SWING_IN + 0.3, width, _SWING_IN - 0.42)
            _swing_axes(axes, weight, is_last=number == len(weights) - 1)
            y = top - 0.22
            for line in sheet.sheet.wrapped(weight.name, 8.5, 1.5, "bold"):
                sheet.text(MARGIN_IN, y, line, size=8.5, weight="bold")
                y -= 0.16
            for line in (
                f"given {percent(weight.share)}",
                f"best stays: {_stretch(weight.best_stays)}",
                f"list stays: {_stretch(weight.list_stays)}",
            ):
                sheet.text(MARGIN_IN, y, line, size=7, color=colours.QUIET_INK)
                y -= 0.14


def _stretch(ends: tuple[float, float]) -> str:
    if ends == (0.0, 1.0):
        return "at any weight"
    digits = 0 if ends[1] - ends[0] >= 0.05 else 1
    return f"{ends[0]:.{digits}%} to {ends[1]:.{digits}%}"


def _swing_key(sheet: Page) -> None:
    y = sheet.top - 0.12
    x = sheet.swatch(MARGIN_IN, y, _CALM, "the best place stays the best")
    signs = (
        ("-", colours.SCORE_COLOURS[8], 1.8, "share of the list that is kept"),
        ("-", colours.INK, 1.0, "weight as given"),
        (":", colours.INK, 1.0, "halved, doubled"),
    )
    for style, colour, width, name in signs:
        sheet.sheet.axes.plot([x, x + 0.26], [y, y], ls=style, color=colour, lw=width)
        sheet.text(x + 0.32, y, name)
        x += 0.32 + sheet.sheet.text_width_in(name, 7.5) + 0.2


def _swing_axes(axes: Axes, weight: SwungWeight, *, is_last: bool) -> None:
    axes.axvspan(*weight.best_stays, color=_CALM, lw=0, zorder=1)
    axes.plot(weight.shares, weight.kept, color=colours.SCORE_COLOURS[8], lw=1.8, zorder=4)
    axes.axvline(weight.share, color=colours.INK, lw=1.0, zorder=3)
    for factor in (0.5, 2.0):
        if (share := weight.share * factor) < 1:
            axes.axvline(share, color=colours.INK, lw=1.0, ls=":", zorder=2)
    share_axis(axes, "weight, the others in their proportions" if is_last else "")
    axes.set_ylim(-0.03, 1.06)
    axes.set_yticks([0, 0.5, 1], ["0%", "50%", "100%"])
    axes.spines["left"].set(visible=True, linewidth=0.5)
