"""The map figure: one page that says what it shows, how sure it is and what to heed."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from suitability.grid import Grid
from suitability.outputs import colours, figure_map, figure_parts, figure_sites, locator
from suitability.outputs.figure_content import FigureContent, facts, legend_entries
from suitability.outputs.figure_layout import GAP_IN, MARGIN_IN, Arrangement, Box, arrange
from suitability.outputs.figure_parts import Sheet
from suitability.outputs.paper import DPI, SIZES_IN, Paper, blank_page, write_pages

_GLOBE_IN = 0.52  # radius
_TITLE_SIZE, _CAPTION_SIZE = 16, 8
# No text may leave the map without room, whatever a run's title or its data are called.
_MOST_LINES = {"title": 3, "caption": 6, "warnings": 4, "caution": 6, "sources": 4}


def draw_figure(
    path: str | os.PathLike[str], content: FigureContent, *, paper: Paper = "letter"
) -> None:
    """Write the figure as PNG, PDF or SVG: a page, upright or lying as the land's shape wants.

    Parameters
    ----------
    path : path
        Where to; ends in `.png`, `.pdf` or `.svg`.
    content : FigureContent
        What to show.
    paper : {"letter", "a4"}
        The page's size.

    Raises
    ------
    InputError
        If the name ends in anything else, or the file cannot be written.
    """
    with figure_parts.own_style():
        write_pages(path, [composed(content, paper)], title=content.title)


def composed(content: FigureContent, paper: Paper = "letter") -> Figure:
    """Return the page, not yet written; to be called within `figure_parts.own_style`."""
    _, scratch = blank_page(1, 1)  # to measure on: what is drawn beyond it counts as well
    measured = _Measured(replace(scratch, is_kept=False), content)
    place = arrange(content.grid, SIZES_IN[paper], measured)
    figure, blank = blank_page(*place.page)
    sheet = replace(blank, widths=scratch.widths)
    _draw_head(sheet, content, place.page[1] - MARGIN_IN, place.page[0] - 2 * MARGIN_IN)
    _draw_map(figure, place.map, content)
    in_per_true_m = _in_per_true_m(place, content.grid)
    draw_panel = _draw_column if place.is_beside else _draw_band
    draw_panel(sheet, content, place.panel.left, place.panel.top, place.panel.width, in_per_true_m)
    _draw_foot(sheet, content, place.foot.left, place.foot.top, place.foot.width)
    return figure


@dataclass(frozen=True)
class _Measured:
    """How high the parts are: drawn once on a page that is not kept."""

    sheet: Sheet
    content: FigureContent

    def head(self, width_in: float) -> float:
        return -_draw_head(self.sheet, self.content, 0.0, width_in)

    def foot(self, width_in: float) -> float:
        return -_draw_foot(self.sheet, self.content, 0.0, 0.0, width_in)

    def band(self, width_in: float) -> float:
        return -_draw_band(self.sheet, self.content, 0.0, 0.0, width_in, 1e-3)

    def column(self, width_in: float) -> float:
        return -_draw_column(self.sheet, self.content, 0.0, 0.0, width_in, 1e-3)


def _draw_head(sheet: Sheet, content: FigureContent, top: float, width: float) -> float:
    """Draw the title; return where it ends. [inch]."""
    if not content.title:
        return top
    most = _MOST_LINES["title"]
    title = sheet.cut(content.title, width, most, size=_TITLE_SIZE, weight="bold")
    ends = sheet.paragraph(title, MARGIN_IN, top + 0.05, width, size=_TITLE_SIZE, weight="bold")
    return ends - 0.1


def _draw_foot(sheet: Sheet, content: FigureContent, x: float, top: float, width: float) -> float:
    """Draw caption, warnings, caution and sources; return where they end. [inch]."""
    if content.caption:
        caption = sheet.cut(content.caption, width, _MOST_LINES["caption"], size=_CAPTION_SIZE)
        top = sheet.paragraph(caption, x, top, width, size=_CAPTION_SIZE) - 0.05
    if content.warnings:
        top = sheet.paragraph(_warnings(sheet, content, width), x, top, width) - 0.05
    if content.caution:
        caution = sheet.cut(content.caution, width - 0.2, _MOST_LINES["caution"], size=8)
        height = sheet.height_of(caution, width - 0.2, size=8) + 0.14
        frame = Rectangle((x, top - height), width, height, fc="none", ec=colours.INK, lw=0.9)
        sheet.axes.add_patch(frame)
        sheet.paragraph(caution, x + 0.1, top - 0.06, width - 0.2, size=8)
        top -= height + 0.07
    sources = f"{content.sources} {locator.SOURCE}." if content.has_words else content.sources
    sources = sheet.cut(sources, width, _MOST_LINES["sources"], size=7)
    return sheet.paragraph(sources, x, top, width, size=7, colour=colours.QUIET_INK)


def _warnings(sheet: Sheet, content: FigureContent, width: float) -> str:
    """Return the warnings in a paragraph, as many as there is room for."""
    if not content.has_words:
        return f"⚠ {len(content.warnings)} → run.json"
    count = len(content.warnings)
    for shown in range(count, 0, -1):
        texts = [text[:1].upper() + text[1:].removesuffix(".") for text in content.warnings[:shown]]
        more = [] if shown == count else [f"{count - shown} more in the run's record"]
        told = f"Read with care: {'. '.join((*texts, *more))}."
        if len(sheet.wrapped(told, 7.5, width)) <= _MOST_LINES["warnings"]:
            return told
    return f"Read with care: {count} warnings stand in the run's record."


def _draw_map(figure: Figure, place: Box, content: FigureContent) -> None:
    grid = content.grid
    axes = _axes_at(figure, place)
    picture = figure_map.paint(
        content.score, content.excluded, content.hillshade, lowest=content.lowest
    )
    lines = figure_map.hatching(
        content.excluded, round(place.height * DPI), round(place.width * DPI), DPI
    )
    figure_map.draw_ground(axes, grid, picture, lines)
    if content.streams is not None:
        figure_map.draw_lines(axes, content.streams, colours.WATER, 1.2)
    if content.buildings is not None:
        figure_map.draw_areas(axes, content.buildings, colours.BUILDING, colours.PAPER)
    if content.boundary is not None:
        figure_map.draw_lines(axes, content.boundary, colours.INK, 1.3, figure_parts.BOUNDARY_STYLE)
    in_per_m = place.width / (grid.cols * grid.cell_m)
    figure_map.draw_ticks(axes, grid, in_per_m)
    x_in = (content.sites["x_m"].to_numpy(dtype=np.float64) - grid.bounds[0]) * in_per_m
    y_in = (content.sites["y_m"].to_numpy(dtype=np.float64) - grid.bounds[1]) * in_per_m
    names = content.roles
    over = _axes_at(figure, place)  # whose unit is the inch
    over.set(xlim=(0, place.width), ylim=(0, place.height))
    over.axis("off")
    figure_sites.draw_sites(
        over,
        content.sites["rank"].astype(int).to_list(),
        x_in,
        y_in,
        groups=content.sites["group"].to_list() if names else None,
        roles=[(names.index(name), len(names)) for name in content.sites["role"]]
        if names
        else None,
        facings_deg=content.facings_deg,
    )


def _axes_at(figure: Figure, place: Box) -> Axes:
    width, height = figure.get_size_inches()
    return figure.add_axes(
        (place.left / width, place.bottom / height, place.width / width, place.height / height)
    )


def _draw_column(
    sheet: Sheet, content: FigureContent, x: float, top: float, width: float, in_per_m: float
) -> float:
    """Draw the panel beside a map; return where it ends. [inch]."""
    top = _draw_key(sheet, content, x, top, width) - 0.12
    top = _draw_scale(sheet, content, x, top, width, in_per_m) - 0.15
    return _draw_place(sheet, content, x, top, width, in_per_m)


def _draw_band(
    sheet: Sheet, content: FigureContent, x: float, top: float, width: float, in_per_m: float
) -> float:
    """Draw the panel below a map, in three columns; return where it ends. [inch]."""
    room = width - 2 * GAP_IN
    widths = [min(0.31 * room, 2.6), min(0.29 * room, 2.6)]
    second = x + widths[0] + GAP_IN
    third = second + widths[1] + GAP_IN
    return min(
        _draw_key(sheet, content, x, top, widths[0]),
        _draw_scale(sheet, content, second, top, widths[1], in_per_m),
        _draw_place(sheet, content, third, top, x + width - third, in_per_m),
    )


def _draw_key(sheet: Sheet, content: FigureContent, x: float, top: float, width: float) -> float:
    title = "Score (0 to 1, higher suits better)" if content.has_words else "0 … 1"
    top = figure_parts.score_key(sheet, x, top, width, content.lowest, title)
    return figure_parts.legend(sheet, x, top, width, legend_entries(content), content.roles)


def _draw_scale(
    sheet: Sheet, content: FigureContent, x: float, top: float, width: float, in_per_m: float
) -> float:
    top = figure_parts.scale_bar(sheet, x, top, width, in_per_m) - 0.08
    convergence_deg = content.grid.convergence_deg()
    return figure_parts.norths(sheet, x, top, width, convergence_deg, has_words=content.has_words)


def _draw_place(
    sheet: Sheet, content: FigureContent, x: float, top: float, width: float, in_per_m: float
) -> float:
    """Draw the globe with the land's place, and beside it coordinates, extent, scale and date."""
    middle = top - _GLOBE_IN - 0.02
    if sheet.is_kept:
        locator.draw_globe(sheet.axes, x + _GLOBE_IN + 0.02, middle, _GLOBE_IN, *content.centre_deg)
    ends = middle - _GLOBE_IN
    left = x + 2 * _GLOBE_IN + 0.15
    for fact in facts(content, in_per_m):
        top = sheet.paragraph(fact, left, top, x + width - left) - 0.04
    return min(top, ends)


def _in_per_true_m(place: Arrangement, grid: Grid) -> float:
    """Return inches of paper for a metre on the ground, which the projection stretches."""
    return place.map.width / (grid.cols * grid.cell_m) * grid.scale_factor()
