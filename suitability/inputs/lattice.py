"""Blocks of cells that hang on a grid's lattice, not on where the grid begins or ends.

What is worked out block by block gives the same cells for a grid and for any piece of it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from affine import Affine

from suitability.grid import Bounds, Grid

BLOCK = 512  # cells along a side
ALIGNED = 1e-6  # of a cell


@dataclass(frozen=True)
class Block:
    """A square of the lattice's cells: first row and column, size, phase and cell. [m]."""

    row: int
    col: int
    size: int
    phase_x: float
    phase_y: float
    cell_m: float

    @property
    def transform(self) -> Affine:
        """Pixel to world, from the outer corner of the first cell."""
        # The corner comes from whole numbers and the phase, so each grid finds the same bits.
        west = (self.col + self.phase_x) * self.cell_m
        north = (self.phase_y - self.row) * self.cell_m
        return Affine(self.cell_m, 0.0, west, 0.0, -self.cell_m, north)

    @property
    def bounds(self) -> Bounds:
        """West, south, east, north. [m]."""
        west, north = self.transform.c, self.transform.f
        side_m = self.size * self.cell_m
        return west, north - side_m, west + side_m, north

    def quarters(self) -> Iterator[Block]:
        """Yield its four quarters."""
        half = self.size // 2
        for row in (self.row, self.row + half):
            for col in (self.col, self.col + half):
                yield replace(self, row=row, col=col, size=half)


def blocks_over(grid: Grid) -> Iterator[Block]:
    """Yield the blocks that a grid's cells lie in."""
    first_col, phase_x = _lattice(grid.west / grid.cell_m)
    top, phase_y = _lattice(grid.north / grid.cell_m)
    for row in range(-top // BLOCK, -((top - grid.rows) // BLOCK)):
        for col in range(first_col // BLOCK, -(-(first_col + grid.cols) // BLOCK)):
            yield Block(row * BLOCK, col * BLOCK, BLOCK, phase_x, phase_y, grid.cell_m)


def _lattice(edge: float) -> tuple[int, float]:
    whole = math.floor(edge + ALIGNED)
    return whole, max(0.0, round(edge - whole, 6))


def overlap(grid: Grid, block: Block) -> tuple[tuple[slice, slice], tuple[slice, slice]] | None:
    """Return the cells that grid and block share, as slices of each."""
    first_col, _ = _lattice(grid.west / grid.cell_m)
    top = -_lattice(grid.north / grid.cell_m)[0]
    row0, row1 = max(block.row, top), min(block.row + block.size, top + grid.rows)
    col0 = max(block.col, first_col)
    col1 = min(block.col + block.size, first_col + grid.cols)
    if row0 >= row1 or col0 >= col1:
        return None
    in_grid = slice(row0 - top, row1 - top), slice(col0 - first_col, col1 - first_col)
    in_block = (
        slice(row0 - block.row, row1 - block.row),
        slice(col0 - block.col, col1 - block.col),
    )
    return in_grid, in_block
