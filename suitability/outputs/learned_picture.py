"""What boxes have taught, as a picture: use by score, and weights now and proposed."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass

from suitability.outputs import colours
from suitability.outputs.picture_page import (
    MARGIN_IN,
    ROOM_IN,
    Page,
    Words,
    page,
    share_axis,
)

_PLOT_IN = 2.9
_ROW_IN = 0.26
_DARK, _LIGHT = colours.SCORE_COLOURS[8], colours.SCORE_COLOURS[3]
_NEAR_EDGE = 0.85  # from here on a label would run past the axes


@dataclass(frozen=True)
class UseByScore:
    """Boxes of like scores.

    Parameters
    ----------
    low, high, mean : float
        Of their scores.
    used, boxes : int
        In use, of so many.
    share_low, share_high : float
        Ends of the interval of the share.
    """

    low: float
    high: float
    mean: float
    used: int
    boxes: int
    share_low: float
    share_high: float


@dataclass(frozen=True)
class MovedWeight:
    """A weight now and as proposed, with the interval of that."""

    name: str
    now: float
    proposed: float
    low: float
    high: float


def draw_learned(
    path: str | os.PathLike[str],
    words: Words,
    classes: Sequence[UseByScore],
    weights: Sequence[MovedWeight],
) -> None:
    """Draw use by score and, where weights are proposed, those.

    Parameters
    ----------
    path : path
        Where to; ends in `.png` or `.pdf`.
    words : Words
        What stands around it.
    classes : sequence of UseByScore
        The lowest first; may be empty.
    weights : sequence of MovedWeight
        From the top down; empty where none are proposed.
    """
    weights_in = (len(weights) + 1) * _ROW_IN + 0.4 if weights else 0.0
    with page(path, words, _PLOT_IN + 0.5 + weights_in) as sheet:
        top = _draw_classes(sheet, sheet.top, classes)
        if weights:
            _draw_weights(sheet, top - 0.25, weights)


def _draw_classes(sheet: Page, top: float, classes: Sequence[UseByScore]) -> float:
    sheet.text(MARGIN_IN, top - 0.08, "Boxes in use by score", size=8.5, weight="bold")
    bottom = top - _PLOT_IN
    axes = sheet.axes(MARGIN_IN + 0.6, bottom + 0.4, ROOM_IN - 0.8, _PLOT_IN - 0.65)
    for each in classes:
        share = each.used / each.boxes
        axes.plot([each.low, each.high], [share, share], color=_LIGHT, lw=5, zorder=2,
                  solid_capstyle="butt")  # fmt: skip
        axes.plot([each.mean] * 2, [each.share_low, each.share_high], color=colours.INK, lw=1.0,
                  zorder=3)  # fmt: skip
        axes.plot(each.mean, share, "o", color=_DARK, ms=5, zorder=4)
        points, align = (-5, "right") if each.mean > _NEAR_EDGE else (5, "left")
        axes.annotate(f"{each.used} of {each.boxes}", (each.mean, share), (points, 5), ha=align,
                      textcoords="offset points", size=7, zorder=5)  # fmt: skip
    axes.set(xlim=(0, 1), ylim=(0, 1.08))
    axes.set_yticks([0, 0.25, 0.5, 0.75, 1], ["0%", "25%", "50%", "75%", "100%"])
    axes.set_xlabel("score of the place, by the weights at present", size=7.5,
                    color=colours.QUIET_INK)  # fmt: skip
    axes.set_ylabel("in use", size=7.5, color=colours.QUIET_INK)
    axes.grid(color="#dddddd", lw=0.5, zorder=0)
    axes.tick_params(labelsize=7, width=0.5, length=3, colors=colours.QUIET_INK)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    return bottom


def _draw_weights(sheet: Page, top: float, weights: Sequence[MovedWeight]) -> None:
    sheet.text(MARGIN_IN, top, "Weights", size=8.5, weight="bold")
    x = MARGIN_IN + 0.9
    for sign, size, colour, name in (("|", 8, colours.INK, "now"), ("o", 5, _DARK, "proposed")):
        sheet.sheet.axes.plot(x, top, sign, color=colour, ms=size, mew=1.5)
        sheet.text(x + 0.1, top, name)
        x += 0.85
    left, width = MARGIN_IN + 2.0, ROOM_IN - 2.2
    first = top - _ROW_IN
    bottom = first - (len(weights) - 0.5) * _ROW_IN
    axes = sheet.axes(left, bottom, width, first + _ROW_IN / 2 - bottom)
    axes.set_ylim(bottom, first + _ROW_IN / 2)
    for number, each in enumerate(weights):
        y = first - number * _ROW_IN
        name = sheet.sheet.cut(each.name, left - MARGIN_IN - 0.25, 1, size=8)
        sheet.text(MARGIN_IN + 0.15, y, name, size=8)
        axes.plot([each.low, each.high], [y, y], color=_LIGHT, lw=4, solid_capstyle="butt")
        axes.plot(each.now, y, "|", color=colours.INK, ms=10, mew=1.5, zorder=3)
        axes.plot(each.proposed, y, "o", color=_DARK, ms=5, zorder=4)
    axes.grid(axis="x", color="#dddddd", lw=0.5, zorder=0)
    axes.set_yticks([])
    share_axis(axes, "weight; bands: nine tenths of what the same boxes drawn again would give")
