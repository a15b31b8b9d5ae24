"""Both engines find one network, and slope and aspect are RichDEM's.

RichDEM (R. Barnes, 2018), version 0.3.4: depressions after Zhou et al. (2016), terrain attributes
after Horn (1981). It is old and seldom installed: `.ci/run` builds it in an environment of its own.

Data: the sample area, and the Jacksboro fault, Tennessee (SRTM), as it ships with matplotlib.
"""

from pathlib import Path

import matplotlib.cbook
import numpy as np
import pyproj
import pytest
import rasterio

from suitability.flow import stream_network
from suitability.flow.engines import Pyflwdir, RichDem, flow_engine
from suitability.flow.network import with_low_holes
from suitability.grid import Grid
from suitability.kernels.flow import UNKNOWN, d8_directions
from suitability.kernels.terrain import horn_gradients

pytestmark = pytest.mark.richdem

SAMPLE = Path(__file__).parents[2] / "sample_area" / "elevation.tif"
UTM = pyproj.CRS.from_epsg(32616)


@pytest.fixture(scope="module", autouse=True)
def _installed(richdem):
    """Skip, or fail where it must be there, without the library."""


def sample():
    with rasterio.open(SAMPLE) as dataset:
        return dataset.read(1, masked=True).filled(np.nan), dataset.transform


def jacksboro():
    data = matplotlib.cbook.get_sample_data("jacksboro_fault_dem.npz")
    return np.asarray(data["elevation"], dtype=np.float32)


def coarse_sample():
    ground, corner = sample()
    coarse = ground.reshape(220, 5, 240, 5).mean((1, 3)).astype(np.float32)
    return coarse, Grid(UTM, corner.c, corner.f, 10.0, *coarse.shape)


@pytest.mark.parametrize("area_m2", [500_000.0, 50_000.0, 100.0])
def test_both_engines_find_the_same_network_on_the_sample_area(area_m2: float) -> None:
    ground, grid = coarse_sample()
    first = stream_network(ground, grid, area_m2, flow_engine("pyflwdir"))
    second = stream_network(ground, grid, area_m2, flow_engine("richdem"))
    assert len(first.lines) > 0
    assert first.lines.equals(second.lines)
    assert (first.filled_share, first.deepest_m) == (second.filled_share, second.deepest_m)


def test_both_engines_find_the_same_network_on_a_real_dem_with_holes_and_sea() -> None:
    ground = jacksboro()
    ground[100:140, 200:230] = np.nan
    ground[:60, :80] = np.nan
    grid = Grid(UTM, 500_000.0, 4_500_000.0, 80.0, *ground.shape)
    first = stream_network(ground, grid, 500_000.0, Pyflwdir())
    second = stream_network(ground, grid, 500_000.0, RichDem())
    assert len(first.lines) > 100
    assert first.lines["strahler_order"].max() >= 4
    assert first.lines.equals(second.lines)


@pytest.mark.parametrize("seed", range(20))
def test_both_engines_fill_and_count_alike_on_random_land(seed: int) -> None:
    random = np.random.default_rng(seed)
    ground = random.integers(0, 6, (23, 31)).astype(np.float32)
    ground[random.random(ground.shape) < 0.1] = np.nan
    surface = with_low_holes(ground)
    first, second = Pyflwdir(), RichDem()
    filled = first.fill(surface)
    np.testing.assert_array_equal(filled, second.fill(surface))
    directions = d8_directions(filled)
    counts = first.accumulate(directions)
    np.testing.assert_array_equal(counts, second.accumulate(directions))
    assert (counts[directions != UNKNOWN] >= 1).all()


def test_nothing_is_printed(capfd) -> None:
    ground, grid = coarse_sample()
    stream_network(ground, grid, 500_000.0, RichDem())
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize(("ground", "cell_m"), [(sample()[0], 2.0), (jacksboro(), 90.0)])
def test_slope_and_aspect_are_richdems(richdem, ground, cell_m: float, capfd) -> None:
    land = richdem.rdarray(ground, no_data=-9999)
    land.geotransform = (0.0, cell_m, 0.0, 0.0, 0.0, -cell_m)
    theirs = {
        name: np.array(richdem.TerrainAttribute(land, name))[1:-1, 1:-1]
        for name in ("slope_degrees", "aspect")
    }
    capfd.readouterr()
    east, north = (part[1:-1, 1:-1].astype(np.float64) for part in horn_gradients(ground, cell_m))
    steepness = np.degrees(np.arctan(np.hypot(east, north)))
    np.testing.assert_allclose(steepness, theirs["slope_degrees"], atol=1e-3)
    # Downhill, clockwise from north; level land has none.
    leans = np.hypot(east, north) > 1e-3
    aspect = np.degrees(np.arctan2(-east, -north))
    apart = (aspect - theirs["aspect"] + 180) % 360 - 180
    assert np.abs(apart[leans]).max() < 0.05
    assert leans.mean() > 0.5
