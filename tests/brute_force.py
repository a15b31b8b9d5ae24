"""A deliberately plain second way to cast shadows: march every ray over the bilinear surface."""

import numpy as np
from numba import njit, prange

STEP_CELLS = 0.25


@njit(parallel=True)
def march_hours(surface, receiver, cell, azimuth_deg, altitude_deg, hours):
    """Return the lit hours of each receiver, (rows, cols) float64; NaN surface never shades.

    A ray leaves each cell's centre and is compared with the bilinear surface every quarter of a
    cell until it leaves the array or stands above all land.
    """
    rows, cols = surface.shape
    top = np.nanmax(surface)
    lit = np.zeros((rows, cols))
    for p in range(azimuth_deg.size):
        if altitude_deg[p] <= 0:
            continue
        d_col = np.sin(np.radians(azimuth_deg[p])) * STEP_CELLS
        d_row = -np.cos(np.radians(azimuth_deg[p])) * STEP_CELLS
        climb = np.tan(np.radians(altitude_deg[p])) * cell * STEP_CELLS
        for row in prange(rows):
            for col in range(cols):
                r, c, z = row + d_row, col + d_col, receiver[row, col] + climb
                shaded = False
                while 0 <= r <= rows - 1 and 0 <= c <= cols - 1 and z <= top:
                    r0, c0 = min(int(r), rows - 2), min(int(c), cols - 2)
                    u, v = r - r0, c - c0
                    high = (1 - u) * ((1 - v) * surface[r0, c0] + v * surface[r0, c0 + 1]) + u * (
                        (1 - v) * surface[r0 + 1, c0] + v * surface[r0 + 1, c0 + 1]
                    )
                    if high > z:
                        shaded = True
                        break
                    r, c, z = r + d_row, c + d_col, z + climb
                if not shaded:
                    lit[row, col] += hours[p]
    return lit


def tree_scene(rows, cols, *, seed, cover=0.12, cell=1.0):
    """Return ground, canopy height (m): rolling land with domed crowns scattered over it."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[:rows, :cols] * cell
    ground = 8 * np.sin(x / 90 + 1) + 6 * np.cos(y / 70) + 0.02 * x
    canopy = np.zeros((rows, cols))
    mean_area = np.pi * 3.5**2
    for _ in range(int(cover * rows * cols * cell**2 / mean_area)):
        at_y, at_x = rng.uniform(0, rows * cell), rng.uniform(0, cols * cell)
        radius, height = rng.uniform(2, 5), rng.uniform(6, 26)
        r0, r1 = int(max(0, (at_y - radius) / cell)), int(min(rows, (at_y + radius) / cell + 2))
        c0, c1 = int(max(0, (at_x - radius) / cell)), int(min(cols, (at_x + radius) / cell + 2))
        d2 = ((y[r0:r1, c0:c1] - at_y) ** 2 + (x[r0:r1, c0:c1] - at_x) ** 2) / radius**2
        crown = np.where(d2 < 1, height * (0.5 + 0.5 * np.sqrt(np.maximum(0, 1 - d2))), 0)
        canopy[r0:r1, c0:c1] = np.maximum(canopy[r0:r1, c0:c1], crown)
    return ground.astype(np.float32), canopy.astype(np.float32)
