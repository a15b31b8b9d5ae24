"""Silent mistakes that a run's own numbers give away."""

import json

import numpy as np
import pytest
import small_land
from command import succeeded

from suitability.inputs.land import doubted_ground
from suitability.inputs.report import InputReport

RNG = np.random.default_rng(0)
ROWS, COLS = np.indices((300, 300))
BARE = (200 + 5 * np.sin(ROWS / 40) + 3 * np.cos(COLS / 30)).astype(np.float32)
TREES = np.where(RNG.random((300, 300)) < 0.1, RNG.uniform(8, 25, (300, 300)), 0).astype(np.float32)
REPORT = InputReport("elevation", "dem.tif")


def test_bare_ground_is_not_doubted():
    assert doubted_ground(REPORT, BARE, TREES) is REPORT


@pytest.mark.parametrize("gap", [False, True])
def test_a_surface_of_first_returns_is_doubted(gap):
    surface = BARE + TREES
    if gap:
        surface[50:60] = np.nan
    (warning,) = doubted_ground(REPORT, surface, TREES).warnings
    assert "rises by 100% of the canopy height" in warning


def test_without_trees_nothing_can_be_told():
    assert doubted_ground(REPORT, BARE + TREES, np.zeros_like(TREES)) is REPORT


def told(folder, text):
    config = small_land.write_land(folder, text)
    succeeded("screen", config, "--out", folder / "out")
    return json.loads((folder / "out" / "run.json").read_text("utf-8"))["warnings"]


CRITERIA = """\
criteria:
  - {layer: direct_sun_h, weight: 0.5, value: {points: [[1 h, 0], [14 h, 1]]}}
  - {layer: water_distance_m, weight: 0.5, value: {falling: [5 km, 6 km]}}
"""


def test_a_criterion_that_says_nothing_and_one_that_says_all_are_told(tmp_path):
    warnings = told(tmp_path, small_land.RUN + CRITERIA)
    assert any(text.startswith("water_distance_m says nothing here") for text in warnings)
    assert any(text.startswith("direct_sun_h decides alone: 100%") for text in warnings)


def test_criteria_that_share_the_decision_are_not_doubted(tmp_path):
    shared = CRITERIA.replace("[5 km, 6 km]", "[10 m, 1 km]").replace("1 h", "10 h")
    warnings = told(tmp_path, small_land.RUN + shared)
    assert not [text for text in warnings if "says nothing" in text or "alone" in text]
