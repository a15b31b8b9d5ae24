"""A plain second way to fill, to lead and to count flow: arrays of neighbours, no queues."""

import itertools

import numpy as np
from scipy import ndimage, sparse
from scipy.sparse.linalg import spsolve

# Direction codes and where each leads, rows down and columns across.
STEPS = {
    1: (0, 1), 2: (1, 1), 4: (1, 0), 8: (1, -1), 16: (0, -1), 32: (-1, -1), 64: (-1, 0),
    128: (-1, 1),
}  # fmt: skip


def filled(z):
    """Return the surface without depressions, by reconstruction: water sinks until it may not."""
    level = np.full(z.shape, np.inf)
    level[[0, -1]], level[:, [0, -1]] = z[[0, -1]], z[:, [0, -1]]
    while True:
        lower = np.maximum(z, ndimage.grey_erosion(level, size=(3, 3), mode="nearest"))
        lower = np.minimum(lower, level)
        if np.array_equal(lower, level):
            return level
        level = lower


def drops(z):
    """Return the drop to each of the eight neighbours, (8, rows, cols), by distance in cells."""
    padded = np.pad(z.astype(np.float64), 1, constant_values=np.nan)
    rows, cols = z.shape
    return np.array(
        [
            (z - padded[1 + down : 1 + down + rows, 1 + across : 1 + across + cols])
            / np.hypot(down, across)
            for down, across in STEPS.values()
        ]
    )


def counted(directions):
    """Return how many cells drain through each: each counts itself and all that lead to it."""
    rows, cols = directions.shape
    here, there = [], []
    for code, (down, across) in STEPS.items():
        row, col = np.nonzero(directions == code)
        here.append(row * cols + col)
        there.append((row + down) * cols + col + across)
    size = rows * cols
    ones = np.ones(sum(part.size for part in here))
    leads = sparse.coo_matrix((ones, (np.concatenate(there), np.concatenate(here))), (size, size))
    found = spsolve(sparse.eye_array(size, format="csc") - leads.tocsc(), np.ones(size))
    return np.where(directions == 247, 0, found.round().reshape(rows, cols)).astype(np.int64)


def drawn(shape, *paths):
    """Return directions along paths of (row, col), unknown elsewhere, an outlet at each end."""
    codes = {step: code for code, step in STEPS.items()}
    directions = np.full(shape, 247, np.uint8)
    for path in paths:
        for (row, col), (next_row, next_col) in itertools.pairwise(path):
            directions[row, col] = codes[next_row - row, next_col - col]
        if directions[path[-1]] == 247:
            directions[path[-1]] = 0
    return directions
