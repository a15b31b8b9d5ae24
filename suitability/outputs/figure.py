"""The map figure: one letter page that says what it shows, how sure it is and what to heed."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from typing import Any

import geopandas
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from numpy.typing import NDArray

from suitability.grid import Float32, Float64, Grid
from suitability.outputs import colours, figure_map, figure_parts, figure_sites
from suitability.outputs.atomic import written
from suitability.outputs.figure_parts import Sheet

DPI = 200
_LONG_IN, _SHORT_IN = 11.0, 8.5
_MARGIN_IN = 0.45
_TICKS_IN = 0.3
_PANEL_WIDTH_IN = 2.5
_PANEL_HEIGHT_IN = 1.85
_GAP_IN = 0.25


@dataclass(frozen=True)
class FigureContent:
    """All that the figure shows.

    Parameters
    ----------
    title : str
        What land, what for.
    grid : Grid
        Where the rasters lie.
    cell_m : float
        Edge of the cells that were judged, which the rasters may show averaged. [m]
    score : numpy.ndarray
        (rows, cols) float32, 0..1; NaN where excluded or unknown.
    excluded : numpy.ndarray
        (rows, cols) bool.
    sites : geopandas.GeoDataFrame
        `rank`, `x_m`, `y_m` of each, [m]; `group` and `role` where boxes stand in groups.
    caution : str
        What to heed, in a line or two.
    sources : str
        Where the data come from, with the credit their owners want; shown as it is.
    date : str
        Day of the run, ISO 8601.
    subtitle : tuple of str
        Season, mount, criteria and weights, a line each.
    warnings : tuple of str
        What changes how the map may be read.
    hillshade : numpy.ndarray, optional
        (rows, cols) float32, 0..1.
    streams, boundary, buildings : geopandas.GeoDataFrame, optional
        In the grid's CRS.
    """

    title: str
    grid: Grid
    cell_m: float
    score: Float32
    excluded: NDArray[np.bool_]
    sites: geopandas.GeoDataFrame
    caution: str
    sources: str
    date: str
    subtitle: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    hillshade: Float32 | None = None
    streams: geopandas.GeoDataFrame | None = None
    boundary: geopandas.GeoDataFrame | None = None
    buildings: geopandas.GeoDataFrame | None = None


@dataclass(frozen=True)
class _Box:
    """A rectangle on the page. [inch]."""

    left: float
    bottom: float
    width: float
    height: float

    @property
    def top(self) -> float:
        return self.bottom + self.height


def draw_figure(path: str | os.PathLike[str], content: FigureContent) -> None:
    """Write the figure as PNG: a letter page, upright or lying as the land's shape wants.

    Parameters
    ----------
    path : path
        Where to; ends in `.png`.
    content : FigureContent
        What to show.
    """
    with figure_parts.own_style():
        page = _page_for(content.grid)
        figure = Figure(figsize=page, dpi=DPI)
        canvas: Any = FigureCanvasAgg(figure)  # its methods carry no types
        sheet = Sheet(_inches(figure, _Box(0, 0, *page)), canvas.get_renderer(), DPI)
        head_ends = _draw_head(sheet, page, content)
        foot_ends = _draw_foot(sheet, page, content)
        panel_height = _PANEL_HEIGHT_IN + figure_parts.ROW_IN * len(_roles(content))
        room, panel = _divide(page, head_ends - 0.1, foot_ends + 0.1, panel_height)
        place = _fit(room, content.grid)
        _draw_map(figure, place, content)
        if page[0] > page[1]:
            _draw_column(sheet, panel, place, content)
        else:
            height = place.bottom - _TICKS_IN - _GAP_IN - panel.bottom
            _draw_band(sheet, replace(panel, height=height), place, content)
        with written(path) as temporary:
            figure.savefig(temporary, format="png", metadata={"Software": None})


def _page_for(grid: Grid) -> tuple[float, float]:
    """Return the page for the land's shape; at the turning point both show it equally large."""
    lies = grid.cols > 1.2 * grid.rows
    return (_LONG_IN, _SHORT_IN) if lies else (_SHORT_IN, _LONG_IN)


def _divide(
    page: tuple[float, float], top: float, bottom: float, panel_height: float
) -> tuple[_Box, _Box]:
    """Return the room for the map with its ticks, and that for the panel beside or below it."""
    width = page[0] - 2 * _MARGIN_IN
    if page[0] > page[1]:
        map_width = width - _PANEL_WIDTH_IN - _GAP_IN
        panel_left = _MARGIN_IN + map_width + _GAP_IN
        panel = _Box(panel_left, bottom, _PANEL_WIDTH_IN, top - bottom)
        return _Box(_MARGIN_IN, bottom, map_width, top - bottom), panel
    panel = _Box(_MARGIN_IN, bottom, width, panel_height)
    rest = top - bottom - panel_height - _GAP_IN
    return _Box(_MARGIN_IN, bottom + panel_height + _GAP_IN, width, rest), panel


def _fit(room: _Box, grid: Grid) -> _Box:
    """Return the largest map of the land's shape, at the top of its room, ticks left out."""
    width, height = room.width - _TICKS_IN, room.height - _TICKS_IN
    in_per_cell = min(width / grid.cols, height / grid.rows)
    map_width, map_height = grid.cols * in_per_cell, grid.rows * in_per_cell
    left = room.left + _TICKS_IN + (width - map_width) / 2
    return _Box(left, room.top - map_height, map_width, map_height)


def _inches(figure: Figure, box: _Box) -> Axes:
    """Return empty axes over a part of the page, whose unit is the inch."""
    page_width, page_height = figure.get_size_inches()
    place = (
        box.left / page_width,
        box.bottom / page_height,
        box.width / page_width,
        box.height / page_height,
    )
    axes = figure.add_axes(place)
    axes.set(xlim=(0, box.width), ylim=(0, box.height))
    axes.axis("off")
    return axes


def _draw_head(sheet: Sheet, page: tuple[float, float], content: FigureContent) -> float:
    width = page[0] - 2 * _MARGIN_IN
    top = sheet.paragraph(
        content.title, _MARGIN_IN, page[1] - _MARGIN_IN + 0.05, width, size=16, weight="bold"
    )
    for line in content.subtitle:
        top = sheet.paragraph(line, _MARGIN_IN, top, width, size=8.5, colour=colours.QUIET_INK)
    return top


def _draw_foot(sheet: Sheet, page: tuple[float, float], content: FigureContent) -> float:
    """Draw caution and sources from the bottom up; return where they begin."""
    width = page[0] - 2 * _MARGIN_IN
    top = _MARGIN_IN - 0.1 + sheet.height_of(content.sources, width, size=7)
    sheet.paragraph(content.sources, _MARGIN_IN, top, width, size=7, colour=colours.QUIET_INK)
    height = sheet.height_of(content.caution, width - 0.2, size=8) + 0.14
    corner = (_MARGIN_IN, top + 0.08)
    sheet.axes.add_patch(Rectangle(corner, width, height, fc="none", ec=colours.INK, lw=0.9))
    sheet.paragraph(
        content.caution, _MARGIN_IN + 0.1, corner[1] + height - 0.06, width - 0.2, size=8
    )
    return corner[1] + height


def _draw_map(figure: Figure, place: _Box, content: FigureContent) -> None:
    grid = content.grid
    page_width, page_height = figure.get_size_inches()
    axes = figure.add_axes(
        (
            place.left / page_width,
            place.bottom / page_height,
            place.width / page_width,
            place.height / page_height,
        )
    )
    lowest = figure_map.first_class_from(content.score)
    picture = figure_map.paint(content.score, content.excluded, content.hillshade, lowest=lowest)
    lines = figure_map.hatching(
        content.excluded, round(place.height * DPI), round(place.width * DPI)
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
    ranks = content.sites["rank"].astype(int).to_list()
    names = _roles(content)
    figure_sites.draw_sites(
        _inches(figure, place),
        ranks,
        x_in,
        y_in,
        groups=content.sites["group"].to_list() if names else None,
        roles=[(names.index(name), len(names)) for name in content.sites["role"]]
        if names
        else None,
        facings_deg=_facings(content),
    )


def _draw_column(sheet: Sheet, panel: _Box, place: _Box, content: FigureContent) -> None:
    """Draw the panel beside a lying map."""
    x, width = panel.left, panel.width
    lowest = figure_map.first_class_from(content.score)
    top = figure_parts.score_key(sheet, x, panel.top, width, lowest)
    top = figure_parts.legend(sheet, x, top, width, _entries(content), _roles(content)) - 0.12
    top = figure_parts.scale_bar(sheet, x, top, width, _in_per_true_m(place, content.grid)) - 0.08
    top = figure_parts.norths(sheet, x, top, width, content.grid.convergence_deg()) - 0.12
    _draw_facts(sheet, x, top, panel, content)


def _draw_band(sheet: Sheet, panel: _Box, place: _Box, content: FigureContent) -> None:
    """Draw the panel below a standing map, in three columns."""
    width = (panel.width - 2 * _GAP_IN) / 3
    lowest = figure_map.first_class_from(content.score)
    columns = [panel.left + number * (width + _GAP_IN) for number in range(3)]
    top = figure_parts.score_key(sheet, columns[0], panel.top, width, lowest)
    figure_parts.legend(sheet, columns[0], top, width, _entries(content), _roles(content))
    in_per_m = _in_per_true_m(place, content.grid)
    top = figure_parts.scale_bar(sheet, columns[1], panel.top, width, in_per_m) - 0.08
    figure_parts.norths(sheet, columns[1], top, width, content.grid.convergence_deg())
    _draw_facts(sheet, columns[2], panel.top, panel, content)


def _in_per_true_m(place: _Box, grid: Grid) -> float:
    """Return inches of paper for a metre on the ground, which the projection stretches."""
    return place.width / (grid.cols * grid.cell_m) * grid.scale_factor()


def _draw_facts(sheet: Sheet, x: float, top: float, panel: _Box, content: FigureContent) -> None:
    """Draw what the coordinates are, the date and the warnings, as many as there is room for."""
    grid, width = content.grid, panel.left + panel.width - x
    facts = (
        f"Coordinates: {grid.crs.name} ({grid.label}), metres. Cells of {content.cell_m:g} m.",
        f"Date: {content.date}",
    )
    for fact in facts:
        top = sheet.paragraph(fact, x, top, width) - 0.04
    if content.warnings:
        top = sheet.paragraph("Read with care", x, top - 0.08, width, weight="bold")
    for number, text in enumerate(content.warnings):
        warning = text[:1].upper() + text[1:]
        left_over = len(content.warnings) - number
        last_line = 0.0 if left_over == 1 else 0.17
        if top - sheet.height_of(warning, width) - last_line < panel.bottom:
            sheet.paragraph(f"{left_over} more in the run's record.", x, top, width)
            return
        top = sheet.paragraph(warning, x, top, width) - 0.04


def _roles(content: FigureContent) -> list[str]:
    """Return the names of a group's boxes in their order; none where boxes stand alone."""
    if "role" not in content.sites:
        return []
    return list(dict.fromkeys(content.sites["role"]))


def _facings(content: FigureContent) -> Float64 | None:
    """Return which way sites on walls look, from the map's top; NaN for those on poles."""
    if "kind" not in content.sites:
        return None
    on_wall = (content.sites["kind"] == "wall").to_numpy()
    grid_deg = content.sites["facing_deg"].to_numpy(np.float64) - content.grid.convergence_deg()
    return np.where(on_wall, grid_deg, np.nan)


def _entries(content: FigureContent) -> dict[str, str]:
    """Return what the legend must explain: what is on this map, and nothing else."""
    in_groups = "Site; a line joins the boxes of a group"
    site = in_groups if _roles(content) else "Site and its rank"
    shown = {
        "sites": (site, len(content.sites) > 0),
        "walls": (
            "Site on a wall, and the way it looks",
            "kind" in content.sites and bool((content.sites["kind"] == "wall").any()),
        ),
        "excluded": ("Excluded: no score", bool(content.excluded.any())),
        "no_score": (
            "Data missing: no score",
            bool((np.isnan(content.score) & ~content.excluded).any()),
        ),
        "streams": ("Stream or water edge", content.streams is not None),
        "boundary": ("Boundary", content.boundary is not None),
        "buildings": ("Building", content.buildings is not None),
    }
    return {sign: name for sign, (name, is_shown) in shown.items() if is_shown}
