"""The land of a run as rasters for a page: criteria, reasons why land is out, relief."""

from __future__ import annotations

import math
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from suitability.decide import REASONS
from suitability.decide.judgement import Leaf
from suitability.finished import FinishedRun
from suitability.grid import Grid
from suitability.outputs.rasters import read_small
from suitability.outputs.web_codes import packed, packed_bytes, scale_for, value_error
from suitability.web_map.judging import leaf_of

RELIEF_SHADES = 16
_OUTSIDE = next(reason.bit for reason in REASONS if reason.key == "outside")


@dataclass(frozen=True)
class PageLand:
    """What a page shows of the land.

    Parameters
    ----------
    grid : Grid
        Of the page's cells.
    leaves : list of dict
        The criteria in their order, each with how its raster is written.
    blocks : dict of str to str
        Rasters, packed: `layer-N` by the criteria's order, `reasons`, `relief`.
    reasons : list of dict
        Why land is out: bit, words and share of the land.
    sums : list of int
        The sums of bits that `reasons` has the numbers of.
    score : numpy.ndarray
        (rows, cols) float32 of the saved run; NaN where land is out.
    """

    grid: Grid
    leaves: list[dict[str, Any]]
    blocks: dict[str, str]
    reasons: list[dict[str, Any]]
    sums: list[int]
    score: NDArray[np.float32]


def land_of_page(run: FinishedRun, cells: int) -> PageLand:
    """Return the land, its cells made coarser by whole steps until there are no more than wanted.

    Parameters
    ----------
    run : FinishedRun
        The run.
    cells : int
        At most, on the page.
    """
    step = step_for(run.grid, cells)
    score, bits, grid = run.small(step)
    sums, numbers = np.unique(bits, return_inverse=True)
    is_shown = _is_shown(bits)

    def layer(leaf: Leaf) -> tuple[dict[str, Any], str]:
        raw = read_small(run.layer_file(leaf.name), step)
        raw = np.where(is_shown, raw, np.float32(np.nan))
        scale = scale_for(raw, leaf.curve)
        told = leaf_of(run, leaf, scale, value_error(raw, leaf.curve, scale))
        return told, packed(scale.encode(raw))

    packs: list[Callable[[], tuple[dict[str, Any] | None, str]]] = [
        *(lambda leaf=leaf: layer(leaf) for leaf in run.judgement.leaves),
        lambda: (None, packed(numbers.reshape(bits.shape).astype(np.uint16))),
        lambda: (None, packed_bytes(_relief(run, grid))),
    ]
    with ThreadPoolExecutor(2) as pool:  # packing leaves Python to others
        done = list(pool.map(lambda pack: pack(), packs))
    tell = run.quantities.retold
    names = [*(f"layer-{at}" for at in range(len(packs) - 2)), "reasons", "relief"]
    return PageLand(
        grid=grid,
        leaves=[told for told, _ in done if told is not None],
        blocks={name: text for name, (_, text) in zip(names, done, strict=True)},
        reasons=[
            {"bit": bit, "words": tell(words), "share": float(np.mean((bits >> bit) & 1))}
            for bit, words in sorted(run.reasons.items())
        ],
        sums=[int(each) for each in sums],
        score=score,
    )


def step_for(grid: Grid, cells: int) -> int:
    """Return how many cells of a grid, along a side, are one of a page that has `cells` at most."""
    step = max(1, math.isqrt(max(0, grid.rows * grid.cols - 1) // max(1, cells)))
    while grid.coarser(step).rows * grid.coarser(step).cols > cells:
        step += 1
    return step


def _is_shown(bits: NDArray[Any]) -> NDArray[np.bool_]:
    """Return where measures are shown: within the boundary, beyond which they would take room."""
    shown: NDArray[np.bool_] = (bits & _OUTSIDE) == 0
    return shown


def _relief(run: FinishedRun, grid: Grid) -> NDArray[np.uint8]:
    """Return the shade of each cell, 0 dark; all light where the run keeps no relief."""
    kept = run.relief()
    if kept is None:
        return np.full(grid.shape, RELIEF_SHADES - 1, np.uint8)
    light, its = kept
    row, _ = its.position(0.0, grid.xy(np.arange(grid.rows), 0)[1])
    _, col = its.position(grid.xy(0, np.arange(grid.cols))[0], 0.0)
    rows = np.clip(np.rint(row).astype(int), 0, its.rows - 1)
    cols = np.clip(np.rint(col).astype(int), 0, its.cols - 1)
    found = np.nan_to_num(light[np.ix_(rows, cols)], nan=1.0)
    return np.rint(found * (RELIEF_SHADES - 1)).astype(np.uint8)
