"""The land as the layers see it: ground, what stands on it, and where a box would hang."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from suitability.grid import Grid

Float32 = NDArray[np.float32]
Bool = NDArray[np.bool_]

# Trees start here: the National Land Cover Database counts woody plants taller than 5 m as forest.
TREES_FROM_M = 5.0


@dataclass(frozen=True)
class Land:
    """Ground, canopy and buildings on one grid.

    Parameters
    ----------
    grid : Grid
        Where everything lies.
    ground : numpy.ndarray
        (rows, cols) float32, bare earth; NaN unknown. [m]
    canopy : numpy.ndarray
        (rows, cols) float32 above ground, 0 in the open; NaN unknown. [m]
    buildings : numpy.ndarray
        (rows, cols) float32 above ground, 0 where none stands. [m]
    mount_height_m : float
        Of a box above the ground. [m]
    """

    grid: Grid
    ground: Float32
    canopy: Float32
    buildings: Float32
    mount_height_m: float

    @property
    def surface(self) -> Float32:
        """What casts shadows: the top of ground, canopy and buildings, (rows, cols). [m]."""
        # Not kept, nor is the receiver: the sun asks once, and they would take a third of the room.
        standing = np.maximum(np.nan_to_num(self.canopy), self.buildings)
        return np.add(self.ground, standing, out=standing)

    @cached_property
    def under_canopy(self) -> Bool:
        """Where leaves or needles reach above the mount height."""
        return np.asarray(self.canopy > self.mount_height_m)

    @property
    def receiver(self) -> Float32:
        """Height of a box above each cell, (rows, cols). [m].

        NaN under canopy, where there are no sun hours, and inside buildings.
        """
        height = self.ground + np.float32(self.mount_height_m)
        height[self.under_canopy | (self.buildings > 0)] = np.nan
        return height

    @cached_property
    def trees(self) -> Bool:
        """Where the canopy is that of trees, or reaches a low-mounted box."""
        return np.asarray(self.canopy >= min(TREES_FROM_M, self.mount_height_m))
