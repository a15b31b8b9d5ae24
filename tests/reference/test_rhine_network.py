"""A network derived from a real DEM, against published flow directions of the same basin.

Data: the Rhine, 997 × 682 cells of 1/120 degree, elevation and D8 directions, as they ship with
pyflwdir's source (its examples). The published directions come from finer elevation, so that single
cells differ; the rivers must be the same.
"""

import numpy as np
import pytest
import rasterio
from drainage import counted
from scipy import ndimage

from suitability.flow.engines import Pyflwdir
from suitability.flow.network import STEP_M, with_low_holes
from suitability.kernels.flow import UNKNOWN, d8_directions

pytestmark = pytest.mark.download

RIVER_CELLS = 500  # some 300 km²
NEAR = np.ones((3, 3), bool)


@pytest.fixture(scope="module")
def examples(registry_package):
    folder = registry_package("pyflwdir", "0.5.12", sdist=True)
    return next(folder.rglob("rhine_d8.tif")).parent


@pytest.fixture(scope="module")
def published(examples):
    with rasterio.open(examples / "rhine_d8.tif") as dataset:
        return dataset.read(1)


def test_upstream_cells_of_published_directions(published) -> None:
    counts = Pyflwdir().accumulate(published)
    np.testing.assert_array_equal(counts, counted(published))
    # One basin: its last cell drains all of it.
    assert counts.max() == (published != UNKNOWN).sum()


def test_rivers_derived_from_elevation_are_the_published_ones(examples, published) -> None:
    with rasterio.open(examples / "rhine_elv0.tif") as dataset:
        ground = dataset.read(1, masked=True).filled(np.nan).astype(np.float32)
    engine = Pyflwdir()
    directions = d8_directions(engine.fill(with_low_holes((ground / STEP_M).round() * STEP_M)))
    basin = published != UNKNOWN
    theirs = basin & (engine.accumulate(published) >= RIVER_CELLS)
    ours = basin & (engine.accumulate(directions) >= RIVER_CELLS)
    assert (ours & ndimage.binary_dilation(theirs, NEAR)).sum() > 0.9 * ours.sum()
    assert (theirs & ndimage.binary_dilation(ours, NEAR)).sum() > 0.9 * theirs.sum()
