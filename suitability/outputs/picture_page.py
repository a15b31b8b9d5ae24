"""The page on which a picture of findings is drawn: head, room, foot."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from suitability.outputs import colours
from suitability.outputs.atomic import written
from suitability.outputs.figure_parts import Sheet, own_style
from suitability.outputs.lettering import printable

DPI = 200
WIDTH_IN = 8.5
MARGIN_IN = 0.45
ROOM_IN = WIDTH_IN - 2 * MARGIN_IN
_SWATCH_IN = 0.22
# The same page gets the same bytes.
_NO_DATE = {"png": {"Software": None}, "pdf": {"CreationDate": None, "Creator": None}}


@dataclass(frozen=True)
class Words:
    """What stands around a picture.

    Parameters
    ----------
    title : str
        What is shown, of what land.
    lines : tuple of str
        How it was found and how to read it, a paragraph each.
    foot : tuple of str
        What to heed, a paragraph each.
    """

    title: str
    lines: tuple[str, ...]
    foot: tuple[str, ...] = ()


@dataclass(frozen=True)
class Page:
    """A page to draw on, and the room between its head and its foot. [inch]."""

    figure: Figure
    sheet: Sheet
    top: float
    bottom: float

    def axes(self, left: float, bottom: float, width: float, height: float) -> Axes:
        """Return axes over a part of the page. [inch]."""
        page_width, page_height = self.figure.get_size_inches()
        return self.figure.add_axes(
            (left / page_width, bottom / page_height, width / page_width, height / page_height)
        )

    def text(self, x: float, y: float, text: str, **style: Any) -> None:
        """Write a line of text, its middle at this height. [inch]."""
        style = {"size": 7.5, "va": "center_baseline", **style}
        self.sheet.axes.text(x, y, printable(text), **style)

    def swatch(self, x: float, y: float, colour: str, name: str, *, hatch: str = "") -> float:
        """Draw a filled sign and its name; return where the next may begin. [inch]."""
        place = (x, y - 0.065)
        self.sheet.axes.add_patch(
            Rectangle(place, _SWATCH_IN, 0.13, fc=colour, ec=colours.INK, lw=0.5, hatch=hatch)
        )
        self.text(x + _SWATCH_IN + 0.06, y, name)
        return x + _SWATCH_IN + 0.06 + self.sheet.text_width_in(name, 7.5) + 0.2


@contextmanager
def page(path: str | os.PathLike[str], words: Words, room_in: float) -> Iterator[Page]:
    """Yield a page with its words; it is written when all is drawn.

    Parameters
    ----------
    path : path
        Where to; ends in `.png` or `.pdf`.
    words : Words
        What stands around the picture.
    room_in : float
        Height that the picture needs. [inch]
    """
    with own_style():
        height = _height(words, room_in)
        figure = Figure(figsize=(WIDTH_IN, height), dpi=DPI)
        canvas: Any = FigureCanvasAgg(figure)  # its methods carry no types
        axes = figure.add_axes((0, 0, 1, 1))
        axes.set(xlim=(0, WIDTH_IN), ylim=(0, height))
        axes.axis("off")
        sheet = Sheet(axes, canvas.get_renderer(), DPI)
        top = _draw_head(sheet, height, words)
        bottom = _draw_foot(sheet, words)
        yield Page(figure, sheet, top, bottom)
        kind = Path(path).suffix.removeprefix(".")
        with written(Path(path)) as temporary:
            figure.savefig(temporary, format=kind, metadata=_NO_DATE[kind])


def room_of(words: Words, height_in: float) -> float:
    """Return the height that a page of such a height leaves to its picture. [inch]."""
    with own_style():
        return height_in - _height(words, 0.0)


def line_width_in(text: str, size: float) -> float:
    """Return how wide a line of text will be on any page. [inch]."""
    with own_style():
        return _trial().text_width_in(text, size)


def _height(words: Words, room_in: float) -> float:
    sheet = _trial()
    return room_in - _draw_head(sheet, 0.0, words) + _draw_foot(sheet, words)


def _trial() -> Sheet:
    """Return a page that is not kept, to measure words on."""
    figure = Figure(figsize=(WIDTH_IN, 1), dpi=DPI)
    canvas: Any = FigureCanvasAgg(figure)
    return Sheet(figure.add_axes((0, 0, 1, 1)), canvas.get_renderer(), DPI)


def _draw_head(sheet: Sheet, height: float, words: Words) -> float:
    top = height - MARGIN_IN + 0.05
    top = sheet.paragraph(words.title, MARGIN_IN, top, ROOM_IN, size=14, weight="bold") - 0.02
    for line in words.lines:
        top = sheet.paragraph(line, MARGIN_IN, top, ROOM_IN, size=8.5, colour=colours.QUIET_INK)
    return top - 0.1


def _draw_foot(sheet: Sheet, words: Words) -> float:
    """Draw the foot from the page's lower end up; return where it begins."""
    top = MARGIN_IN - 0.1 + sum(sheet.height_of(line, ROOM_IN) + 0.03 for line in words.foot)
    begins = top + 0.05
    for line in words.foot:
        top = sheet.paragraph(line, MARGIN_IN, top, ROOM_IN) - 0.03
    return begins


def percent(share: float) -> str:
    """Return a share so that only what is always or never so reads 100% or 0%."""
    if 0 < share < 0.005:
        return "< 0.5%"
    if 0.995 < share < 1:
        return "> 99.5%"
    return f"{share:.0%}"


def share_axis(axes: Axes, label: str) -> None:
    """Make the lower edge of axes a scale of shares, 0 to 100%."""
    axes.set_xlim(0, 1)
    ticks = np.linspace(0, 1, 11)
    axes.set_xticks(ticks, [f"{tick:.0%}" for tick in ticks])
    axes.tick_params(labelsize=7, width=0.5, length=3, colors=colours.QUIET_INK)
    axes.set_xlabel(label, size=7.5, labelpad=2, color=colours.QUIET_INK)
    for side in ("top", "right", "left", "bottom"):
        axes.spines[side].set_visible(side == "bottom")
    axes.spines["bottom"].set_linewidth(0.5)
