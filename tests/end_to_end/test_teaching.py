"""Boxes on the sample area, some in use, and what they teach of that run's weights."""

import numpy as np
import pandas as pd
import pytest

from suitability.decide import value_of
from suitability.errors import ResultError
from suitability.finished import FinishedRun
from suitability.follow_up.teaching import teach
from suitability.outputs.learned_picture import draw_learned


def boxes_by(run, weights, count, seed=2):
    """Return boxes all over the land, in use the likelier the better these weights find them."""
    rng = np.random.default_rng(seed)
    score, bits, grid = run.small(8)
    rows, cols = np.nonzero((bits == 0) & np.isfinite(score))
    chosen = rng.choice(rows.size, count, replace=False)
    x_m, y_m = grid.xy(rows[chosen], cols[chosen])
    lon, lat = grid.lonlat(x_m, y_m)
    leaves = run.judgement.leaves
    values = np.array(
        [value_of(run.measures(leaf.name, x_m, y_m), leaf.curve) for leaf in leaves]
    ).T
    found = values @ np.array(weights)
    used = rng.random(count) < 1 / (1 + np.exp(-(found - np.nanmedian(found)) * 14))
    placements = pd.DataFrame(
        {
            "placement": np.arange(count),
            "put_up": pd.Timestamp("2022-03-01"),
            "kind": "pole",
            "lon_deg": lon,
            "lat_deg": lat,
        }
    )
    visits = pd.DataFrame(
        {
            "placement": np.arange(count),
            "date": pd.Timestamp("2024-07-01"),
            "state": np.where(used, "occupied", "not occupied"),
        }
    )
    return placements, visits


@pytest.fixture(scope="module")
def run(sample_run):
    return FinishedRun.of(sample_run)


def test_use_that_follows_one_criterion_raises_its_weight(run, tmp_path):
    weights = [float(leaf.name == "canopy_edge_m") for leaf in run.judgement.leaves]
    taught = teach(run, *boxes_by(run, weights, 400))
    at = taught.names.index("canopy_edge_m")
    assert taught.learned.proposal is not None, taught.lines
    assert taught.learned.proposal.weights[at] > taught.present[at] + 0.1
    assert "criteria:" in taught.patch
    assert any("with each tenth of score" in line for line in taught.lines)
    draw_learned(tmp_path / "learned.png", taught.words(run.title), taught.classes, taught.weights)
    assert len(taught.weights) == len(taught.names)


def test_few_boxes_and_boxes_elsewhere_are_told_apart(run):
    placements, visits = boxes_by(run, run.judgement.shares, 12)
    placements.loc[0, "lon_deg"] += 1.0
    placements.loc[1, "put_up"] = pd.Timestamp("2024-03-01")
    visits.loc[:3, "state"] = "not occupied"
    taught = teach(run, placements, visits)
    assert taught.left_out == 1
    assert taught.too_new == 1
    assert taught.learned.boxes == 10
    assert taught.patch is None
    assert any("too little to learn from" in line for line in taught.lines)
    assert taught.weights == []


def test_no_visits_teach_nothing(run):
    placements, visits = boxes_by(run, run.judgement.shares, 5)
    taught = teach(run, placements, visits.iloc[:0])
    assert taught.learned.boxes == 0
    assert taught.patch is None


def test_other_combinations_are_refused(run):
    record = {**run.record, "judgement": {**run.record["judgement"], "combine": None}}
    record["judgement"]["combine"] = "limiting criterion"
    with pytest.raises(ResultError, match="weighted means alone"):
        teach(FinishedRun(run.folder, record), *boxes_by(run, run.judgement.shares, 5))
