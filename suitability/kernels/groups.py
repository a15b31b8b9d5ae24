"""The best group of boxes around a place: a search that leaves nothing out."""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True, nogil=True, error_model="numpy")
def best_groups(  # type: ignore[no-untyped-def]
    score, around, kinds, leader_rows, leader_cols, boxes, within, apart
):
    """Return the best group that each leader, a place of the first kind, can have.

    Of the groups of a leader the one of the greatest total score is the best; among equals the
    one whose second box is better, then the third; of two boxes of one score that with the better
    surroundings is better, then the one further up, then further left.

    Parameters
    ----------
    score : (rows, cols) float32
        NaN is no candidate.
    around : (rows, cols) float64
        The land around, which parts equal scores.
    kinds : (rows, cols) uint8
        Bit k is set where box k may stand.
    leader_rows, leader_cols : (n,) int64
        Where the first box stands.
    boxes : int
        Boxes of a group.
    within, apart : float
        Greatest and least distance between two boxes of a group. [cells]

    Returns
    -------
    total : (n,) float64
        Sum of the boxes' scores; NaN where a leader can have no group.
    rows, cols : (n, boxes) int64
        Where the boxes stand.

    Notes
    -----
    Branch and bound: boxes are placed one after another, best place first; a branch ends where
    even the best places that the leader has for the boxes to come could not raise the total.
    """
    found = leader_rows.size
    total = np.full(found, np.nan)
    rows = np.zeros((found, boxes), np.int64)
    cols = np.zeros((found, boxes), np.int64)
    place_row = np.zeros(boxes, np.int64)
    place_col = np.zeros(boxes, np.int64)
    last = np.zeros((boxes, 2))
    sums = np.zeros(boxes)
    promised = np.zeros(boxes + 1)
    for n in range(found):
        place_row[0] = leader_rows[n]
        place_col[0] = leader_cols[n]
        sums[0] = score[place_row[0], place_col[0]]
        possible = True
        promised[boxes] = 0.0
        for k in range(boxes - 1, 0, -1):
            last[k, 0] = np.inf
            if not _next_best(
                score, around, kinds, k, 1, place_row, place_col, last, within, apart
            ):
                possible = False
                break
            promised[k] = promised[k + 1] + last[k, 0]
        if not possible:
            continue
        best = -np.inf
        k = 1
        last[1, 0] = np.inf
        while k > 0:
            if not _next_best(
                score, around, kinds, k, k, place_row, place_col, last, within, apart
            ):
                k -= 1
                continue
            sums[k] = sums[k - 1] + last[k, 0]
            if sums[k] + promised[k + 1] <= best:
                k -= 1  # places come best first: no later one of this box promises more
            elif k < boxes - 1:
                k += 1
                last[k, 0] = np.inf
            else:
                best = sums[k]
                rows[n] = place_row
                cols[n] = place_col
                total[n] = best
                k -= 1
    return total, rows, cols


@njit(cache=True, nogil=True, error_model="numpy")
def _next_best(  # type: ignore[no-untyped-def]
    score, around, kinds, k, placed, place_row, place_col, last, within, apart
):
    """Put box k at the next place in order after its last one; False if there is none.

    The place keeps its distances from the first `placed` boxes. `last[k]` holds score and
    surroundings of the last place, infinite if there was none, and takes those of the next.
    """
    rows, cols = score.shape
    reach = int(within)
    top = max(place_row[0] - reach, 0)
    bottom = min(place_row[0] + reach, rows - 1)
    left = max(place_col[0] - reach, 0)
    right = min(place_col[0] + reach, cols - 1)
    bit = np.uint8(1 << k)
    last_score, last_around = last[k]
    last_row, last_col = place_row[k], place_col[k]
    best_score, best_around = -np.inf, -np.inf
    best_row, best_col = -1, -1
    for r in range(top, bottom + 1):
        for c in range(left, right + 1):
            if not kinds[r, c] & bit:
                continue
            value = np.float64(score[r, c])
            if not (best_score <= value <= last_score):  # also where it is NaN
                continue
            land = around[r, c]
            if value == best_score and land <= best_around:
                continue
            if value == last_score and (
                land > last_around
                or (land == last_around and (r < last_row or (r == last_row and c <= last_col)))
            ):
                continue
            fits = True
            for p in range(placed):
                down, across = r - place_row[p], c - place_col[p]
                apart_squared = np.float64(down * down + across * across)
                if apart_squared > within * within or apart_squared < apart * apart:
                    fits = False
                    break
                if apart_squared == 0:
                    fits = False
                    break
            if fits:
                best_score, best_around, best_row, best_col = value, land, r, c
    if best_row < 0:
        return False
    last[k, 0], last[k, 1] = best_score, best_around
    place_row[k], place_col[k] = best_row, best_col
    return True
