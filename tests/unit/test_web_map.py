"""A run as a page: steps, places by formula, shapes within bounds."""

import json
import re

import numpy as np
import pyproj
import pytest

from suitability.finished import FinishedRun
from suitability.grid import Grid
from suitability.web_map import MOST_CELLS, land, page_of_run, write_web_map
from suitability.web_map.place import fitted


def grid_at(code, x, y, side_m, cell_m=10.0):
    return Grid(pyproj.CRS.from_epsg(code), x, y, cell_m, *[round(side_m / cell_m)] * 2)


@pytest.mark.parametrize(
    ("code", "x", "y", "side_m"),
    [
        (32616, 728_600, 4_454_540, 2_400),
        (32633, 450_000, 6_700_000, 100_000),  # 60° N, a whole county
        (2154, 150_000, 6_850_000, 40_000),  # Lambert-93, west Brittany: turned by 5°
        (32756, 300_000, 6_250_000, 20_000),  # south of the equator
    ],
)
def test_places_by_formula_are_projs(code, x, y, side_m):
    grid = grid_at(code, x, y, side_m)
    place = fitted(grid)
    assert place.error_m < 1
    rng = np.random.default_rng(1)
    u, v = rng.uniform(-1, 1, (2, 500))
    west, south, east, north = grid.bounds
    at_x, at_y = (west + east) / 2 + u * side_m / 2, (south + north) / 2 + v * side_m / 2
    terms = np.stack([u**i * v**j for i, j in place.powers], axis=1)
    lon, lat = grid.lonlat(at_x, at_y)
    _, _, away_m = pyproj.Geod(ellps="WGS84").inv(terms @ place.lon, terms @ place.lat, lon, lat)
    assert away_m.max() < max(place.error_m * 1.2, 0.01)


@pytest.mark.parametrize(
    ("rows", "cols", "cells", "step"),
    [
        (1100, 1200, MOST_CELLS, 1),
        (4000, 4000, 1_000_000, 4),
        (4001, 4000, 1_000_000, 5),
        (3, 3, 1, 3),
    ],
)
def test_land_is_made_coarser_by_whole_steps(rows, cols, cells, step):
    grid = Grid(pyproj.CRS.from_epsg(32616), 500_000.0, 4_450_000.0, 2.0, rows, cols)
    assert land.step_for(grid, cells) == step
    coarse = grid.coarser(step)
    assert coarse.rows * coarse.cols <= cells


def facts_of(path):
    text = path.read_text("utf-8")
    return json.loads(re.search(r'id="facts">(.*?)</script>', text, re.DOTALL)[1])


def test_the_page_tells_the_run(sample_run, tmp_path):
    path = write_web_map(sample_run, tmp_path / "page.html", cells=100_000)
    facts, run = facts_of(path), FinishedRun.of(sample_run)
    assert [site["rank"] for site in facts["sites"]] == run.sites["rank"].tolist()
    assert [leaf["layer"] for leaf in facts["leaves"]] == [
        leaf.name for leaf in run.judgement.leaves
    ]
    assert max(leaf["value_error"] for leaf in facts["leaves"]) < 1e-3
    assert facts["grid"]["step"] == 4
    first = facts["sites"][0]
    assert len(first["horizon"]) == 360
    np.testing.assert_allclose(np.array(first["horizon"]) / 10, run.horizon(1), atol=0.05)
    told = [facts["texts"][each["text"]] for each in first["heed"]]
    assert any(text.startswith("Never handle bats") for text in told)
    days = facts["suns"][first["sun"]]
    assert [day["day"] for day in days] == ["06-21", "04-01", "09-30"]
    # Noon on midsummer's day: 90° less latitude, more the obliquity of the ecliptic, 23.4°.
    assert max(days[0]["altitude"]) == pytest.approx(90 - first["lat"] + 23.44, abs=0.2)
    assert {shape["kind"] for shape in facts["shapes"]} == {
        "water", "boundary", "buildings", "keep_outs", "existing_boxes",
    }  # fmt: skip


def test_land_that_does_not_pack_well_is_made_coarser(sample_run, tmp_path, monkeypatch):
    monkeypatch.setattr("suitability.web_map.MOST_BYTES", 400_000)
    page_of_run(FinishedRun.of(sample_run), tmp_path / "page.html")
    assert facts_of(tmp_path / "page.html")["grid"]["step"] > 2
    assert (tmp_path / "page.html").stat().st_size < 900_000
