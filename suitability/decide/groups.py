"""Groups of boxes whose places differ, the best group first, a stated distance apart."""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter

from suitability.decide.sites import THREADS, Index, mean_around
from suitability.grid import Float32, Float64, Window
from suitability.kernels.groups import best_groups

Kinds = NDArray[np.uint8]
# Gives the score of a window, and for each cell which boxes may stand there, a bit a box.
ReadKinds = Callable[[Window], tuple[Float32, Kinds]]

# Groups of a window that are kept; what comes after them is searched for when they are used up.
_KEPT = 256
# Leaders searched together, those first that promise most.
_TOGETHER = 4096


@dataclass(frozen=True)
class GroupRules:
    """What makes a group of boxes.

    Parameters
    ----------
    boxes : int
        Boxes of a group; box k stands where bit k of a cell's kinds is set.
    within_cells, apart_cells : float
        Greatest and least distance between two boxes of a group. [cells]
    spacing_cells : float
        Least distance between boxes of two groups. [cells]
    around_cells : int
        How far around a cell its surroundings reach, in a square. [cells]
    min_score : float
        Cells below this are no candidates.
    """

    boxes: int
    within_cells: float
    apart_cells: float
    spacing_cells: float
    around_cells: int
    min_score: float = 0.0


def kinds_of(layers: Mapping[str, Float32], bounds: Sequence[tuple[str, float, float]]) -> Kinds:
    """Return which boxes may stand on each cell, (rows, cols) uint8, a bit a box.

    Parameters
    ----------
    layers : mapping
        Measures by layer, (rows, cols) float32; NaN fits no box.
    bounds : sequence of (str, float, float)
        For each box its layer, the least measure and the greatest, both included.
    """
    kinds = np.zeros(layers[bounds[0][0]].shape, np.uint8)
    for number, (layer, low, high) in enumerate(bounds):
        fits = (layers[layer] >= np.float32(low)) & (layers[layer] <= np.float32(high))
        kinds |= fits.astype(np.uint8) << np.uint8(number)
    return kinds


def pick_groups(
    read: ReadKinds,
    windows: Sequence[Window],
    shape: tuple[int, int],
    *,
    count: int,
    rules: GroupRules,
) -> tuple[Index, Index]:
    """Return rows and columns of the best groups' boxes, (groups, boxes) each, best group first.

    Greedy: of all groups that can be made the one of the best mean score is taken, cells closer
    than the spacing to one of its boxes are struck out, and so on. The first box leads: each place
    for it has one group, its best (`kernels.groups.best_groups`). Groups of equal scores are taken
    in the order of the land around their boxes, then of the row and column of their first box.
    The result does not depend on the windows.

    Parameters
    ----------
    read : callable
        Gives score (float32, NaN is no candidate) and kinds (uint8) of a window.
    windows : sequence of Window
        They cover the land without overlap.
    shape : tuple of int
        Rows and columns of the whole.
    count : int
        How many groups are wanted; fewer are returned where the land has no more.
    rules : GroupRules
        What makes a group.
    """
    taken: list[tuple[int, int]] = []
    searches = [_Search(read, window, shape, rules, taken) for window in windows]
    with ThreadPoolExecutor(THREADS) as pool:
        first = list(pool.map(_Search.head, searches))
    heads = [(group.key, n) for n, group in enumerate(first) if group is not None]
    heapq.heapify(heads)
    groups: list[_Group] = []
    while heads and len(groups) < count:
        key, n = heapq.heappop(heads)
        best = searches[n].head()
        if best is not None and best.key == key:
            groups.append(best)
            taken += best.places
            best = searches[n].head()
        if best is not None:
            heapq.heappush(heads, (best.key, n))
    places = np.array([group.places for group in groups], np.int64)
    rows, cols = places.reshape(-1, rules.boxes, 2).transpose(2, 0, 1)
    return rows, cols


Key = tuple[float, float, int, int]


@dataclass(frozen=True, order=True)
class _Group:
    """A group by its place in the order, and how many boxes taken before it is known to heed."""

    key: Key
    places: tuple[tuple[int, int], ...]
    heeds: int


class _Search:
    """The groups led from a window, best first, some of them known at a time."""

    def __init__(
        self,
        read: ReadKinds,
        window: Window,
        shape: tuple[int, int],
        rules: GroupRules,
        taken: list[tuple[int, int]],
    ) -> None:
        self._read, self._window, self._shape = read, window, shape
        self._rules, self._taken = rules, taken
        self._known: list[_Group] = []
        # Groups that are not known come after this one; None when there are no others.
        self._last: Key | None = (-math.inf, 0.0, 0, 0)

    def head(self) -> _Group | None:
        """Return the best group that keeps its distance from all boxes taken so far."""
        while True:
            if self._known and (self._last is None or self._known[0].key <= self._last):
                group = heapq.heappop(self._known)
                heeding = self._heeding(group)
                if heeding is not None:
                    heapq.heappush(self._known, heeding)
                    if heeding.key == group.key:
                        return heeding
            elif self._last is None:
                return None
            else:
                self._known, self._last = self._best_of(self._window, _KEPT)
                heapq.heapify(self._known)

    def _heeding(self, group: _Group) -> _Group | None:
        """Return the group, or the best that its first box can still have, or None."""
        news = np.array(self._taken[group.heeds :], np.int64).reshape(-1, 2)
        away = np.array(group.places)[:, None] - news[None]
        struck = ((away**2).sum(axis=2) < self._rules.spacing_cells**2) | (away == 0).all(axis=2)
        if struck[0].any():
            return None
        if not struck.any():
            return _Group(group.key, group.places, len(self._taken))
        leader = Window(*group.places[0], 1, 1)
        again, _ = self._best_of(leader, 1)
        return again[0] if again else None

    def _best_of(self, window: Window, most: int) -> tuple[list[_Group], Key | None]:
        """Return the best groups led from a window, and what those not returned come after."""
        rules = self._rules
        reach = int(rules.within_cells)
        wide = window.grown(reach + rules.around_cells).clipped(self._shape)
        score, kinds = self._read(wide)
        around = mean_around(score, rules.around_cells)
        score = np.where(score >= max(rules.min_score, 0.0), score, np.float32(np.nan))
        self._strike_out(score, wide)
        promise = _promise(score, kinds, rules.boxes, reach)[window.within(wide)]
        order = np.argsort(-promise, axis=None, kind="stable")
        order = order[: np.count_nonzero(promise > -np.inf)]
        rows, cols = np.divmod(order, window.cols)
        rows, cols = rows + window.row - wide.row, cols + window.col - wide.col
        promised = promise.ravel()[order]
        found, left_out = _Found.none(rules.boxes), False
        for start in range(0, order.size, _TOGETHER):
            some = slice(start, start + _TOGETHER)
            if found.total.size == most and promised[start] < found.total[-1]:
                left_out = True
                break
            total, *places = best_groups(
                score, around, kinds, rows[some], cols[some], rules.boxes, rules.within_cells,
                rules.apart_cells,
            )  # fmt: skip
            more = found.with_more(_Found(total, _sum(around[tuple(places)]), *places))
            found = more.first(most)
            left_out |= found.total.size < more.total.size
        groups = found.groups(wide, len(self._taken))
        return groups, groups[-1].key if left_out else None

    def _strike_out(self, score: Float32, window: Window) -> None:
        """Make cells closer than the spacing to a box taken, and its own, no candidates."""
        reach = math.ceil(self._rules.spacing_cells)
        for row, col in self._taken:
            near = Window(row, col, 1, 1).grown(reach).clipped(self._shape)
            top, left = max(near.row, window.row), max(near.col, window.col)
            bottom = min(near.row + near.rows, window.row + window.rows)
            right = min(near.col + near.cols, window.col + window.cols)
            if top >= bottom or left >= right:
                continue
            down = np.arange(top, bottom)[:, None] - row
            across = np.arange(left, right)[None] - col
            apart = down**2 + across**2
            struck = (apart < self._rules.spacing_cells**2) | (apart == 0)
            part = Window(top, left, bottom - top, right - left).within(window)
            score[part][struck] = np.nan


def _promise(score: Float32, kinds: Kinds, boxes: int, reach: int) -> Float64:
    """Return for each place of the first box what no total of its groups exceeds; -inf for none."""

    def of_box(number: int) -> Float32:
        stands = (kinds & np.uint8(1 << number) != 0) & np.isfinite(score)
        return np.where(stands, score, np.float32(-np.inf))

    promise = of_box(0).astype(np.float64)
    for number in range(1, boxes):
        best = maximum_filter(of_box(number), size=2 * reach + 1, mode="constant", cval=-np.inf)
        promise += best
    return promise


def _sum(values: Float64) -> Float64:
    """Return the sums over the boxes of each group, (n,), always added in the same order."""
    total = np.zeros(values.shape[0])
    for box in range(values.shape[1]):
        total += values[:, box]
    return total


@dataclass(frozen=True)
class _Found:
    """Groups in their order: total score and land around, (n,); rows and columns, (n, boxes)."""

    total: Float64
    around: Float64
    rows: Index
    cols: Index

    @classmethod
    def none(cls, boxes: int) -> _Found:
        nothing = np.empty((0, boxes), np.int64)
        return cls(np.empty(0), np.empty(0), nothing, nothing)

    def with_more(self, more: _Found) -> _Found:
        """Return these groups and others, without leaders that can have none."""
        total = np.concatenate((self.total, more.total))
        around = np.concatenate((self.around, more.around))
        rows, cols = (
            np.concatenate(both) for both in ((self.rows, more.rows), (self.cols, more.cols))
        )
        order = np.lexsort((cols[:, 0], rows[:, 0], -around, -total))
        order = order[: np.count_nonzero(~np.isnan(total))]  # NaN is sorted last
        return _Found(total[order], around[order], rows[order], cols[order])

    def first(self, count: int) -> _Found:
        """Return the first so many."""
        return _Found(self.total[:count], self.around[:count], self.rows[:count], self.cols[:count])

    def groups(self, window: Window, heeds: int) -> list[_Group]:
        """Return the groups one by one, placed on the whole land."""
        rows, cols = self.rows + window.row, self.cols + window.col
        places = np.stack((rows, cols), axis=2).tolist()
        return [
            _Group(
                (-float(self.total[n]), -float(self.around[n]), *each[0]),
                tuple((row, col) for row, col in each),
                heeds,
            )
            for n, each in enumerate(places)
        ]
