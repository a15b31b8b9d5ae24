"""Round windows: scipy.ndimage.convolve with a disc.

SciPy's convolution is direct, cell by cell, and knows nothing of sums along rows.
"""

import numpy as np
import pytest
from scipy import ndimage

from suitability.layers.focal import above_mean_within, count_within, share_within


def disc(radius):
    """Return the cells within a radius of the middle one, as ones."""
    away = np.arange(-radius, radius + 1)
    return (np.add.outer(away**2, away**2) <= radius**2).astype(np.int64)


def inside(values, radius):
    return values[radius:-radius, radius:-radius]


@pytest.mark.parametrize("radius", [1, 3, 8, 21])
def test_counts(radius):
    marked = np.random.default_rng(radius).random((70, 83)) < 0.35
    expected = ndimage.convolve(marked.astype(np.int64), disc(radius), mode="constant")
    np.testing.assert_array_equal(
        count_within(marked, float(radius), 1.0), inside(expected, radius)
    )


@pytest.mark.parametrize("radius", [2, 9])
def test_shares_of_known_land(radius):
    random = np.random.default_rng(radius)
    marked, known = random.random((60, 75)) < 0.5, random.random((60, 75)) < 0.8
    both, of = (
        inside(ndimage.convolve(cells.astype(np.int64), disc(radius), mode="constant"), radius)
        for cells in (marked & known, known)
    )
    found = share_within(marked, known, radius * 30.0, 30.0)
    np.testing.assert_allclose(found, both / of, rtol=1e-6)


@pytest.mark.parametrize("radius", [2, 9])
def test_mean_ground(radius):
    ground = np.random.default_rng(radius).normal(200, 30, (60, 75)).astype(np.float32)
    mean = ndimage.convolve(ground.astype(np.float64), disc(radius) / disc(radius).sum())
    found = above_mean_within(ground, radius * 2.0, 2.0)
    np.testing.assert_allclose(found, inside(ground - mean, radius), atol=1e-3)
