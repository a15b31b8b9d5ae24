"""Small maps of what was measured, one for each layer, each with its own key and unit."""

from __future__ import annotations

import math
import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import geopandas
import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Rectangle

from suitability.grid import Float32, Float64, Grid
from suitability.outputs import colours, figure_map, figure_parts
from suitability.outputs.figure_layout import MARGIN_IN, Box
from suitability.outputs.figure_parts import Sheet
from suitability.outputs.paper import SIZES_IN, Paper, blank_page, write_pages
from suitability.quantities import Scale, number

_FEWEST_ON_A_PAGE, _MOST_ON_A_PAGE = 6, 12
_GAP_IN, _ROW_GAP_IN = 0.22, 0.16
_TITLE_IN, _KEY_IN = 0.27, 0.34
_SCALE_IN = 2.4
_SIZE = 7.5


@dataclass(frozen=True)
class LayerMap:
    """One layer.

    Parameters
    ----------
    title : str
        What it measures.
    values : numpy.ndarray
        (rows, cols) float32, in the layer's unit; NaN where it has none.
    scale : Scale
        How it is told.
    is_direction : bool
        Whether it comes full circle at 360 degrees.
    """

    title: str
    values: Float32
    scale: Scale
    is_direction: bool = False


@dataclass(frozen=True)
class LayersContent:
    """All that the pages show.

    Parameters
    ----------
    title : str
        What land.
    grid : Grid
        Where the layers lie.
    layers : sequence of LayerMap
        In the order in which to show them.
    caption, caution, sources : str
        What stands at the foot, a paragraph each; an empty one is left out.
    x_m, y_m : numpy.ndarray
        The sites. [m]
    boundary : geopandas.GeoDataFrame, optional
        In the grid's CRS.
    """

    title: str
    grid: Grid
    layers: Sequence[LayerMap]
    caption: str
    caution: str
    sources: str
    x_m: Float64
    y_m: Float64
    boundary: geopandas.GeoDataFrame | None = None


def draw_layers(
    path: str | os.PathLike[str], content: LayersContent, *, paper: Paper = "letter"
) -> tuple[Path, ...]:
    """Write the layers' maps, as many pages as they need; return the files.

    Parameters
    ----------
    path : path
        Where to; ends in `.png`, `.pdf` or `.svg`. A PDF holds all pages, pictures are numbered.
    content : LayersContent
        What to show.
    paper : {"letter", "a4"}
        The pages' size.

    Raises
    ------
    InputError
        If the name ends in anything else, or a file cannot be written.
    """
    with figure_parts.own_style():
        return write_pages(path, layer_pages(content, paper), title=content.title)


def layer_pages(content: LayersContent, paper: Paper = "letter") -> list[Figure]:
    """Return the pages, not yet written; to be called within `figure_parts.own_style`."""
    size, each, across = _page_for(content, SIZES_IN[paper])
    widths: dict[tuple[str, float, str], float] = {}  # of text, which all pages share
    pages = []
    for first in range(0, len(content.layers), each):
        layers = content.layers[first : first + each]
        figure, sheet = blank_page(*size)
        sheet = Sheet(sheet.axes, sheet.renderer, sheet.dpi, widths=widths)
        top, bottom = _draw_around(sheet, size, content)
        places = _places(size, top, bottom, each, across)
        shown = [
            _draw_layer(figure, sheet, place, layer, content)
            for place, layer in zip(places, layers, strict=False)
        ]
        in_per_true_m = shown[0].width / (content.grid.cols * content.grid.cell_m)
        figure_parts.scale_bar(
            sheet, MARGIN_IN, bottom - 0.12, _SCALE_IN, in_per_true_m * content.grid.scale_factor()
        )
        pages.append(figure)
    return pages


def _page_for(
    content: LayersContent, upright: tuple[float, float]
) -> tuple[tuple[float, float], int, int]:
    """Return the page, how many maps it holds and how many side by side, for the fullest pages."""
    count = len(content.layers)
    tried = []
    for size in (upright, upright[::-1]):
        _, sheet = blank_page(*size)
        top, bottom = _draw_around(sheet, size, content)
        for most in range(min(count, _FEWEST_ON_A_PAGE), min(count, _MOST_ON_A_PAGE) + 1):
            each = math.ceil(count / math.ceil(count / most))
            for across in range(1, each + 1):
                shown = _map_in(_places(size, top, bottom, each, across)[0], content.grid)
                tried.append((each * shown.width * shown.height, size, each, across))
    return max(tried, key=lambda one: one[0])[1:]


def _places(
    size: tuple[float, float], top: float, bottom: float, count: int, across: int
) -> list[Box]:
    """Return the room of each map with its title and key, row by row."""
    down = math.ceil(count / across)
    width = (size[0] - 2 * MARGIN_IN - (across - 1) * _GAP_IN) / across
    height = (top - bottom - (down - 1) * _ROW_GAP_IN) / down
    return [
        Box(
            MARGIN_IN + (place % across) * (width + _GAP_IN),
            top - height - (place // across) * (height + _ROW_GAP_IN),
            width,
            height,
        )
        for place in range(count)
    ]


def _map_in(place: Box, grid: Grid) -> Box:
    """Return where the map of a layer goes in its room: below its title, above its key."""
    room = max(place.height - _TITLE_IN - _KEY_IN, 0.1)
    in_per_cell = min(place.width / grid.cols, room / grid.rows)
    width, height = grid.cols * in_per_cell, grid.rows * in_per_cell
    return Box(place.left, place.top - _TITLE_IN - height, width, height)


def _draw_around(
    sheet: Sheet, size: tuple[float, float], content: LayersContent
) -> tuple[float, float]:
    """Draw title and foot; return where the room for the maps begins and ends. [inch]."""
    width = size[0] - 2 * MARGIN_IN
    top = size[1] - MARGIN_IN
    if content.title:
        title = sheet.cut(content.title, width, 2, size=14, weight="bold")
        top = sheet.paragraph(title, MARGIN_IN, top + 0.05, width, size=14, weight="bold") - 0.08
    left, beside = MARGIN_IN + _SCALE_IN + 0.3, width - _SCALE_IN - 0.3
    parts = [
        (sheet.cut(text, beside, most, size=size_pt), size_pt, colour)
        for text, most, size_pt, colour in (
            (content.caption, 3, _SIZE, colours.INK),
            (content.caution, 4, _SIZE, colours.INK),
            (content.sources, 3, 7, colours.QUIET_INK),
        )
        if text
    ]
    heights = [sheet.height_of(text, beside, size=size_pt) + 0.04 for text, size_pt, _ in parts]
    foot = MARGIN_IN + max(sum(heights), 0.62)
    line = foot
    for text, size_pt, colour in parts:
        line = sheet.paragraph(text, left, line, beside, size=size_pt, colour=colour) - 0.04
    return top, foot + 0.12


def _draw_layer(
    figure: Figure, sheet: Sheet, place: Box, layer: LayerMap, content: LayersContent
) -> Box:
    """Draw a layer's title, map and key; return where the map is."""
    shown, grid = _map_in(place, content.grid), content.grid
    heading = layer.title[:1].upper() + layer.title[1:]
    unit = {"": "0–1", "deg": "°"}.get(layer.scale.unit, layer.scale.unit)
    heading += f" [{unit}]"
    lines = sheet.wrapped(sheet.cut(heading, place.width, 2, size=7), 7, place.width)
    sheet.paragraph(
        " ".join(lines), place.left, place.top - (0.02 if len(lines) > 1 else 0.12), place.width,
        size=7,
    )  # fmt: skip
    page_width, page_height = figure.get_size_inches()
    axes = figure.add_axes(
        (
            shown.left / page_width,
            shown.bottom / page_height,
            shown.width / page_width,
            shown.height / page_height,
        )
    )
    low, high = key_ends(layer)
    axes.imshow(_painted(layer, low, high), extent=_extent(grid), interpolation="nearest")
    west, south, east, north = grid.bounds
    axes.set(xlim=(west, east), ylim=(south, north), aspect="equal", xticks=[], yticks=[])
    for spine in axes.spines.values():
        spine.set_linewidth(0.5)
    if content.boundary is not None:
        figure_map.draw_lines(axes, content.boundary, colours.INK, 0.8, figure_parts.BOUNDARY_STYLE)
    _draw_sites(axes, content, shown.width / (grid.cols * grid.cell_m))
    _draw_key(sheet, layer, shown, max(shown.width, min(place.width, 1.2)), low, high)
    return shown


def _extent(grid: Grid) -> tuple[float, float, float, float]:
    west, south, east, north = grid.bounds
    return west, east, south, north


def _draw_sites(axes: Axes, content: LayersContent, in_per_m: float) -> None:
    for x, y in zip(content.x_m, content.y_m, strict=True):
        for radius_in, colour in ((0.032, colours.PAPER), (0.022, colours.INK)):
            axes.add_patch(Circle((x, y), radius_in / in_per_m, fc=colour, ec="none", zorder=6))


def key_ends(layer: LayerMap) -> tuple[float, float]:
    """Return the measures at which the colours begin and end: all but the outermost hundredths."""
    if layer.is_direction:
        return 0.0, 360.0
    known = layer.values[np.isfinite(layer.values)]
    if not known.size:
        return 0.0, 0.0
    low, high = np.percentile(known, [1, 99])
    if low == high:  # nearly all land measures the same: show what does not
        low, high = known.min(), known.max()
    return float(low), float(high)


def _painted(layer: LayerMap, low: float, high: float) -> Float32:
    """Return a layer's picture, (rows, cols, 3)."""
    ramp = mpl.colormaps[colours.DIRECTIONS if layer.is_direction else colours.MEASURES]
    place = (layer.values - low) / (high - low) if high > low else np.zeros_like(layer.values)
    picture = ramp(np.nan_to_num(np.clip(place, 0, 1)))[..., :3].astype(np.float32)
    picture[~np.isfinite(layer.values)] = colours.NO_MEASURE
    return picture


def _draw_key(
    sheet: Sheet, layer: LayerMap, shown: Box, width: float, low: float, high: float
) -> None:
    """Draw the colours below a map with the measures that they stand for."""
    axes, top = sheet.axes, shown.bottom - 0.06
    if high <= low:
        is_known = bool(np.isfinite(layer.values).any())
        told = layer.scale.tell_digits(low, 3) if is_known else "–"
        axes.text(shown.left, top, told, size=7, va="top")
        return
    ramp = mpl.colormaps[colours.DIRECTIONS if layer.is_direction else colours.MEASURES]
    steps = 48
    for step in range(steps):
        corner = (shown.left + width * step / steps, top - 0.09)
        colour = ramp((step + 0.5) / steps)
        axes.add_patch(Rectangle(corner, width / steps, 0.09, fc=colour, ec=colour, lw=0.2))
    axes.add_patch(Rectangle((shown.left, top - 0.09), width, 0.09, fc="none", ec="0.1", lw=0.4))
    known = layer.values[np.isfinite(layer.values)]
    labels = key_labels(layer, low, high, float(known.min()), float(known.max()))
    for place, (label, align) in enumerate(zip(labels, ("left", "center", "right"), strict=True)):
        axes.text(shown.left + width * place / 2, top - 0.12, label, size=7, ha=align, va="top")


def key_labels(
    layer: LayerMap, low: float, high: float, least: float, most: float
) -> tuple[str, str, str]:
    """Return what stands below the ends and the middle of a key.

    Parameters
    ----------
    layer : LayerMap
        The layer.
    low, high : float
        Where the colours begin and end.
    least, most : float
        The land's own least and greatest measure.
    """
    if layer.is_direction:
        return "0 N", "180 S", "360 N"
    ends = [layer.scale.of(measure) for measure in (low, (low + high) / 2, high)]
    decimals = max(0, 2 - math.floor(math.log10(abs(ends[2] - ends[0]))))
    first, middle, last = (number(end, decimals) for end in ends)
    first = f"≤ {first}" if least < low - 0.01 * (high - low) else first
    last = f"≥ {last}" if most > high + 0.01 * (high - low) else last
    return first, middle, last
