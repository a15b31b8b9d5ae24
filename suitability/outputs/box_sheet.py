"""A printed page about one box: its parts, a drawing to scale, what to heed."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from suitability.outputs import colours
from suitability.outputs.atomic import written
from suitability.outputs.figure_parts import Sheet, own_style

DPI = 200
PAGE_IN = (8.27, 11.0)  # fits letter and A4
MARGIN_IN = 0.6
ROOM_IN = PAGE_IN[0] - 2 * MARGIN_IN
_COLUMNS_IN = (0.0, 1.15, 3.55)
_DRAWING_IN = 2.7
_FOOT_SIZE, _LOWEST_IN = 6.8, 0.25
_NO_DATE = {"CreationDate": None, "ModDate": None, "Creator": None, "Producer": None}

# Left, bottom, width and height of a piece of wood. [m]
Board = tuple[float, float, float, float]


@dataclass(frozen=True)
class View:
    """A box seen from one side.

    Parameters
    ----------
    name : str
        Of the view.
    boards : sequence of tuple
        Pieces of wood: left, bottom, width, height. [m]
    width_m, height_m : float
        Of the whole. [m]
    width, height : str
        The same as it is written beside the drawing.
    """

    name: str
    boards: Sequence[Board]
    width_m: float
    height_m: float
    width: str
    height: str


@dataclass(frozen=True)
class SheetContent:
    """What the page says.

    Parameters
    ----------
    title : str
        Which box it is.
    lines : sequence of str
        Where it goes, which way it looks, when: a paragraph each.
    items : sequence of tuple
        Part, size, note.
    views : sequence of View
        Drawings, all to one scale.
    foot : sequence of str
        What to heed, a paragraph each.
    """

    title: str
    lines: Sequence[str]
    items: Sequence[tuple[str, str, str]]
    views: Sequence[View]
    foot: Sequence[str]


def write_box_sheet(path: str | os.PathLike[str], content: SheetContent) -> None:
    """Write the page as a PDF; what to heed has a page of its own where it is much."""
    with own_style():
        pages = [_page()]
        top = _draw_head(pages[0][1], content)
        top = _draw_items(pages[0][1], content.items, top)
        top = _draw_views(pages[0][1].axes, content.views, top)
        needs = sum(
            pages[0][1].height_of(line, ROOM_IN, size=_FOOT_SIZE) + 0.03 for line in content.foot
        )
        size = _FOOT_SIZE
        if top - needs < _LOWEST_IN:
            _paragraph(pages[0][1], "Before anyone digs or climbs: read the next page.", top)
            pages.append(_page())
            top = _paragraph(pages[1][1], f"{content.title}: what to heed", PAGE_IN[1] - MARGIN_IN)
            size = 9.0
        for line in content.foot:
            top = pages[-1][1].paragraph(line, MARGIN_IN, top, ROOM_IN, size=size) - size * 0.0045
        with written(path) as temporary, PdfPages(temporary, metadata=_NO_DATE) as book:
            for figure, _ in pages:
                book.savefig(figure)


def _paragraph(sheet: Sheet, text: str, top: float) -> float:
    return sheet.paragraph(text, MARGIN_IN, top, ROOM_IN, size=11, weight="bold") - 0.1


def _page() -> tuple[Figure, Sheet]:
    figure = Figure(figsize=PAGE_IN, dpi=DPI)
    canvas: Any = FigureCanvasAgg(figure)  # its methods carry no types
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set(xlim=(0, PAGE_IN[0]), ylim=(0, PAGE_IN[1]))
    axes.axis("off")
    return figure, Sheet(axes, canvas.get_renderer(), DPI)


def _draw_head(sheet: Sheet, content: SheetContent) -> float:
    top = PAGE_IN[1] - MARGIN_IN
    top = sheet.paragraph(content.title, MARGIN_IN, top, ROOM_IN, size=15, weight="bold") - 0.05
    for line in content.lines:
        top = sheet.paragraph(line, MARGIN_IN, top, ROOM_IN, size=9) - 0.03
    return top - 0.1


def _draw_items(sheet: Sheet, items: Sequence[tuple[str, str, str]], top: float) -> float:
    ends = (*_COLUMNS_IN[1:], ROOM_IN)
    for item in items:
        rule = [MARGIN_IN, MARGIN_IN + ROOM_IN], [top, top]
        sheet.axes.plot(*rule, color=colours.QUIET_INK, linewidth=0.4)
        lowest = top
        for text, left, right in zip(item, _COLUMNS_IN, ends, strict=True):
            weight = "bold" if left == 0 else "normal"
            ends_at = sheet.paragraph(
                text, MARGIN_IN + left, top - 0.04, right - left - 0.1, size=8.5, weight=weight
            )
            lowest = min(lowest, ends_at)
        top = lowest - 0.05
    return top - 0.15


def _draw_views(axes: Axes, views: Sequence[View], top: float) -> float:
    """Draw the views side by side; all boards are drawn to one scale."""
    scale = min(
        (_DRAWING_IN - 0.5) / max(view.height_m for view in views),
        (ROOM_IN - 1.4 * len(views)) / sum(view.width_m for view in views),
    )
    left = MARGIN_IN + 0.2
    for view in views:
        bottom = top - 0.25 - view.height_m * scale
        axes.text(left, top - 0.1, view.name, size=8.5, weight="bold")
        for x, y, width, height in view.boards:
            place = (left + x * scale, bottom + y * scale)
            axes.add_patch(
                Rectangle(place, width * scale, height * scale, fc="0.88", ec=colours.INK, lw=0.7)
            )
        right = left + view.width_m * scale
        axes.text(right + 0.08, (bottom + top - 0.25) / 2, view.height, size=8, va="center")
        axes.text(left, bottom - 0.16, view.width, size=8)
        left = right + 1.4
    return top - _DRAWING_IN
