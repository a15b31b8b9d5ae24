"""The exact choice through the real command: never worse than greedy, and told in the record."""

import json

import numpy as np
import pandas as pd
import pytest
import rasterio
from command import parts, refused, succeeded
from scipy.spatial.distance import pdist
from small_land import RUN, write_land


def screened(folder, choice):
    sites = f"count: 12, spacing: 110 m, choice: {choice}, time_limit: 5 min}}"
    text = RUN.replace("count: 5, spacing: 40 m}", sites) + "grid: {cell: 20 m}\n"
    printed = succeeded("screen", write_land(folder, text), "--out", folder / "run")
    record = json.loads((folder / "run" / "run.json").read_text("utf-8"))
    return printed, record, pd.read_csv(folder / "run" / "sites.csv")


@pytest.fixture(scope="module")
def both(tmp_path_factory):
    return [screened(tmp_path_factory.mktemp(name), name) for name in ("greedy", "exact")]


def test_the_exact_choice_totals_more_than_greedy_and_keeps_the_spacing(both):
    (_, greedy, _), (_, exact, sites) = both
    assert greedy["choice"]["method"] == "greedy"
    assert exact["choice"]["method"] == "exact"
    assert exact["choice"]["greedy_total_score"] == pytest.approx(greedy["choice"]["total_score"])
    assert exact["choice"]["total_score"] > exact["choice"]["greedy_total_score"] + 0.1
    assert pdist(sites[["x_m", "y_m"]]).min() >= 110
    assert sites["score"].sum() == pytest.approx(exact["choice"]["total_score"], abs=0.003)
    assert sites["rank"].tolist() == list(range(1, len(sites) + 1))
    assert sites["score"].is_monotonic_decreasing


def test_the_command_says_what_the_choice_gained_and_what_is_proven(both):
    (quiet, _, _), (printed, exact, _) = both
    choice = exact["choice"]
    assert "exact choice" not in quiet
    assert f"the scores add up to {choice['total_score']:.4f}" in printed
    assert f"greedy's {choice['greedy_total_score']:.4f}" in printed
    assert choice["search_ended_by"] == "proof"
    assert choice["gap_share"] < 1e-6
    assert choice["most_on_land_total_score"] >= choice["most_possible_total_score"]
    assert choice["most_possible_total_score"] == pytest.approx(choice["total_score"])


def test_every_site_is_a_candidate_and_may_be_explained(both, tmp_path):
    _, record, sites = screened(tmp_path, "exact")
    with rasterio.open(tmp_path / "run" / "candidates.tif") as source:
        scores = [value[0] for value in source.sample(sites[["x_m", "y_m"]].to_numpy())]
    np.testing.assert_allclose(scores, sites["score"], atol=5e-5)
    # Another run of the same land chooses the same.
    assert record["sites"] == both[1][1]["sites"]
    assert f"score {sites['score'][2]:.3f}" in succeeded("explain", tmp_path / "run", "--site", 3)


def test_a_search_cut_short_says_so(tmp_path):
    text = RUN.replace("count: 5, spacing: 40 m}",
                       "count: 60, spacing: 70 m, choice: exact, time_limit: 0.1 s}")  # fmt: skip
    printed = succeeded("screen", write_land(tmp_path, text), "--out", tmp_path / "run")
    choice = json.loads((tmp_path / "run" / "run.json").read_text("utf-8"))["choice"]
    assert choice["search_ended_by"] == "time limit"
    assert choice["total_score"] >= choice["greedy_total_score"]
    assert choice["gap_share"] > 0
    assert "warning: the time limit ended the search" in printed
    assert f"{choice['gap_share']:.2%}" in printed


def test_a_way_to_choose_that_there_is_not_is_refused(tmp_path):
    text = RUN.replace("spacing: 40 m}", "spacing: 40 m, choice: best}")
    what, where, fix = parts(refused("check", write_land(tmp_path, text)))
    assert "best" in what
    assert "sites.choice" in where
    assert "greedy" in fix
    assert "exact" in fix
