"""The skyline of walls seen from points before other walls: exact edges, no cells."""

from __future__ import annotations

import numpy as np
from numba import njit

# What lies nearer to a wall's plane is that wall, or goes on from it. [m]
IN_PLANE_M = 0.02


@njit(cache=True, nogil=True, error_model="numpy")
def skyline_slopes(x, y, height, out_x, out_y, setback, edges, tops, slopes):  # type: ignore[no-untyped-def]
    """Raise the steepest rise in each direction to that of the edges in front of a wall.

    Parameters
    ----------
    x, y, height : (n,) float64
        Points before walls. [m]
    out_x, out_y : (n,) float64
        Unit vectors in which the walls face.
    setback : float
        Of each point before its wall. [m]
    edges : (m, 4) float64
        Upright walls: x and y of both ends. [m]
    tops : (m, 2) float64
        Height of their top at both ends. [m]
    slopes : (n, k) float64
        Rise over distance in k directions spread evenly clockwise from the y axis; changed.
    """
    directions = slopes.shape[1]
    step = 2 * np.pi / directions
    for p in range(x.size):
        for e in range(edges.shape[0]):
            ax, ay = edges[e, 0] - x[p], edges[e, 1] - y[p]
            bx, by = edges[e, 2] - x[p], edges[e, 3] - y[p]
            # Distances from the plane of the wall; what lies behind it is cut away.
            before_a = ax * out_x[p] + ay * out_y[p] + setback
            before_b = bx * out_x[p] + by * out_y[p] + setback
            if before_a <= IN_PLANE_M and before_b <= IN_PLANE_M:
                continue
            start, end = 0.0, 1.0
            if before_a < 0:
                start = before_a / (before_a - before_b)
            if before_b < 0:
                end = before_a / (before_a - before_b)
            dx, dy = bx - ax, by - ay
            first = np.arctan2(ax + start * dx, ay + start * dy)
            turn = np.arctan2(ax + end * dx, ay + end * dy) - first
            if turn > np.pi:
                turn -= 2 * np.pi
            elif turn < -np.pi:
                turn += 2 * np.pi
            low = min(first, first + turn)
            high = max(first, first + turn)
            for k in range(int(np.ceil(low / step)), int(np.floor(high / step)) + 1):
                east, north = np.sin(k * step), np.cos(k * step)
                across = east * dy - north * dx
                if abs(across) < 1e-12:
                    continue
                distance = (ax * dy - ay * dx) / across
                along = (ax * north - ay * east) / across
                if distance <= 0:
                    continue
                along = min(max(along, 0.0), 1.0)
                top = tops[e, 0] + along * (tops[e, 1] - tops[e, 0])
                rise = (top - height[p]) / distance
                at = k % directions
                if rise > slopes[p, at]:  # False for NaN
                    slopes[p, at] = rise
