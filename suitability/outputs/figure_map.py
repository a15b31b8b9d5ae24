"""The map inside the figure: relief, score, excluded land and vectors."""

from __future__ import annotations

import math
from typing import Any

import geopandas
import numpy as np
import shapely
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection, PathCollection
from matplotlib.colors import ListedColormap, to_rgb
from matplotlib.path import Path as Outline
from numpy.typing import NDArray

from suitability.grid import Float32, Float64, Grid
from suitability.outputs import colours

Picture = NDArray[np.float32]
Bool = NDArray[np.bool_]

MOST_PIXELS = 2000
_TICK_LABEL_IN = 0.55
_HATCH_PERIOD_IN, _HATCH_WIDTH_IN, _HATCH_OPACITY = 0.08, 0.01, 0.4


def block_mean(values: Float32, factor: int) -> Float32:
    """Return the means of square blocks, of what is not NaN; a block of NaN stays NaN.

    Parameters
    ----------
    values : numpy.ndarray
        (rows, cols) float32.
    factor : int
        Cells along a block's edge; blocks at the far edges hold what is left.
    """
    if factor == 1:
        return values
    rows, cols = (range(0, length, factor) for length in values.shape)
    known = np.isfinite(values)

    def sums(array: NDArray[Any]) -> Float64:
        by_row = np.add.reduceat(array, list(rows), axis=0, dtype=np.float64)
        return np.add.reduceat(by_row, list(cols), axis=1, dtype=np.float64)

    count = sums(known)
    total = sums(np.where(known, values, np.float32(0)))
    mean: Float64 = np.divide(total, count, out=np.full(count.shape, np.nan), where=count > 0)
    return mean.astype(np.float32)


def first_class_from(score: Float32) -> float:
    """Return where the first class of the score starts, so that the classes tell land apart.

    0 where scores spread widely, up to 0.9 where nearly all land is good: all but one cell in
    fifty lie above it, and the classes are 0.1, 0.05, 0.02 or 0.01 wide.

    Parameters
    ----------
    score : numpy.ndarray
        (rows, cols) float32, 0..1; NaN where there is none.
    """
    known = score[np.isfinite(score)]
    low = float(np.percentile(known, 2)) if known.size else 0.0
    return max(start for start in (0.0, 0.5, 0.8, 0.9) if start <= low)


def paint(
    score: Float32, excluded: Bool, hillshade: Float32 | None, *, lowest: float = 0.0
) -> Picture:
    """Return the map's picture, at most `MOST_PIXELS` along an edge.

    The relief moves a score's colour by less than half a class, so that it can be read off the
    legend everywhere.

    Parameters
    ----------
    score : numpy.ndarray
        (rows, cols) float32, 0..1; NaN where there is none.
    excluded : numpy.ndarray
        (rows, cols) bool.
    hillshade : numpy.ndarray or None
        (rows, cols) float32, 0..1.
    lowest : float
        Where the first class starts; scores below it are in it, too.

    Returns
    -------
    numpy.ndarray
        (rows, cols, 3) float32, 0..1.
    """
    factor = decimation(score.shape)
    shown = block_mean(score, factor)
    out = block_mean(excluded.astype(np.float32), factor) > 0.5
    shown = np.where(out, np.float32(np.nan), shown)
    light = np.full(shown.shape, 1.0, np.float32)
    if hillshade is not None:
        light = np.nan_to_num(block_mean(hillshade, factor), nan=1.0)
    palette = np.array([to_rgb(colour) for colour in colours.SCORE_COLOURS], np.float32)
    place = (np.nan_to_num(shown) - lowest) / (1 - lowest) * len(palette)
    classes = np.clip(place, 0, len(palette) - 1).astype(np.intp)
    relief = colours.RELIEF_DARKEST + (1 - colours.RELIEF_DARKEST) * light
    scored = palette[classes] * (0.96 + 0.04 * light)[..., None]
    return np.where(np.isnan(shown)[..., None], relief[..., None], scored).astype(np.float32)


def decimation(shape: tuple[int, ...]) -> int:
    """Return how many cells become one pixel of the picture."""
    return math.ceil(max(shape) / MOST_PIXELS)


def hatching(excluded: Bool, height_px: int, width_px: int, dpi: int) -> Bool:
    """Return where fine diagonal lines lie over excluded land, in pixels of the page.

    Parameters
    ----------
    excluded : numpy.ndarray
        (rows, cols) bool.
    height_px, width_px : int
        Size of the map on the page.
    dpi : int
        Pixels an inch of the page.

    Returns
    -------
    numpy.ndarray
        (height, width) bool.
    """
    rows = (np.arange(height_px) * excluded.shape[0]) // height_px
    cols = (np.arange(width_px) * excluded.shape[1]) // width_px
    period, width = round(_HATCH_PERIOD_IN * dpi), round(_HATCH_WIDTH_IN * dpi)
    down, across = (np.arange(size) % period for size in (height_px, width_px))
    # A byte a pixel: the page has millions.
    line = (down.astype(np.uint8)[:, None] + across.astype(np.uint8)) % np.uint8(period) < width
    return line & excluded[np.ix_(rows, cols)]


def draw_ground(
    axes: Axes, grid: Grid, picture: Picture, lines: Bool, *, as_is: bool = False
) -> None:
    """Draw picture and hatching over the grid's extent.

    With `as_is` a PDF holds the picture cell by cell, not in pixels of the page: a book of many
    pages keeps all of their pictures in memory until it is closed.
    """
    west, south, east, north = grid.bounds
    ink = (colours.HATCH,) * 3
    # Blocks at the east and south edges may reach beyond the grid; the axes cut them off.
    factor = decimation(grid.shape)
    block_m = grid.cell_m * factor
    reach = (west, west + picture.shape[1] * block_m, north - picture.shape[0] * block_m, north)
    # With an opacity of its own, the library resamples it in half the memory.
    printed = np.full((*picture.shape[:2], 4), 255, np.uint8)
    printed[..., :3] = np.round(picture * 255)
    how = "none" if as_is else "nearest"
    axes.imshow(printed, extent=reach, interpolation=how, zorder=1)
    axes.set(xlim=(west, east), ylim=(south, north), aspect="equal")
    if not lines.any():
        return
    axes.imshow(
        lines.view(np.uint8),
        extent=(west, east, south, north),
        cmap=ListedColormap([(*ink, 0.0), (*ink, _HATCH_OPACITY)]),
        vmin=0,
        vmax=1,
        interpolation=how,
        interpolation_stage="data",  # coloured on the page only: a third of the memory
        zorder=2,
    )


def draw_lines(
    axes: Axes, shapes: geopandas.GeoDataFrame, colour: str, width: float, style: Any = "solid"
) -> None:
    """Draw lines, and outlines of polygons, on a white edge that lifts them off the score."""
    geometry = shapes.geometry.to_numpy()
    geometry = geometry[~(shapely.is_missing(geometry) | shapely.is_empty(geometry))]
    areas = shapely.get_dimensions(geometry) == 2
    geometry = np.where(areas, shapely.boundary(geometry), geometry)
    parts = [shapely.get_coordinates(part) for part in shapely.get_parts(geometry)]
    axes.add_collection(
        LineCollection(parts, colors=colours.PAPER, linewidths=width + 1.4, alpha=0.8, zorder=3)
    )
    axes.add_collection(
        LineCollection(parts, colors=colour, linewidths=width, linestyles=style, zorder=4)
    )


def draw_areas(axes: Axes, shapes: geopandas.GeoDataFrame, colour: str, edge: str) -> None:
    """Draw polygons filled, their holes left open."""
    areas = shapes.geometry.dropna().to_numpy()
    axes.add_collection(polygon_patches(areas, fc=colour, ec=edge, lw=0.5, zorder=5))


def polygon_patches(areas: Any, **style: Any) -> PathCollection:
    """Return the polygons of one or more geometries to be drawn, their holes left open."""
    parts = shapely.get_parts(shapely.get_parts(areas))  # a collection may hold multipolygons
    polygons = parts[shapely.get_type_id(parts) == shapely.GeometryType.POLYGON]
    return PathCollection([_outline(polygon) for polygon in polygons], **style)


def _outline(polygon: shapely.Polygon) -> Outline:
    # Rings of the two kinds must turn opposite ways for holes to stay open.
    turned = shapely.geometry.polygon.orient(polygon)
    rings = (turned.exterior, *turned.interiors)
    return Outline.make_compound_path(*(Outline(ring.coords, closed=True) for ring in rings))


def draw_ticks(axes: Axes, grid: Grid, in_per_m: float) -> None:
    """Mark the grid's coordinates around the map, in metres.

    Parameters
    ----------
    axes : matplotlib.axes.Axes
        The map.
    grid : Grid
        What it shows.
    in_per_m : float
        Inches of paper for a metre of the grid.
    """
    west, south, east, north = grid.bounds
    step_m = round_length(max(east - west, north - south) / 4)
    for axis, start, end in ((axes.xaxis, west, east), (axes.yaxis, south, north)):
        ticks = np.arange(math.ceil(start / step_m), math.floor(end / step_m) + 1) * step_m
        # A number at a corner would reach past the map, into the title or the other numbers.
        inside = np.minimum(ticks - start, end - ticks) * in_per_m > _TICK_LABEL_IN / 2
        axis.set_ticks(
            ticks, [f"{tick:,.0f}" if ok else "" for tick, ok in zip(ticks, inside, strict=True)]
        )
    axes.tick_params(
        width=0.5, length=3, labelsize=7, top=True, right=True, colors=colours.QUIET_INK
    )
    for label in axes.get_yticklabels():
        label.set(rotation=90, va="center")
    for spine in axes.spines.values():
        spine.set_linewidth(0.7)


def round_length(longest: float) -> float:
    """Return the longest of 1, 2 or 5 times a power of ten that fits."""
    power = 10.0 ** math.floor(math.log10(longest))
    return max(step * power for step in (1, 2, 5) if step * power <= longest)
