"""Streams for land that comes without them: where much water gathers, by a plain flow routing."""

import heapq

import numpy as np
from shapely import LineString


def receivers(heights):
    """Return the cell that each cell drains to, and the cells from the outlets upwards.

    Priority flood (Barnes, Lehman and Mulla, Computers & Geosciences 62, 2014): the land is
    flooded from its edge; a cell drains to the neighbour from which the flood reached it, so that
    no hollow holds water back. Flat indices; -1 where water leaves the land. NaN is no land.
    """
    rows, cols = heights.shape
    to = np.full(heights.size, -1)
    seen = np.isnan(heights)
    edge = np.zeros_like(seen)
    edge[[0, -1]] = edge[:, [0, -1]] = True
    heap = [(float(heights[r, c]), r * cols + c) for r, c in np.argwhere(edge & ~seen)]
    heapq.heapify(heap)
    seen |= edge
    order = []
    while heap:
        level, cell = heapq.heappop(heap)
        order.append(cell)
        row, col = divmod(cell, cols)
        for r in range(max(row - 1, 0), min(row + 2, rows)):
            for c in range(max(col - 1, 0), min(col + 2, cols)):
                if not seen[r, c]:
                    seen[r, c] = True
                    to[r * cols + c] = cell
                    heapq.heappush(heap, (max(level, float(heights[r, c])), r * cols + c))
    return to, order


def valley_lines(heights, transform, gathers):
    """Return lines from cell to cell wherever at least `gathers` cells drain through."""
    to, order = receivers(heights)
    through = np.ones(heights.size, int)
    for cell in reversed(order):
        if to[cell] >= 0:
            through[to[cell]] += through[cell]
    lines = []
    for cell in np.flatnonzero((through >= gathers) & (to >= 0)):
        ends = [divmod(int(at), heights.shape[1]) for at in (cell, to[cell])]
        lines.append(LineString([transform @ (col + 0.5, row + 0.5) for row, col in ends]))
    return lines
