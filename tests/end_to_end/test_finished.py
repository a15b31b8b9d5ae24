"""A finished run read back: what its folder says is what the run found."""

import json
from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
import rasterio

from suitability.errors import InputError
from suitability.finished import FinishedRun

SAMPLE = Path(__file__).parents[2] / "sample_area"


@pytest.fixture(scope="module")
def run(sample_run):
    return FinishedRun.of(sample_run)


def test_sites_are_the_records(run):
    told = [(site["rank"], site["x_m"], site["y_m"]) for site in run.record["sites"]]
    assert len(told) == 12
    np.testing.assert_allclose(run.sites[["rank", "x_m", "y_m"]], told, atol=0.01)
    assert run.sites.crs == run.grid.crs


def test_measures_at_sites_are_the_sites_own(run):
    x_m, y_m = run.sites["x_m"].to_numpy(), run.sites["y_m"].to_numpy()
    for layer in ("direct_sun_h", "water_distance_m", "slope_deg"):
        found = run.measures(layer, x_m, y_m)
        np.testing.assert_allclose(found, run.sites[layer], atol=0.006)


def test_beyond_the_grid_nothing_is_measured(run):
    west, south, _, north = run.grid.bounds
    x_m = np.array([west - 0.1, west + 0.1])
    found = run.measures("ground_elevation_m", x_m, np.full(2, (south + north) / 2))
    assert np.isnan(found).tolist() == [True, False]


def test_layers_are_the_files_there(run):
    there = {path.stem for path in (run.folder / "layers").glob("*.tif")} - {"obstacles"}
    assert set(run.layers) == there
    assert run.layer_tags("direct_sun_h")["TITLE"] == "direct_sun_h"


def test_relief_covers_the_land_in_shades(run):
    light, grid = run.relief()
    assert grid.bounds == pytest.approx(run.grid.bounds)
    assert light.min() >= 0
    assert light.max() <= 1
    assert 0.02 < light.std() < 0.5


def test_shapes_are_those_of_the_inputs(run):
    for kind, name in (("boundary", "boundary"), ("buildings", "buildings")):
        given = gpd.read_file(SAMPLE / f"{name}.gpkg").to_crs(run.grid.crs)
        assert run.features(kind).area.sum() == pytest.approx(given.area.sum(), rel=1e-9)
    assert run.features("aqueducts") is None


def test_small_score_is_nowhere_where_land_is_out(run):
    score, bits, grid = run.small(4)
    assert score.shape == bits.shape == grid.shape
    assert np.isnan(score[bits != 0]).all()
    with rasterio.open(run.folder / "candidates.tif") as source:
        whole = np.nanmean(source.read(1))
    assert np.nanmean(score) == pytest.approx(whole, abs=0.02)


def test_a_folder_without_a_run_is_refused(tmp_path):
    with pytest.raises(InputError, match="no finished run"):
        FinishedRun.of(tmp_path)
    (tmp_path / "run.json").write_text(json.dumps([1]))
    with pytest.raises(InputError, match="not what a run writes"):
        FinishedRun.of(tmp_path)
