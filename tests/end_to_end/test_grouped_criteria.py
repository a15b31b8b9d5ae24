"""A run whose criteria lie in groups, with weights compared and ranked, told from end to end."""

import csv
import json
import re

import numpy as np
import pytest
import rasterio
import rasterio.warp
from command import parts, refused, succeeded
from scipy.special import expit
from small_land import RUN, write_config, write_land

# Most in contradiction: sun over water, water over the surroundings, yet those over the sun.
JUDGEMENT = """\
combine: weighted geometric mean
weighing:
  pairwise:
  - [warmth, water_distance_m, 3]
  - [water_distance_m, surroundings, 3]
  - [warmth, surroundings, 1/2]
criteria:
- group: warmth
  combine: {by: ordered weighted mean, order_weights: [1, 2]}
  criteria:
  - {layer: direct_sun_h, weight: 3, value: {logistic: [5 h, 9 h]}}
  - {layer: morning_sun_h, weight: 1, value: {rising: [1 h, 8 h], must: rise}}
- {layer: water_distance_m, value: {table: water.csv}}
- group: surroundings
  combine: limiting criterion
  weighing: {ranking: [canopy_edge_m, slope_deg]}
  criteria:
  - {layer: canopy_edge_m, value: {points: [[0 m, 0.3], [60 m, 1]]}}
  - {layer: slope_deg, value: {steps: {below: 1, then: [[2 deg, 0.8], [4 deg, 0.4]]}}}
"""
TABLE = "distance (ft),value\n0,1\n300,0.8\n900,0.1\n"
LAYERS = ("direct_sun_h", "morning_sun_h", "water_distance_m", "canopy_edge_m", "slope_deg")


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    """Return the folder of the run, what the command printed, and its record."""
    land = tmp_path_factory.mktemp("grouped")
    config = write_land(land, RUN + JUDGEMENT)
    (land / "water.csv").write_text(TABLE)
    printed = succeeded("screen", config, "--out", land / "out")
    (land / "water.csv").unlink()  # what a run was judged by, its folder remembers
    return land / "out", printed, json.loads((land / "out" / "run.json").read_text("utf-8"))


def raster(folder, name):
    with rasterio.open(folder / name) as source:
        return source.read(1, masked=True).astype(np.float64).filled(np.nan)


def test_the_score_follows_from_the_layers_by_the_definitions(run):
    folder, _, record = run
    sun, morning, water, edge, slope = (raster(folder, f"layers/{name}.tif") for name in LAYERS)
    values = {
        "sun": expit(np.log(9) * (sun - 5) / 4),
        "morning": np.interp(morning, [1, 8], [0, 1]),
        "water": np.interp(water / 0.3048, [0, 300, 900], [1, 0.8, 0.1]),
        "edge": np.interp(edge, [0, 60], [0.3, 1]),
        "slope": np.select([slope < 2, slope < 4], [1, 0.8], 0.4),
    }
    # Criterion weights 3/4 and 1/4 go along; the lower of the two counts twice as much.
    sun_higher = values["sun"] >= values["morning"]
    weight_sun = 0.75 * np.where(sun_higher, 1, 2)
    weight_morning = 0.25 * np.where(sun_higher, 2, 1)
    warmth = (weight_sun * values["sun"] + weight_morning * values["morning"]) / (
        weight_sun + weight_morning
    )
    surroundings = np.minimum(values["edge"], values["slope"])
    power = np.linalg.matrix_power(np.array([[1, 3, 1 / 2], [1 / 3, 1, 3], [2, 1 / 3, 1]]), 40)
    weights = power.sum(axis=1) / power.sum()
    expected = warmth ** weights[0] * values["water"] ** weights[1] * surroundings ** weights[2]

    score, bits = raster(folder, "candidates.tif"), raster(folder, "excluded.tif")
    np.testing.assert_array_equal(np.isnan(score), bits != 0)
    assert (bits == 0).sum() > 1000
    np.testing.assert_allclose(score[bits == 0], expected[bits == 0], rtol=0, atol=3e-7)
    found = {branch["of"]: branch["shares"] for branch in record["weights"]}
    assert list(found["score"].values()) == pytest.approx(weights)
    assert found["surroundings"] == pytest.approx({"canopy_edge_m": 0.75, "slope_deg": 0.25})


def test_a_contradiction_is_told_wherever_the_result_is_read(run):
    _, printed, record = run
    (told,) = [text for text in record["warnings"] if "contradict each other" in text]
    assert re.search(r"consistency ratio \d\.\d\d, more than 0\.10 \(random index 0\.58", told)
    assert "contradict each other" in printed
    consistency = record["weights"][0]["consistency"]
    assert consistency["ratio"] > 0.10
    assert consistency["random_index_of"] == "Saaty 1980"
    misfit = consistency["misfit"]
    assert misfit["one"] in told
    assert misfit["ratio"] < consistency["ratio"]


def test_check_tells_of_the_contradiction_before_the_work(tmp_path):
    config = write_land(tmp_path, RUN + JUDGEMENT)
    (tmp_path / "water.csv").write_text(TABLE)
    printed = succeeded("check", config)
    assert "contradict each other" in printed
    assert "weighted geometric mean of warmth" in printed


def test_a_site_tells_what_it_would_lose_and_gain(run):
    folder, _, record = run
    with (folder / "sites.csv").open(encoding="utf-8-sig") as file:
        sites = list(csv.DictReader(file))
    assert len(sites) == 5
    assert not [name for name in sites[0] if name.endswith("_contribution")]
    for site in sites:
        score = float(site["score"])
        for layer in LAYERS:
            stem = layer.rpartition("_")[0]
            loss, gain = (float(site[f"{stem}_would_{what}"]) for what in ("lose", "gain"))
            assert 0 <= loss <= score + 1e-4
            assert 0 <= gain <= 1 - score + 1e-4
        # A table that never falls to 0 on this land, and yet: in a geometric mean, 0 takes all.
        assert float(site["water_distance_would_lose"]) == pytest.approx(score, abs=1e-4)
        assert site["limiting"] in LAYERS
    assert [entry["groups"] for entry in record["criteria"]] == [
        ["warmth"], ["warmth"], [], ["surroundings"], ["surroundings"],
    ]  # fmt: skip


def test_explain_tells_the_same_through_the_tree(run):
    folder, _, record = run
    printed = succeeded("explain", folder, "--site", 1)
    site = record["sites"][0]
    assert f"score {site['score']:.3f}" in printed
    assert "would lose" in printed
    assert "would gain" in printed
    assert " adds " not in printed
    assert "weighted geometric mean of warmth" in printed
    assert "limiting criterion of canopy_edge_m, slope_deg" in printed
    assert re.search(r"order weights 1, 2: orness 0\.33, trade-off 0\.67", printed)
    assert "weights: from comparisons in pairs, consistency ratio" in printed
    assert "weights of warmth: stated directly" in printed
    assert "weights of surroundings: from a ranking (rank-order centroid); the lowest" in printed


def test_an_excluded_place_tells_what_it_would_score(run):
    folder, _, _ = run
    bits = raster(folder, "excluded.tif").astype(int)
    row, col = (int(at[0]) for at in np.nonzero(bits == 8))  # clearance alone
    with rasterio.open(folder / "excluded.tif") as source:
        x, y = source.xy(row, col)
        (lon,), (lat,) = rasterio.warp.transform(source.crs, "EPSG:4326", [x], [y])
    printed = succeeded("explain", folder, "--at", f"{lon:.7f}", f"{lat:.7f}")
    assert "no candidate" in printed
    assert re.search(r"without that it would score 0\.\d{3}", printed)


def test_the_raster_says_how_it_was_combined(run):
    with rasterio.open(run[0] / "candidates.tif") as source:
        told = str({**source.tags(), **source.tags(1)})
    assert "weighted geometric mean of warmth" in told


def test_a_run_judged_anew_is_not_measured_anew(run, tmp_path):
    folder, _, record = run
    other = RUN + JUDGEMENT.replace("weighted geometric mean", "limiting criterion")
    land = folder.parent
    (land / "water.csv").write_text(TABLE)
    before = (folder / "layers" / "direct_sun_h.tif").stat().st_mtime_ns
    succeeded("screen", write_config(land, other), "--out", folder)
    assert (folder / "layers" / "direct_sun_h.tif").stat().st_mtime_ns == before
    anew = json.loads((folder / "run.json").read_text("utf-8"))
    assert anew["weights"][0]["combined_by"] == "limiting criterion"
    assert anew["sites"] != record["sites"]


def test_a_record_of_an_earlier_program_is_told(run, tmp_path):
    folder, _, record = run
    for damage in ("absent", "of another kind"):
        record = json.loads((folder / "run.json").read_text("utf-8"))
        del record["sha256_of_the_rest"]
        if damage == "absent":
            del record["judgement"]
        else:
            record["judgement"]["combine"]["by"] = "the best guess"
        copy = tmp_path / damage
        copy.mkdir()
        (copy / "run.json").write_text(json.dumps(record))
        for name in ("candidates.tif", "excluded.tif"):
            (copy / name).write_bytes((folder / name).read_bytes())
        what, where, fix = parts(refused("explain", copy, "--site", 1))
        assert "holds no judgement that this program writes" in what
        assert where == "run.json"
        assert "screen" in fix


def test_a_layer_that_there_is_not_is_told_deep_in_a_group(tmp_path):
    text = RUN + JUDGEMENT.replace("layer: slope_deg", "layer: sloppe_deg").replace(
        "canopy_edge_m, slope_deg]", "canopy_edge_m, sloppe_deg]"
    )
    config = write_land(tmp_path, text)
    (tmp_path / "water.csv").write_text(TABLE)
    for command in ("screen", "check"):
        what, where, _ = parts(refused(command, config))
        assert what == "there is no layer 'sloppe_deg'"
        assert where.endswith("criteria[2].criteria[1].layer")
