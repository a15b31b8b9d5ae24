"""Land beyond a scene, seen coarsely."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from suitability.kernels.sweep import UNKNOWN

Float32 = NDArray[np.float32]


@dataclass(frozen=True)
class FarLand:
    """The surface of the whole grid, seen coarsely: what casts shadows from beyond a scene.

    A line of light that crosses a square of cells meets the highest of those on its way, so each
    square keeps the mean, across the sweep, of the maxima along it.

    Parameters
    ----------
    along_rows : numpy.ndarray
        For light that crosses the rows, (coarse rows, coarse cols) float32; NaN casts
        no shadow. [m]
    along_cols : numpy.ndarray
        For light that crosses the columns, (coarse cols, coarse rows) float32. [m]
    block : int
        Cells of the grid along the side of a square; the last squares may be cut short.
    shape : tuple of int
        Rows and columns of the grid.
    """

    along_rows: Float32
    along_cols: Float32
    block: int
    shape: tuple[int, int]

    @classmethod
    def of(cls, surface: Float32, block: int) -> FarLand:
        """Return what is seen of a surface, (rows, cols)."""
        rows, cols = (-(-size // block) for size in surface.shape)
        whole = np.full((rows * block, cols * block), UNKNOWN, np.float32)
        whole[: surface.shape[0], : surface.shape[1]] = np.where(
            np.isnan(surface), UNKNOWN, surface
        )
        squares = whole.reshape(rows, block, cols, block)
        return cls(
            _mean_known(squares.max(axis=1), axis=2),
            _mean_known(squares.max(axis=3), axis=1).T.copy(),
            block,
            surface.shape,
        )


def _mean_known(values: Float32, axis: int) -> Float32:
    """Return the mean of what is known along an axis, NaN where nothing is."""
    known = values > UNKNOWN
    count = known.sum(axis=axis)
    total = np.where(known, values, 0).sum(axis=axis, dtype=np.float64)
    mean = np.divide(total, count, out=np.full(count.shape, np.nan), where=count > 0)
    return np.asarray(mean, dtype=np.float32)
