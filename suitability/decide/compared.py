"""What differs between two judgements of one piece of land: settings, scores, sites."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from suitability.decide.exclusions import Bits
from suitability.grid import Float32, Float64

# A score that moved by less than this has not moved: half of the last digit that is shown.
SAME_SCORE = 0.005

# What names an entry of a list of the record, so that it is compared with its like.
_NAMES = ("layer", "of", "name", "path")


@dataclass(frozen=True)
class Change:
    """A setting that differs: its key, and what it was and is; None where it is not stated."""

    key: str
    old: Any
    new: Any


def changes(old: Any, new: Any) -> list[Change]:
    """Return every key whose value differs, in the order of the new, then of the old.

    Parameters
    ----------
    old, new : mapping
        Nested plain values; entries of a list are told apart by what names them, a list of plain
        values is one value.
    """
    before, after = dict(_flat("", old)), dict(_flat("", new))
    keys = dict.fromkeys((*after, *before))
    return [
        Change(key, before.get(key), after.get(key))
        for key in keys
        if before.get(key) != after.get(key)
    ]


def _flat(key: str, value: Any) -> Iterator[tuple[str, Any]]:
    if isinstance(value, Mapping):
        for name, inner in value.items():
            yield from _flat(f"{key}.{name}" if key else str(name), inner)
    elif isinstance(value, list) and any(isinstance(inner, Mapping) for inner in value):
        seen: dict[str, int] = {}
        for inner in value:
            name = _name_of(inner)
            seen[name] = seen.get(name, 0) + 1
            again = f" {seen[name]}" if seen[name] > 1 else ""
            yield from _flat(f"{key}[{name}{again}]", inner)
    else:
        yield key, value


def _name_of(entry: Any) -> str:
    if not isinstance(entry, Mapping):
        return str(entry)
    name = next((str(entry[name]) for name in _NAMES if entry.get(name)), "")
    return name.partition(" (")[0]  # a file is the same entry whatever it holds


@dataclass
class ScoreChange:
    """How scores moved on the common land, summed window by window.

    Parameters
    ----------
    cells : int
        Cells looked at.
    both : int
        Candidates of both runs; the sums are theirs.
    up, down : int
        Those whose score rose or fell by `SAME_SCORE` or more.
    came_in, went_out : int
        Candidates of the second run alone, and of the first alone.
    in_by, out_by : dict
        By reason in words: cells that it ruled out before, or rules out now. A cell may have
        several.
    """

    cells: int = 0
    both: int = 0
    up: int = 0
    down: int = 0
    came_in: int = 0
    went_out: int = 0
    in_by: dict[str, int] = field(default_factory=dict)
    out_by: dict[str, int] = field(default_factory=dict)
    _moved: float = 0.0
    _moved_either_way: float = 0.0
    _most_up: float = 0.0
    _most_down: float = 0.0
    _old: tuple[float, float] = (0.0, 0.0)
    _new: tuple[float, float] = (0.0, 0.0)
    _product: float = 0.0

    def add(
        self,
        old: tuple[Float32, Bits],
        new: tuple[Float32, Bits],
        legends: tuple[Mapping[int, str], Mapping[int, str]],
    ) -> Float32:
        """Add a window and return by how much its scores moved, NaN where one has none.

        Parameters
        ----------
        old, new : tuple of numpy.ndarray
            Score and reasons of each run, (rows, cols).
        legends : tuple of mapping
            For each run, bit number to the reason in words.
        """
        was, is_now = np.isfinite(old[0]), np.isfinite(new[0])
        moved = new[0] - old[0]
        a, b = old[0][was & is_now].astype(np.float64), new[0][was & is_now].astype(np.float64)
        step = b - a
        self.cells += moved.size
        self.both += step.size
        self.up += int((step >= SAME_SCORE).sum())
        self.down += int((step <= -SAME_SCORE).sum())
        self._moved += float(step.sum())
        self._moved_either_way += float(np.abs(step).sum())
        self._most_up = max(self._most_up, float(step.max(initial=0.0)))
        self._most_down = min(self._most_down, float(step.min(initial=0.0)))
        self._old = (self._old[0] + float(a.sum()), self._old[1] + float((a * a).sum()))
        self._new = (self._new[0] + float(b.sum()), self._new[1] + float((b * b).sum()))
        self._product += float((a * b).sum())
        self.came_in += int((is_now & ~was).sum())
        self.went_out += int((was & ~is_now).sum())
        _count_reasons(self.in_by, old[1][is_now & ~was], legends[0])
        _count_reasons(self.out_by, new[1][was & ~is_now], legends[1])
        return moved

    @property
    def mean(self) -> float:
        """Mean change of the score; NaN without a cell to compare."""
        return self._moved / self.both if self.both else math.nan

    @property
    def mean_either_way(self) -> float:
        """Mean size of the change, whichever way."""
        return self._moved_either_way / self.both if self.both else math.nan

    @property
    def extremes(self) -> tuple[float, float]:
        """The furthest fall and the furthest rise; 0 where none fell or rose."""
        return self._most_down, self._most_up

    @property
    def correlation(self) -> float:
        """Pearson's correlation of the scores; NaN where those of a run are all the same."""
        if not self.both:
            return math.nan
        (sum_a, square_a), (sum_b, square_b) = self._old, self._new
        spread_a = square_a - sum_a**2 / self.both
        spread_b = square_b - sum_b**2 / self.both
        if min(spread_a, spread_b) <= 1e-12 * self.both:
            return math.nan
        return (self._product - sum_a * sum_b / self.both) / math.sqrt(spread_a * spread_b)


def _count_reasons(counts: dict[str, int], bits: Bits, legend: Mapping[int, str]) -> None:
    for number, words in legend.items():
        held = int(np.count_nonzero(bits & np.uint16(1 << number)))
        if held:
            counts[words] = counts.get(words, 0) + held


@dataclass(frozen=True)
class SitePair:
    """A site of the first run and one of the second that stand for each other, by index."""

    old: int | None
    new: int | None
    apart_m: float


def match_sites(
    old: Float64,
    new: Float64,
    within_m: float,
    kinds: tuple[Sequence[str], Sequence[str]] | None = None,
) -> list[SitePair]:
    """Return which sites stayed or moved, which came and which went.

    The nearest two are matched first; equals in the order of their ranks.

    Parameters
    ----------
    old, new : numpy.ndarray
        (n, 2) x and y, by rank. [m]
    within_m : float
        Sites further apart are not the same. [m]
    kinds : tuple of sequence of str, optional
        What the sites of each hang on: sites of two kinds are not the same either.

    Returns
    -------
    list of SitePair
        Pairs and sites that came, by new rank, then those that went, by old rank.
    """
    apart = np.hypot(*(old[:, None, :] - new[None, :, :]).transpose(2, 0, 1))
    if kinds is not None:
        apart[np.not_equal.outer(np.array(kinds[0], str), np.array(kinds[1], str))] = np.inf
    partner: dict[int, int] = {}
    for at in np.argsort(apart, axis=None, kind="stable"):
        i, j = divmod(int(at), len(new))
        if apart[i, j] > within_m:
            break
        if i not in partner.values() and j not in partner:
            partner[j] = i
    pairs = [
        SitePair(partner[j], j, float(apart[partner[j], j]))
        if j in partner
        else SitePair(None, j, math.nan)
        for j in range(len(new))
    ]
    gone = [i for i in range(len(old)) if i not in partner.values()]
    return [*pairs, *(SitePair(i, None, math.nan) for i in gone)]


def block_counts(mask: NDArray[np.bool_], step: int) -> NDArray[np.int64]:
    """Return how many cells of each square of `step` cells a side are True; the last are cut."""
    rows, cols = (np.arange(0, size, step) for size in mask.shape)
    by_row = np.add.reduceat(mask, rows, axis=0, dtype=np.int64)
    return np.asarray(np.add.reduceat(by_row, cols, axis=1))


def in_words(value: Any) -> str:
    """Return a setting's value as people read it: points of a curve, a list, a number."""
    if value is None:
        return "not given"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, Sequence) and not isinstance(value, str):
        if value and all(isinstance(one, list | tuple) and len(one) == 2 for one in value):
            return ", ".join(f"{in_words(at)} → {in_words(to)}" for at, to in value)
        return ", ".join(map(in_words, value)) or "none"
    return str(value)
