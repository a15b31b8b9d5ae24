"""How sure a ranking is: the real command on a real run, and its numbers the plain way."""

import csv
import json
import shutil

import numpy as np
import pytest
import rasterio
from command import files_in, parts, refused, succeeded
from PIL import Image
from rio_cogeo.cogeo import cog_validate
from scipy.stats import spearmanr
from small_land import RUN, write_config, write_land

from suitability.decide.robustness_weights import Spread, draw_weights
from suitability.robustness import finished
from suitability.robustness.land import sample_land, write_stability

DRAWS, MAP_DRAWS = 2000, 100
ASKED = ("--draws", DRAWS, "--map-draws", MAP_DRAWS, "--places", 40)
WEIGHTS = {"direct_sun_h": 0.5, "water_distance_m": 0.3, "canopy_edge_m": 0.2}
CRITERIA = """\
criteria:
  - {layer: direct_sun_h, weight: 5, value: {rising: [0 h, 16 h]}}
  - {layer: water_distance_m, weight: 3, value: {falling: [0 m, 500 m]}}
  - {layer: canopy_edge_m, weight: 2, value: {falling: [0 m, 300 m]}}
  - {layer: slope_deg, weight: 0, value: {falling: [0 deg, 40 deg]}}
"""
FILES = {"stable_share.tif", "acceptability.csv", "robustness.json", "acceptability.png",
         "swings.png", "correlation.png", "stability.png"}  # fmt: skip


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    """Screen the land by criteria that no place is best in at once; return the run's folder."""
    place = tmp_path_factory.mktemp("robustness")
    succeeded("screen", write_land(place / "land", RUN + CRITERIA), "--out", place / "run")
    return place / "run"


@pytest.fixture(scope="module")
def asked(run):
    """Ask for the run's robustness; return its folder and what was printed."""
    return run / "robustness", succeeded("robustness", run, *ASKED)


@pytest.fixture(scope="module")
def numbers(asked):
    return json.loads((asked[0] / "robustness.json").read_text("utf-8"))


@pytest.fixture(scope="module")
def land(run):
    """Return the values of every cell the plain way, (criteria, rows, cols), and who is in."""

    def read(name):
        with rasterio.open(run / name) as source:
            return source.read(1).astype(np.float64)

    values = np.stack([
        np.interp(read("layers/direct_sun_h.tif"), [0, 16], [0, 1]),
        np.interp(read("layers/water_distance_m.tif"), [0, 500], [1, 0]),
        np.interp(read("layers/canopy_edge_m.tif"), [0, 300], [1, 0]),
    ])  # fmt: skip
    return values, np.isfinite(read("candidates.tif"))


def drawn(draws, seed=1, spread=None):
    weights = np.array(list(WEIGHTS.values()))
    return draw_weights(weights, (slice(0, 3),), spread or Spread(20), draws=draws, seed=seed)


def test_its_files_and_no_others(asked, numbers):
    folder, printed = asked
    assert files_in(folder) == FILES
    assert set(numbers["files"]) == FILES
    assert f"{len(FILES)} files" in printed
    for name in FILES:
        if name.endswith(".png"):
            with Image.open(folder / name) as picture:
                picture.load()
                assert picture.width == 1700


def test_the_table_tells_of_the_sites_as_the_run_does(run, asked, numbers):
    with (run / "sites.csv").open(encoding="utf-8") as file:
        sites = list(csv.DictReader(line for line in file if line[0] != "#"))
    with (asked[0] / "acceptability.csv").open(encoding="utf-8") as file:
        places = list(csv.DictReader(file))
    assert len(sites) == 5 == numbers["places"]["listed"]
    assert numbers["places"]["ranked"] == len(places) > 10
    scores = [site["score"] for site in json.loads((run / "run.json").read_text("utf-8"))["sites"]]
    for site, score, place in zip(sites, scores, places, strict=False):
        assert place["listed"] == "True"
        assert float(place["x_m"]) == float(site["x_m"])
        assert float(place["lat_deg"]) == float(site["lat_deg"])
        assert float(place["score"]) == pytest.approx(score, abs=2e-6)
    assert {place["listed"] for place in places[5:]} == {"False"}
    shares = np.array([[float(p[f"rank_{r}_share"]) for r in range(1, 6)] for p in places])
    np.testing.assert_allclose(shares.sum(axis=0), 1)
    np.testing.assert_allclose(shares.sum(axis=1), [float(p["in_list_share"]) for p in places])


def test_ranks_the_plain_way(asked, land):
    with (asked[0] / "acceptability.csv").open(encoding="utf-8") as file:
        places = list(csv.DictReader(file))
    values, _ = land
    cols = [int((float(p["x_m"]) - 500_000) // 5) for p in places]
    rows = [int((4_450_000 - float(p["y_m"])) // 5) for p in places]
    scores = drawn(DRAWS) @ values[:, rows, cols]
    best = scores.argmax(axis=1)
    first = np.bincount(best, minlength=len(places)) / DRAWS
    found = np.array([float(p["none_better_share"]) for p in places])
    np.testing.assert_allclose(found, first, rtol=0, atol=0.003)  # values are kept to 1e-6
    assert (first > 0).sum() > 2
    for k, place in enumerate(places):
        central = [place[f"central_weight_{name}"] for name in WEIGHTS]
        if found[k] == 0:
            assert central == ["", "", ""]
        elif first[k] > 0.05:
            expected = drawn(DRAWS)[best == k].mean(axis=0)
            np.testing.assert_allclose([float(c) for c in central], expected, atol=0.003)


def test_the_raster_the_plain_way(run, asked, numbers, land):
    with rasterio.open(asked[0] / "stable_share.tif") as source:
        share = source.read(1)
        with rasterio.open(run / "candidates.tif") as scores:
            assert (source.crs, source.transform) == (scores.crs, scores.transform)
        assert "100 draws" in source.tags()["DESCRIPTION"]
    valid, errors, warnings = cog_validate(asked[0] / "stable_share.tif", strict=True)
    assert (valid, errors, warnings) == (True, [], [])
    values, is_in = land
    np.testing.assert_array_equal(np.isfinite(share), is_in)
    cells = values[:, is_in]
    count = np.zeros(cells.shape[1])
    for weights in drawn(MAP_DRAWS):
        scores = weights @ cells
        limit = np.sort(scores)[-round(0.1 * scores.size)]
        count += scores >= limit - 1e-9
    np.testing.assert_allclose(share[is_in], count / MAP_DRAWS, rtol=0, atol=0.0101)
    assert (np.abs(share[is_in] - count / MAP_DRAWS) > 1e-6).mean() < 0.02
    told = numbers["stability"]
    assert told["candidate_cells"] == is_in.sum() == told["cells_for_the_limit"]
    assert told["always_in_share"] == pytest.approx((share[is_in] >= 0.95).mean(), abs=1e-9)
    assert told["always_out_share"] == pytest.approx((share[is_in] <= 0.05).mean(), abs=1e-9)
    assert told["stable_share"] == told["always_in_share"] + told["always_out_share"]
    assert told["mean_in_share"] == pytest.approx(share[is_in].mean(), abs=1e-6)
    assert 0 < told["always_in_share"] < 0.1 <= round(told["mean_in_share"], 3)


def test_correlation_is_that_of_the_values(numbers, land):
    values, is_in = land
    told = numbers["correlation"]
    assert told["criteria"] == list(WEIGHTS)
    assert told["cells"] == is_in.sum()
    expected = spearmanr(np.float32(values[:, is_in].T).round(6)).statistic
    np.testing.assert_allclose(told["spearman"], expected, atol=1e-4)


def test_a_weight_out_of_its_range_has_another_best_site(run, numbers, tmp_path):
    first = json.loads((run / "run.json").read_text("utf-8"))["sites"][0]
    swings = {swing["name"]: swing for swing in numbers["swings"]}
    assert list(swings) == list(WEIGHTS)
    beyond = [
        (name, share)
        for name, swing in swings.items()
        for share in (swing["best_stays"][0] - 0.005, swing["best_stays"][1] + 0.005)
        if 0 < share < 1
    ]
    assert len(beyond) >= 2
    shutil.copytree(run, tmp_path / "run")
    for name, share in beyond[:2]:
        text = CRITERIA
        for layer, weight in WEIGHTS.items():
            rest = (1 - share) / (1 - WEIGHTS[name])
            new = share if layer == name else weight * rest
            old = f"layer: {layer}, weight: {weight * 10:.0f},"
            assert old in text
            text = text.replace(old, f"layer: {layer}, weight: {new!r},")
        config = write_config(run.parent / "land", RUN + text)
        succeeded("screen", config, "--out", tmp_path / "run")
        best = json.loads((tmp_path / "run/run.json").read_text("utf-8"))["sites"][0]
        # A place that was ranked is better now, so the best of all cells is another as well.
        assert (best["x_m"], best["y_m"]) != (first["x_m"], first["y_m"])


def test_asking_again_gives_the_same_bytes(run, asked):
    folder, printed = asked
    before = {name: (folder / name).read_bytes() for name in FILES}
    assert succeeded("robustness", run, *ASKED) == printed
    assert {name: (folder / name).read_bytes() for name in FILES} == before


def test_windows_are_no_matter(run, asked, tmp_path, monkeypatch):
    with rasterio.open(asked[0] / "stable_share.tif") as source:
        whole = source.read(1)
    monkeypatch.setattr(finished, "SIDE", 23)
    found = finished.read_finished(run)
    assert len(found.windows) == 12
    sample = sample_land(found)
    path = tmp_path / "pieces.tif"
    write_stability(path, found, sample, drawn(MAP_DRAWS), lambda _share: None)
    with rasterio.open(path) as source:
        np.testing.assert_array_equal(source.read(1), whole)
    assert files_in(tmp_path) == {"pieces.tif"}
    # A part of the land is drawn by where cells lie.
    some = sample_land(found, most=1000)
    assert 850 < some.values.shape[0] < 1150
    monkeypatch.setattr(finished, "SIDE", 64)
    again = sample_land(finished.read_finished(run), most=1000)
    np.testing.assert_array_equal(np.sort(again.values, axis=0), np.sort(some.values, axis=0))


def test_any_weights_and_other_seeds_find_otherwise(run, numbers, tmp_path):
    shutil.copytree(run, tmp_path / "run")
    told = {}
    for name, more in {"any": ("--any-weights",), "seed": ("--seed", 2),
                       "close": ("--concentration", 100_000)}.items():  # fmt: skip
        succeeded("robustness", tmp_path / "run", *ASKED, *more)
        told[name] = json.loads((tmp_path / "run/robustness/robustness.json").read_text("utf-8"))
    assert told["any"]["asked"]["concentration"] is None
    assert told["any"]["stability"]["stable_share"] < numbers["stability"]["stable_share"]
    assert told["seed"]["sites"] != numbers["sites"]
    assert told["seed"]["swings"] == numbers["swings"]
    # Weights that hardly move leave the first site in the list and nearly all land stable.
    assert told["close"]["sites"][0]["in_list_share"] == 1
    assert told["close"]["stability"]["stable_share"] > 0.97
    low, high = (told["close"]["weights"][0][f"typical_{end}"] for end in ("from", "to"))
    assert 0.49 < low < 0.5 < high < 0.51


def test_groups_and_other_combinations(run, tmp_path):
    text = RUN + (
        "combine: weighted geometric mean\n"
        "criteria:\n"
        "  - {layer: direct_sun_h, weight: 5, value: {rising: [0 h, 16 h]}}\n"
        "  - group: near\n"
        "    weight: 5\n"
        "    criteria:\n"
        "      - {layer: water_distance_m, weight: 3, value: {falling: [0 m, 500 m]}}\n"
        "      - {layer: canopy_edge_m, weight: 2, value: {falling: [0 m, 300 m]}}\n"
    )
    shutil.copytree(run, tmp_path / "run")
    succeeded("screen", write_config(run.parent / "land", text), "--out", tmp_path / "run")
    printed = succeeded("robustness", tmp_path / "run", *ASKED)
    assert "near: water_distance_m" in printed
    numbers = json.loads((tmp_path / "run/robustness/robustness.json").read_text("utf-8"))
    assert [w["name"] for w in numbers["weights"]] == [
        "direct_sun_h", "near", "near: water_distance_m", "near: canopy_edge_m",
    ]  # fmt: skip
    assert [w["share"] for w in numbers["weights"]] == pytest.approx([0.5, 0.5, 0.6, 0.4])


def test_criteria_that_say_the_same_are_warned_of(run, tmp_path):
    text = RUN + CRITERIA.replace(
        "  - {layer: slope_deg, weight: 0, value: {falling: [0 deg, 40 deg]}}",
        "  - {layer: clearance_m, weight: 2, value: {falling: [0 m, 300 m]}}",
    )
    shutil.copytree(run, tmp_path / "run")
    succeeded("screen", write_config(run.parent / "land", text), "--out", tmp_path / "run")
    printed = succeeded("robustness", tmp_path / "run", *ASKED)
    assert "warning: canopy_edge_m and clearance_m go together" in printed
    calm = succeeded("robustness", tmp_path / "run", *ASKED, "--correlated-from", 1)
    assert "canopy_edge_m and clearance_m" not in calm.replace("clearance_m go together", "")


def test_a_new_screening_takes_the_old_findings_away(run, tmp_path):
    folder = tmp_path / "run"
    shutil.copytree(run, folder)
    succeeded("robustness", folder, *ASKED)
    (folder / "robustness" / "notes.txt").write_text("mine", encoding="utf-8")
    config = write_config(run.parent / "land", RUN + CRITERIA.replace("weight: 5", "weight: 6"))
    succeeded("screen", config, "--out", folder)
    assert files_in(folder / "robustness") == {"notes.txt"}


def edited(run, folder, change):
    """Return a copy of a run with another record, as another program may have written it."""
    shutil.copytree(run, folder, ignore=shutil.ignore_patterns("robustness"))
    record = json.loads((folder / "run.json").read_text("utf-8"))
    del record["sha256_of_the_rest"]
    change(record)
    (folder / "run.json").write_text(json.dumps(record), encoding="utf-8")
    return folder


@pytest.mark.parametrize(
    ("change", "what"),
    [
        (lambda record: record.pop("judgement"), "no judgement that this program writes"),
        (lambda record: record["settings"].pop("sites"), "not what this program writes"),
        (lambda record: record["sites"][0].pop("x_m"), "not what this program writes"),
        (lambda record: record["sites"][0].update(x_m=0.0), "outside the run's rasters"),
        (lambda record: record["sites"].clear(), "lists no sites"),
        (lambda record: record["judgement"].update(criteria=record["judgement"]["criteria"][:1]),
         "no weight of this run can move"),
        (lambda record: record["judgement"].update(combine="limiting criterion"),
         "no weight of this run can move"),
    ],
)  # fmt: skip
def test_a_record_that_cannot_be_asked(run, tmp_path, change, what):
    folder = edited(run, tmp_path / "run", change)
    told, _, _ = parts(refused("robustness", folder))
    assert what in told
    assert not (folder / "robustness").exists()


def test_a_folder_that_is_no_run(tmp_path):
    told, where, _ = parts(refused("robustness", tmp_path))
    assert "no finished run" in told
    assert where == str(tmp_path)
    assert not files_in(tmp_path)


def test_a_layer_that_is_missing(run, tmp_path):
    shutil.copytree(run, tmp_path / "run")
    (tmp_path / "run/layers/canopy_edge_m.tif").unlink()
    told, where, _ = parts(refused("robustness", tmp_path / "run", *ASKED))
    assert "cannot be read" in told
    assert where.endswith("canopy_edge_m.tif")
    assert "robustness.json" not in files_in(tmp_path / "run" / "robustness")
