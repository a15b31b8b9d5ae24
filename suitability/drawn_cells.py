"""Cells of the land drawn at random, for models that are run at a few places instead of all."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from suitability.caveats import CoarseLook, land_of
from suitability.grid import Float32, Window
from suitability.horizons import READ_SIDE, WHOLE_CELLS
from suitability.inputs.burn import burn
from suitability.inputs.gather import gather_rasters
from suitability.layers import Land
from suitability.plan import Plan
from suitability.sun import Scene, lit_hours
from suitability.tasks import obstacles

Cells = NDArray[np.intp]  # (n, 2) row and column
Bool = NDArray[np.bool_]

PIECES = 12
# Classes of sun that are drawn from in turn, and the positions of the sun that tell them.
_CLASSES = 10
_POSITIONS = 48


def pieces_of(plan: Plan, look: CoarseLook) -> list[Window]:
    """Return the windows to draw from: the whole, or pieces spread over the open land.

    Parameters
    ----------
    plan : Plan
        Of the run.
    look : CoarseLook
        The whole land, seen coarsely.
    """
    grid = plan.grid
    if grid.rows * grid.cols <= WHOLE_CELLS:
        return [grid.whole]
    step = look.land.grid.cell_m / grid.cell_m
    corners = np.argwhere(look.is_open) * step // READ_SIDE * READ_SIDE
    there = np.unique(corners.astype(np.intp), axis=0)
    if not len(there):
        return [Window(0, 0, READ_SIDE, READ_SIDE).clipped(grid.shape)]
    chosen = there[np.unique(np.linspace(0, len(there) - 1, PIECES).round().astype(int))]
    return [
        Window(int(row), int(col), READ_SIDE, READ_SIDE).clipped(grid.shape) for row, col in chosen
    ]


def evenly_by_sun(plan: Plan, pieces: Sequence[Window], count: int) -> Cells:
    """Draw cells that may have a box, as many of the dark as of the sunny ones, while there are.

    Parameters
    ----------
    plan : Plan
        Of the run.
    pieces : sequence of Window
        Where from.
    count : int
        How many at most.
    """
    drawn = []
    for piece in pieces:
        land = _land(plan, piece)
        cells = _open(plan, piece, land)
        share = _sunny_share(plan, piece, land)[cells[:, 0], cells[:, 1]]
        mixed = np.random.default_rng([piece.row, piece.col, 1]).permutation(len(cells))
        of_class = np.minimum(share[mixed] * _CLASSES, _CLASSES - 1).astype(int)
        turn = np.empty(len(cells), np.intp)
        for one in range(_CLASSES):
            there = np.flatnonzero(of_class == one)
            turn[there] = np.arange(there.size)
        first = np.argsort(turn, kind="stable")[: _of_each(count, pieces)]
        drawn.append(cells[mixed[first]] + (piece.row, piece.col))
    return np.vstack(drawn)


def uniformly(plan: Plan, pieces: Sequence[Window], count: int) -> Cells:
    """Draw cells that may have a box, each as likely as any.

    Parameters are those of `evenly_by_sun`; other cells are drawn.
    """
    drawn = []
    for piece in pieces:
        cells = _open(plan, piece, _land(plan, piece))
        random = np.random.default_rng([piece.row, piece.col, 2])
        some = random.choice(len(cells), min(_of_each(count, pieces), len(cells)), replace=False)
        drawn.append(cells[some] + (piece.row, piece.col))
    return np.vstack(drawn)


def _of_each(count: int, pieces: Sequence[Window]) -> int:
    return -(-count // len(pieces))


def _land(plan: Plan, piece: Window) -> Land:
    """Return the land of a piece and of what it sees at full resolution."""
    settings, around = plan.run.settings, plan.around(piece)
    grid, part = plan.grid.window(around), around != plan.grid.whole
    rasters = gather_rasters(settings, grid, plan.run.locate, plan.features(), part=part)
    return land_of(settings, grid, rasters)


def _open(plan: Plan, piece: Window, land: Land) -> Cells:
    """Return the cells of a piece that may have a box, seen from its corner."""
    is_open = obstacles(land)[piece.within(plan.around(piece))] == 0
    boundary = plan.features().boundary
    if boundary is not None:
        is_open &= burn(boundary, plan.grid.window(piece), all_touched=False)
    return np.argwhere(is_open)


def _sunny_share(plan: Plan, piece: Window, land: Land) -> Float32:
    """Return the share of a few positions of the sun that reach each cell of a piece."""
    few = np.unique(np.linspace(0, len(plan.sun) - 1, _POSITIONS).astype(np.intp))
    sun = plan.sun.those(few)
    lit = lit_hours(
        Scene.of(land.surface, land.receiver, plan.grid.cell_m),
        sun.azimuth_deg - plan.convergence_deg(piece),
        sun.altitude_deg,
        np.full(few.size, 1 / few.size, np.float32),
    )
    return lit[piece.within(plan.around(piece))]
