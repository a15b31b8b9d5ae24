"""The small map of a site's page: relief, score and shapes, the site in its middle."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle

from suitability.grid import Float64
from suitability.outputs import colours, figure_map, figure_sites
from suitability.outputs.figure_parts import BOUNDARY_STYLE, WIRE_STYLE
from suitability.outputs.sheet_content import SheetMap

_SITE_IN = 0.11  # radius of the ring around the site
_ARROW_IN = 0.42
_NORTH_IN, _CORNER_IN = 0.2, 0.27
_MOST_OTHERS = 12
_HATCH_DPI = 200  # of the lines over land that is out


def draw_sheet_map(
    figure: Figure, left: float, bottom: float, width_in: float, height_in: float,
    shown: SheetMap, *, lowest: float = 0.0, has_others: bool = True,
) -> None:  # fmt: skip
    """Draw the map into a part of a page that is as wide as the square, and no higher. [inch].

    Parameters
    ----------
    figure : matplotlib.figure.Figure
        The page.
    left, bottom, width_in, height_in : float
        Lower left corner and size. [inch]
    shown : SheetMap
        What to show.
    lowest : float
        Where the first class of the score starts.
    has_others : bool
        Whether the sites nearby are shown, all with their numbers.
    """
    page = figure.get_size_inches()
    place = (left / page[0], bottom / page[1], width_in / page[0], height_in / page[1])
    axes = figure.add_axes(place)
    axes.set_facecolor(colours.PAPER)
    in_per_m = width_in / shown.side_m
    if shown.score.size:
        _draw_land(axes, shown, in_per_m, lowest)
    _draw_shapes(axes, shown)
    west, south, east, north = shown.bounds
    cut_m = (shown.side_m - height_in / in_per_m) / 2  # off the square's south and north
    axes.set(xlim=(west, east), ylim=(south + cut_m, north - cut_m), xticks=[], yticks=[])
    axes.set_aspect("auto")
    for spine in axes.spines.values():
        spine.set_linewidth(0.7)
    over = figure.add_axes(place)  # whose unit is the inch
    over.set(xlim=(0, width_in), ylim=(0, height_in))
    over.axis("off")
    x_in, y_in = (shown.x_m - west) * in_per_m, (shown.y_m - south - cut_m) * in_per_m
    _draw_site(over, x_in[0], y_in[0], shown.facing_deg)
    if has_others:
        is_seen = (y_in > 0) & (y_in < height_in)
        ranks = tuple(np.array(shown.ranks)[is_seen].tolist())
        _draw_numbers(over, ranks, x_in[is_seen], y_in[is_seen])
    # In the corner that is furthest from the sites and their numbers.
    corners = [(x, y) for y in (height_in - _CORNER_IN, _CORNER_IN)
               for x in (width_in - _CORNER_IN, _CORNER_IN)]  # fmt: skip
    room = [float(np.hypot(x_in - x, y_in - y).min()) for x, y in corners]
    _draw_north(over, corners[int(np.argmax(room))], shown.true_north_deg)


def _draw_land(axes: Axes, shown: SheetMap, in_per_m: float, lowest: float) -> None:
    picture = figure_map.paint(shown.score, shown.excluded, shown.light, lowest=lowest)
    height_px, width_px = (
        max(round(cells * shown.grid.cell_m * in_per_m * _HATCH_DPI), 1)
        for cells in shown.grid.shape
    )
    lines = figure_map.hatching(shown.excluded, height_px, width_px, _HATCH_DPI)
    figure_map.draw_ground(axes, shown.grid, picture, lines, as_is=True)


def _draw_shapes(axes: Axes, shown: SheetMap) -> None:
    shapes = shown.shapes
    if "water" in shapes:
        figure_map.draw_lines(axes, shapes["water"], colours.WATER, 1.2)
    if "buildings" in shapes:
        figure_map.draw_areas(axes, shapes["buildings"], colours.BUILDING, colours.PAPER)
    if "boundary" in shapes:
        figure_map.draw_lines(axes, shapes["boundary"], colours.INK, 1.3, BOUNDARY_STYLE)
    if "wires" in shapes:
        figure_map.draw_lines(axes, shapes["wires"], colours.INK, 1.1, WIRE_STYLE)


def _draw_site(axes: Axes, x: float, y: float, facing_deg: float | None) -> None:
    """Draw a ring about the site, and an arrow the way that the box looks."""
    for colour, width in ((colours.PAPER, 4.2), (colours.INK, 2.0)):
        axes.add_patch(Circle((x, y), _SITE_IN, fc="none", ec=colour, lw=width, zorder=6))
    figure_sites.draw_ring(axes, x, y)
    if facing_deg is None:
        return
    for colour, width in ((colours.PAPER, 4.0), (colours.INK, 1.8)):
        _arrow(axes, (x, y), facing_deg, _SITE_IN, _ARROW_IN, colour, width, zorder=6)


def _draw_numbers(axes: Axes, ranks: tuple[int, ...], x_in: Float64, y_in: Float64) -> None:
    """Draw this site's number and those of the nearest others."""
    nearest = np.argsort(np.hypot(x_in - x_in[0], y_in - y_in[0]), kind="stable")[:_MOST_OTHERS]
    names = [ranks[at] for at in nearest]
    figure_sites.draw_sites(axes, names, x_in[nearest], y_in[nearest])


def _draw_north(axes: Axes, middle: tuple[float, float], true_north_deg: float) -> None:
    """Draw an arrow to true north on a white disc."""
    axes.add_patch(Circle(middle, 0.23, fc=colours.PAPER, ec=colours.INK, lw=0.6, zorder=10))
    _arrow(axes, middle, true_north_deg, -_NORTH_IN, 0.06, colours.INK, 1.2, zorder=11)
    x, y = _along(middle, true_north_deg, 0.13)
    axes.text(x, y, "N", size=7.5, weight="bold", ha="center", va="center", zorder=11)


def _arrow(
    axes: Axes, middle: tuple[float, float], way_deg: float, start_in: float, end_in: float,
    colour: str, width: float, zorder: float,
) -> None:  # fmt: skip
    """Draw an arrow between two distances from a point, clockwise from the map's top."""
    style: dict[str, Any] = {"arrowstyle": "-|>,head_width=0.22,head_length=0.4"}
    style |= {"color": colour, "linewidth": width, "shrinkA": 0, "shrinkB": 0}
    end, start = (_along(middle, way_deg, distance) for distance in (end_in, start_in))
    axes.annotate("", end, start, arrowprops=style, zorder=zorder)


def _along(middle: tuple[float, float], way_deg: float, distance: float) -> tuple[float, float]:
    turn = math.radians(way_deg)
    return middle[0] + math.sin(turn) * distance, middle[1] + math.cos(turn) * distance
