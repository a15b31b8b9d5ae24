"""The sites of the greatest total score, a stated distance apart: an exact choice.

Greedy takes the best cell and with it strikes out neighbours that together may be worth more. The
exact choice is a mixed-integer programme over a stated set of candidates: of each square of some
cells the best one, and greedy's own sites. So it is never worse than greedy, and each cell left
out lies within a square's diagonal of a candidate that is at least as good.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from suitability.decide.packing import heaviest_apart
from suitability.decide.sites import Index, ReadScore, mean_around
from suitability.grid import Float64, Window

# Candidates that are given to the solver at most, first and then; more are thinned by wider
# squares. Among few it soon finds a good choice, which it may miss among many; and the shares of
# the time limit that each search may take.
SEARCHES = ((400, 0.25), (3000, 0.75))
# Best cells of squares that are held in memory at most.
_MOST_HELD = 2_000_000
# Totals that differ by less are the same: the solver counts no finer.
_SAME = 1e-6


@dataclass(frozen=True)
class Candidates:
    """Cells that may become sites, in rows and columns: score, score around, place; each (n,)."""

    score: Float64
    around: Float64
    row: Index
    col: Index

    def those(self, chosen: NDArray[np.bool_] | NDArray[np.intp]) -> Candidates:
        """Return some of them."""
        return Candidates(
            self.score[chosen], self.around[chosen], self.row[chosen], self.col[chosen]
        )

    @classmethod
    def together(cls, parts: Sequence[Candidates]) -> Candidates:
        """Return the cells of all parts."""
        names = ("score", "around", "row", "col")
        none = cls(np.empty(0), np.empty(0), np.empty(0, np.int64), np.empty(0, np.int64))
        every = (none, *parts)
        return cls(*(np.concatenate([getattr(part, name) for part in every]) for name in names))

    def best_first(self) -> Candidates:
        """Return them in the order in which sites are taken."""
        return self.those(np.lexsort((self.col, self.row, -self.around, -self.score)))

    def best_of_squares(self, side: int) -> Candidates:
        """Return the best of each square of cells, squares being counted from the land's corner."""
        if side == 1:
            return self
        kept = self
        for name in ("score", "around"):
            values = getattr(kept, name)
            numbers, square = np.unique(_squares(kept, side), return_inverse=True)
            best = np.full(numbers.size, -np.inf)
            np.maximum.at(best, square, values)
            kept = kept.those(values == best[square])
        kept = kept.best_first()
        _, first = np.unique(_squares(kept, side), return_index=True)
        return kept.those(first)


@dataclass(frozen=True)
class Choice:
    """An exact choice and what is known of it.

    Parameters
    ----------
    rows, cols : numpy.ndarray
        (n,) the sites, best first.
    total, greedy_total : float
        Sum of the scores, and that of greedy's sites.
    most_possible : float
        No choice among the candidates has a greater total.
    most_on_land : float
        No choice among all cells of the land has a greater total.
    candidates : int
        How many cells the solver was given; greedy's alone where none on the land can be better.
    square_cells : int
        Of each square of so many cells a side the best was one; 1: no cell is left out. [cells]
    is_proven : bool
        The search ended by itself, not by the time limit.
    """

    rows: Index
    cols: Index
    total: float
    greedy_total: float
    most_possible: float
    most_on_land: float
    candidates: int
    square_cells: int
    is_proven: bool

    @property
    def gap_share(self) -> float:
        """By how much, at most, another choice among the candidates could be better."""
        return max(self.most_possible / self.total - 1, 0.0) if self.total > 0 else 0.0


def held_side(shape: tuple[int, int]) -> int:
    """Return the side of the squares whose best cells fit in memory. [cells].

    1, that is every cell, up to two million cells of land.
    """
    return math.ceil(math.sqrt(shape[0] * shape[1] / _MOST_HELD))


def gather_candidates(
    read: ReadScore,
    windows: Sequence[Window],
    shape: tuple[int, int],
    *,
    side: int,
    around_cells: int,
    min_score: float,
) -> Candidates:
    """Return the best cell of every square of cells; it does not depend on the windows.

    Parameters
    ----------
    read : callable
        Gives the score of a window, float32; NaN is no candidate.
    windows : sequence of Window
        They cover the land, or the part that counts, without overlap.
    shape : tuple of int
        Rows and columns of the whole.
    side : int
        Of the squares. [cells]
    around_cells : int
        How far around a cell its surroundings reach, in a square. [cells]
    min_score : float
        Cells below this are no candidates.
    """
    parts = []
    for window in windows:
        wide = window.grown(around_cells).clipped(shape)
        core = window.within(wide)
        score = read(wide)
        around = mean_around(score, around_cells)[core].ravel()
        flat = score[core].ravel()
        left = np.flatnonzero(flat >= max(min_score, 0.0))  # False for NaN
        row, col = np.divmod(left, window.cols)
        cells = Candidates(
            flat[left].astype(np.float64), around[left], row + window.row, col + window.col
        )
        parts.append(cells.best_of_squares(side))
    # A square at the rim of a window was seen in parts.
    return Candidates.together(parts).best_of_squares(side)


def choose_exactly(
    every: Candidates,
    side: int,
    greedy: Candidates,
    *,
    count: int,
    spacing_cells: float,
    time_limit_s: float,
) -> Choice:
    """Return the choice of the greatest total score, none closer than the spacing.

    Among choices of the same total greedy's is kept, else the solver's, which is the same each
    time unless the time limit ends the search.

    Parameters
    ----------
    every : Candidates
        Best cells of squares, as `gather_candidates` returns them.
    side : int
        Of those squares. [cells]
    greedy : Candidates
        Greedy's sites in their order.
    count : int
        How many sites are wanted at most.
    spacing_cells : float
        Least distance between two sites. [cells]
    time_limit_s : float
        How long to search. [s]
    """
    greedy_total = float(greedy.score.sum())
    crowds = _crowd_bests(every, side, count, spacing_cells)
    most_on_land = max(float(crowds.sum()), greedy_total)
    useful = every.those(_is_useful(every, greedy, crowds, count))
    squares = {_square_for(useful, side, most): share for most, share in SEARCHES}
    pool, best, most_possible, is_proven = greedy, greedy, greedy_total, True
    for square, share in squares.items() if greedy_total < most_on_land - _SAME else ():
        pool = _distinct(Candidates.together([useful.best_of_squares(square), best]))
        found = heaviest_apart(
            np.column_stack([pool.row, pool.col]),
            pool.score,
            count=count,
            spacing=spacing_cells,
            time_limit_s=time_limit_s * share,
        )
        chosen = pool.those(found.taken)
        if chosen.score.sum() > best.score.sum() + _SAME:
            best = chosen
        most_possible, is_proven = found.most_possible, found.is_proven
    sites = best if best is greedy else best.best_first()
    total = float(best.score.sum())
    return Choice(
        rows=sites.row,
        cols=sites.col,
        total=total,
        greedy_total=greedy_total,
        most_possible=max(min(most_possible, most_on_land), total),
        most_on_land=max(most_on_land, total),
        candidates=pool.row.size,
        square_cells=list(squares)[-1],
        is_proven=is_proven,
    )


def _crowd_bests(every: Candidates, side: int, count: int, spacing_cells: float) -> Float64:
    """Return the best scores of so many squares that hold one site at most, the greatest first.

    Together they make a total that no choice exceeds.
    """
    # The corners of a square of m cells lie (m - 1) √2 apart; it is made of whole smaller ones.
    crowd = max(math.ceil(spacing_cells / math.sqrt(2)), 1) // side * side
    if crowd == 0:  # of a square that may hold several sites only the best cell is known
        return np.full(count, every.score.max(initial=0.0))
    return np.sort(every.best_of_squares(crowd).score)[::-1][:count]


def _is_useful(
    every: Candidates, greedy: Candidates, crowds: Float64, count: int
) -> NDArray[np.bool_]:
    """Return which cells could stand in a choice that is better than greedy's."""
    if greedy.score.size < count:
        return np.ones(every.score.size, np.bool_)  # a site more is always better
    beside = float(crowds[: count - 1].sum())
    return np.asarray(every.score + beside >= float(greedy.score.sum()) - _SAME)


def _square_for(useful: Candidates, side: int, most: int) -> int:
    """Return the side of the smallest squares that leave few enough candidates. [cells]."""
    square = max(math.isqrt(useful.score.size // most), 1) * side
    while np.unique(_squares(useful, square)).size > most:
        square += side
    return square


def _distinct(cells: Candidates) -> Candidates:
    """Return each cell once, best first."""
    ordered = cells.best_first()
    _, first = np.unique(_squares(ordered, 1), return_index=True)
    return ordered.those(np.sort(first))


def _squares(cells: Candidates, side: int) -> Index:
    """Return the number of each cell's square, counted from the land's corner."""
    return (cells.row // side) * np.int64(2**32) + cells.col // side
