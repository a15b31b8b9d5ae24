"""Light on the land at one moment, as a picture."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from suitability.kernels.terrain import horn_gradients
from suitability.sun.shadows import sweep_hours


def hillshade(
    surface: ArrayLike,
    cell: float,
    azimuth_deg: float = 315.0,
    altitude_deg: float = 45.0,
    *,
    exaggeration: float = 1.0,
    cast_shadows: bool = False,
) -> NDArray[np.float32]:
    """Return the cosine of the sun's incidence on each cell, 0 where the light is behind it.

    Parameters
    ----------
    surface : array_like
        (rows, cols) elevation; NaN gives NaN. [m]
    cell : float
        Edge of a cell. [m]
    azimuth_deg, altitude_deg : float
        Where the light stands: clockwise from grid north, above the horizon. [degrees]
    exaggeration : float
        Factor on the heights for the shading, not for cast shadows.
    cast_shadows : bool
        Give 0 to cells in the shadow of others, too.

    Returns
    -------
    numpy.ndarray
        (rows, cols) float32 in 0..1.

    References
    ----------
    .. [1] B. K. P. Horn, Hill shading and the reflectance map, Proc. IEEE 69, 14-47, 1981.
    """
    z = np.ascontiguousarray(surface, dtype=np.float32)
    east, north = horn_gradients(z, float(cell))
    east *= np.float32(exaggeration)
    north *= np.float32(exaggeration)
    azimuth, altitude = np.radians(azimuth_deg), np.radians(altitude_deg)
    to_east = np.float32(np.sin(azimuth) * np.cos(altitude))
    to_north = np.float32(np.cos(azimuth) * np.cos(altitude))
    to_sky = np.float32(np.sin(altitude))
    light: NDArray[np.float32] = (to_sky - to_east * east - to_north * north) / np.sqrt(
        1 + east**2 + north**2
    )
    if cast_shadows:
        light *= sweep_hours(z, z, cell, [azimuth_deg], [altitude_deg], [1.0])
    return np.maximum(light, np.float32(0), out=light)
