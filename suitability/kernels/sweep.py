"""Cast shadows by sweeping away from the sun along parallel lines.

For one sun position the rows are passed in the order in which light crosses them. Shadow fronts
live on lines that run with the light, `1 / L` cells apart across the sweep; `front[l, i]` is the
height of the shadow's upper edge on a line. A line keeps its front from row to row, so nothing
diffuses, and the cost does not depend on how long shadows are.

Where a line stands: in row `r` of the whole grid, line `q` of set `l` has the column
`q + offset`, `offset = r * slope + l / L`, `slope` being the columns that the light moves a row.
With `f = floor(offset)` and `g = offset - f`, the lines left and right of column `j` are
`q = j - f - 1` and `j - f`, at distances `1 - g` and `g`: one weight serves a whole row.

Surfaces hold no NaN here: a cell unknown to the caller comes as `UNKNOWN`, far below any land.
"""

from __future__ import annotations

import numpy as np
from numba import njit

# Far below any land, yet small enough that sums and products of it stay finite in float32.
UNKNOWN = np.float32(-1e30)

# Contracting to fused multiply-adds is the only freedom given: sums keep their order, so that
# the same cell gets the same bits in any tile.
_FAST = {"contract"}


@njit(cache=True, nogil=True, fastmath=_FAST, error_model="numpy")
def _light(lit, receiver, left, right, weight, drop, hours):  # type: ignore[no-untyped-def]
    """Add `hours` to the cells that stand as high as the front between two lines."""
    other = np.float32(1) - weight
    none = np.float32(0)
    for j in range(lit.size):
        front = weight * left[j] + other * right[j]
        lit[j] += hours if receiver[j] + drop >= front else none


@njit(cache=True, nogil=True, fastmath=_FAST, error_model="numpy")
def _raise(front, before, after, weight, drop):  # type: ignore[no-untyped-def]
    """Lower the fronts by one step of light and raise them to the surface on their lines."""
    for i in range(front.size):
        ground = before[i] + weight * (after[i] - before[i])
        lowered = front[i] - drop
        front[i] = lowered if lowered > ground else ground


@njit(cache=True, nogil=True, error_model="numpy")
def empty_fronts(slopes, rows, cols, first_row, lines):  # type: ignore[no-untyped-def]
    """Return fronts with nothing sunward of the rows, and where each line has its place.

    Parameters
    ----------
    slopes : (n,) float64
        Columns that a line moves for each row, within -1..1.
    rows, cols : int
        Size of the array to be swept.
    first_row : int
        Number of its first row in the whole grid.
    lines : int
        Lines a cell, L.

    Returns
    -------
    front : (n, L, width) float32
        `UNKNOWN` for every line that meets the array.
    base : (n, L) int64
        Line `q` of a set has the index `q + 1 + base`.
    """
    n = slopes.size
    last_row = first_row + rows - 1
    width = 0
    base = np.empty((n, lines), np.int64)
    for p in range(n):
        for k in range(lines):
            one = np.int64(np.floor(first_row * slopes[p] + k / lines))
            two = np.int64(np.floor(last_row * slopes[p] + k / lines))
            base[p, k] = max(one, two)
            width = max(width, abs(one - two) + cols + 1)
    return np.full((n, lines, width), UNKNOWN, np.float32), base


@njit(cache=True, nogil=True, error_model="numpy")
def far_fronts(front, base, slopes, drops, upwards, shape, first, far, block, far_shape):  # type: ignore[no-untyped-def]
    """Set each line's front to what far land casts on the place where the line enters the array.

    Marches sunward from that place over a coarse surface, from the middle of one row of squares to
    the middle of the next, and meets there the square that it is in: a mean of two neighbours
    would lower a crest. Between two squares it meets both, as between any two cells.

    Parameters
    ----------
    front, base
        From `empty_fronts`; `front` is changed in place.
    slopes, drops : (n,) float64
        As for `sweep`.
    upwards : bool
        As for `sweep`.
    shape, first : (int, int)
        Rows and columns of the array, and its first cell in the whole grid.
    far : (coarse rows, coarse cols) float32
        The surface over squares of `block` cells of the whole grid; NaN casts nothing.
    block : int
        Cells along the side of such a square; the last ones may be cut short.
    far_shape : (int, int)
        Rows and columns of the whole grid.
    """
    rows, cols = shape
    first_row, first_col = first
    sunward = 1 if upwards else -1
    beyond = _highest_beyond(far, sunward)
    enter_first = rows - 1 if upwards else 0
    for p in range(slopes.size):
        for k in range(front.shape[1]):
            shift = k / front.shape[1]
            for i in range(front.shape[2]):
                q = i - 1 - base[p, k]
                row = enter_first
                column = q + (first_row + row) * slopes[p] + shift
                # A line beyond the sides when the sweep starts comes in where it meets a side.
                if column < -1 or column > cols:
                    edge = -1 if column < -1 else cols
                    travelled = (edge - column) / (-sunward * slopes[p])
                    if not travelled <= rows:
                        continue
                    row = enter_first - sunward * travelled
                    column = edge
                best = front[p, k, i]
                r = np.int64((first_row + row) // block)
                while 0 <= r < far.shape[0]:
                    middle = (r * block + min((r + 1) * block, far_shape[0]) - 1) / 2
                    away = sunward * (middle - first_row - row)
                    c = first_col + column + sunward * away * slopes[p]
                    past = not (-0.5 <= c < far_shape[1] - 0.5)
                    if past or not beyond[r] - away * drops[p] > best:
                        break
                    if away > 0:  # else it lies within the array
                        high = np.float32(_between(far[r], c, block) - away * drops[p])
                        if high > best:  # False for NaN
                            best = high
                    r += sunward
                front[p, k, i] = best


@njit(cache=True, nogil=True, inline="always")
def _between(squares, c, block):  # type: ignore[no-untyped-def]
    """Return what stands at a fractional column of cells: linear from one cell's to the next's."""
    left = np.int64(np.floor(c))
    part = c - left
    last = squares.size - 1
    one = squares[max(left, 0) // block]
    two = squares[min((left + 1) // block, last)]
    return (1 - part) * one + part * two


@njit(cache=True, nogil=True, error_model="numpy")
def _highest_beyond(far, sunward):  # type: ignore[no-untyped-def]
    """Return for each row of squares the highest of it and of all rows sunward of it, (rows,)."""
    rows = far.shape[0]
    found = np.empty(rows, np.float32)
    highest = UNKNOWN
    for step in range(rows):
        r = rows - 1 - step if sunward > 0 else step
        for value in far[r]:
            if value > highest:  # False for NaN
                highest = value
        found[r] = highest
    return found


@njit(cache=True, nogil=True, error_model="numpy")
def sweep(lit, surface, receiver, slopes, drops, hours, upwards, first_row, front, base):  # type: ignore[no-untyped-def]
    """Add the lit hours of sun positions that cross the rows in the same order.

    Parameters
    ----------
    lit : (rows, cols) float32
        Sum to add to, in place. [h]
    surface : (rows, cols + 2) float32
        What casts shadows, between two columns of `UNKNOWN`; no NaN. [m]
    receiver : (rows, cols) float32
        What is lit or not; no NaN. [m]
    slopes : (n,) float64
        Columns that a line moves for each row, within -1..1.
    drops : (n,) float64
        How far light falls over one row. [m]
    hours : (n,) float32
        Weight of each position. [h]
    upwards : bool
        True where light comes from the last row, towards row 0.
    first_row : int
        Number of the first row in the whole grid; lines are anchored to row 0 of that.
    front, base
        From `empty_fronts`, perhaps with `far_fronts`; `front` is used up.
    """
    rows, cols = receiver.shape
    lines = front.shape[1]
    start = np.empty(lines, np.int64)
    part = np.empty(lines, np.float64)
    for step in range(rows):
        row = rows - 1 - step if upwards else step
        t = receiver[row]
        s0 = surface[row, : cols + 1]
        s1 = surface[row, 1:]
        for p in range(slopes.size):
            drop = np.float32(drops[p])
            nearest_right = 0
            nearest_left = 0
            for k in range(lines):
                offset = (first_row + row) * slopes[p] + k / lines
                whole = np.floor(offset)
                part[k] = offset - whole
                # Index of line q = -1 - floor(offset), the first one that meets the row.
                start[k] = base[p, k] - np.int64(whole)
                if part[k] < part[nearest_right]:
                    nearest_right = k
                if part[k] >= part[nearest_left]:
                    nearest_left = k
            a = start[nearest_left]
            b = start[nearest_right] + 1
            _light(
                lit[row],
                t,
                front[p, nearest_left, a : a + cols],
                front[p, nearest_right, b : b + cols],
                np.float32(min(part[nearest_right] * lines, 1.0)),
                drop,
                hours[p],
            )
            for k in range(lines):
                a = start[k]
                _raise(front[p, k, a : a + cols + 1], s0, s1, np.float32(part[k]), drop)


@njit(cache=True, nogil=True)
def add_transposed(target, other):  # type: ignore[no-untyped-def]
    """Add the transpose of `other` to `target`, both float32, block by block for the cache."""
    rows, cols = target.shape
    block = 32
    for r0 in range(0, rows, block):
        for c0 in range(0, cols, block):
            for r in range(r0, min(r0 + block, rows)):
                for c in range(c0, min(c0 + block, cols)):
                    target[r, c] += other[c, r]
