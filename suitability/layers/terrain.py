"""Slope of the ground."""

from __future__ import annotations

import numpy as np

from suitability.kernels.terrain import horn_gradients
from suitability.layers.distance import Float32
from suitability.layers.land import Land


def slope_deg(land: Land) -> Float32:
    """Return the steepness of the ground, (rows, cols), 0 where it is level. [degrees].

    References
    ----------
    .. [1] B. K. P. Horn, Hill shading and the reflectance map, Proc. IEEE 69, 14-47, 1981.
    """
    east, north = horn_gradients(land.ground, land.grid.cell_m)
    return np.asarray(np.degrees(np.arctan(np.hypot(east, north))), dtype=np.float32)
