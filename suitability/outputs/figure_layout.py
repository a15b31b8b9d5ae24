"""Where things go on the map's page: the way that shows the land largest."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from suitability.grid import Grid

MARGIN_IN = 0.45
GAP_IN = 0.2
_TICKS_IN = 0.3  # to the left of the map and below it
_COLUMN_IN = 2.4  # width of the panel beside a map
_LEAST_MAP_IN = 0.8


@dataclass(frozen=True)
class Box:
    """A rectangle on the page. [inch]."""

    left: float
    bottom: float
    width: float
    height: float

    @property
    def top(self) -> float:
        """Its upper edge."""
        return self.bottom + self.height


class Heights(Protocol):
    """How high the parts around a map are in a given width. [inch]."""

    def head(self, width_in: float) -> float:
        """Return the height of the title."""

    def foot(self, width_in: float) -> float:
        """Return the height of caption, cautions and sources."""

    def band(self, width_in: float) -> float:
        """Return the height of key, legend, scale and the rest side by side."""

    def column(self, width_in: float) -> float:
        """Return the height of the same, one below the other."""


@dataclass(frozen=True)
class Arrangement:
    """Where the parts go; the page upright or lying, the panel below the map or beside it.

    Parameters
    ----------
    page : tuple of float
        Width and height. [inch]
    map, panel, foot : Box
        The parts; the head begins at the page's upper margin.
    is_beside : bool
        Whether the panel stands beside the map.
    unused : float
        Of the room for the map. [square inch]
    """

    page: tuple[float, float]
    map: Box
    panel: Box
    foot: Box
    is_beside: bool
    unused: float

    @property
    def merit(self) -> float:
        """How large the land is shown, less what stays empty around it. [square inch]."""
        return self.map.width * self.map.height - self.unused


def arrange(grid: Grid, paper_in: tuple[float, float], heights: Heights) -> Arrangement:
    """Return the arrangement that shows the land largest and leaves little room empty.

    Parameters
    ----------
    grid : Grid
        The land.
    paper_in : tuple of float
        Width and height of the paper, upright. [inch]
    heights : Heights
        Of the parts around the map.
    """
    upright, lying = paper_in, (paper_in[1], paper_in[0])
    ways = [_below(grid, page, heights) for page in (upright, lying)]
    ways += [way for page in (upright, lying) if (way := _beside(grid, page, heights)) is not None]
    return max(ways, key=lambda way: way.merit)


def _below(grid: Grid, page: tuple[float, float], heights: Heights) -> Arrangement:
    width = page[0] - 2 * MARGIN_IN
    foot = Box(MARGIN_IN, MARGIN_IN, width, heights.foot(width))
    panel = Box(MARGIN_IN, foot.top + GAP_IN, width, heights.band(width))
    top = page[1] - MARGIN_IN - heights.head(width)
    room = _room(MARGIN_IN, panel.top, width, top)
    return _arranged(grid, page, room, panel, foot, is_beside=False)


def _beside(grid: Grid, page: tuple[float, float], heights: Heights) -> Arrangement | None:
    top = page[1] - MARGIN_IN - heights.head(page[0] - 2 * MARGIN_IN)
    column = heights.column(_COLUMN_IN)
    if column > top - MARGIN_IN:
        return None
    width = page[0] - 2 * MARGIN_IN - _COLUMN_IN - 1.5 * GAP_IN
    foot = Box(MARGIN_IN, MARGIN_IN, width, heights.foot(width))
    panel = Box(page[0] - MARGIN_IN - _COLUMN_IN, top - column, _COLUMN_IN, column)
    room = _room(MARGIN_IN, foot.top, width, top)
    return _arranged(grid, page, room, panel, foot, is_beside=True)


def _room(left: float, bottom: float, width: float, top: float) -> Box:
    """Return the room for a map above something, its ticks left out."""
    above = bottom + GAP_IN + _TICKS_IN
    return Box(left + _TICKS_IN, above, width - _TICKS_IN, max(top - above, _LEAST_MAP_IN))


def _arranged(
    grid: Grid, page: tuple[float, float], room: Box, panel: Box, foot: Box, *, is_beside: bool
) -> Arrangement:
    """Return an arrangement with the largest map of the land's shape.

    It is in the middle of its room; beside a panel, their upper edges are level.
    """
    in_per_cell = min(room.width / grid.cols, room.height / grid.rows)
    width, height = grid.cols * in_per_cell, grid.rows * in_per_cell
    left = room.left + (room.width - width) / 2
    below = room.height - height
    place = Box(left, room.bottom + (below if is_beside else below / 2), width, height)
    unused = room.width * room.height - width * height
    return Arrangement(page, place, panel, foot, is_beside, unused)
