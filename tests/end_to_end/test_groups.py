"""Groups of boxes through the real command: what every file says, and that no better group is."""

import itertools
import json

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import rasterio
from command import parts, refused, results_in, succeeded
from small_land import CELL_M, NORTH, RUN, WEST, write_land

GROUPS = """\
  groups:
    boxes:
      - {name: sunny, layer: morning_sun_h, at_least: 6 h}
      - {name: half sun, layer: morning_sun_h, at_most: 5.5 h}
      - {name: spare, layer: water_distance_m, at_most: 400 ft}
    within: 25 m
    apart: 8 m
"""
WITHIN_M, APART_M, SPACING_M = 25.0, 8.0, 40.0


@pytest.fixture(scope="module")
def screened(tmp_path_factory):
    folder = tmp_path_factory.mktemp("groups")
    config = write_land(folder, RUN.replace("count: 5, spacing: 40 m}", "@").replace(
        "sites: {@", f"sites:\n  count: 4\n  spacing: 40 m\n{GROUPS}"))  # fmt: skip
    return folder / "run", succeeded("screen", config, "--out", folder / "run")


def raster(folder, name):
    with rasterio.open(folder / name) as source:
        return source.read(1)


def cells(sites):
    rows = ((NORTH - sites["y_m"]) / CELL_M - 0.5).round().astype(int)
    cols = ((sites["x_m"] - WEST) / CELL_M - 0.5).round().astype(int)
    return np.column_stack([rows, cols])


def fitting(folder):
    """Return where each of the three boxes may stand."""
    score, morning = raster(folder, "candidates.tif"), raster(folder, "layers/morning_sun_h.tif")
    water = raster(folder, "layers/water_distance_m.tif")
    return [
        (morning >= 6) & np.isfinite(score),
        (morning <= 5.5) & np.isfinite(score),
        (water <= 400 * 0.3048) & np.isfinite(score),
    ]


def test_all_files_tell_the_same_groups(screened):
    folder, printed = screened
    table = pd.read_csv(folder / "sites.csv")
    assert table["rank"].tolist() == list(range(1, 13))
    assert table["group"].tolist() == np.repeat([1, 2, 3, 4], 3).tolist()
    assert table["role"].tolist() == ["sunny", "half sun", "spare"] * 4
    means = table.groupby("group")["score"].mean()
    np.testing.assert_allclose(table["group_score"], np.repeat(means, 3), atol=1e-4)
    assert means.is_monotonic_decreasing
    for suffix in ("gpkg", "geojson"):
        other = gpd.read_file(folder / f"sites.{suffix}")
        for column in ("rank", "group", "role", "group_score"):
            assert other[column].tolist() == table[column].tolist()
    record = json.loads((folder / "run.json").read_text("utf-8"))
    assert [site["role"] for site in record["sites"]] == table["role"].tolist()
    assert record["choice"]["groups"] == 4
    for site in table.itertuples():
        line = next(line for line in printed.splitlines() if line.startswith(f"│ {site.rank:>4} │"))
        assert f"│ {site.group:>5} │ {site.role:<8} │ {site.score:.3f} │" in line


def test_boxes_stand_where_their_role_and_the_distances_allow(screened):
    folder, _ = screened
    table = pd.read_csv(folder / "sites.csv")
    for box, fits in enumerate(fitting(folder)):
        assert fits[tuple(cells(table[box::3]).T)].all()
    for a, b in itertools.combinations(table.itertuples(), 2):
        distance_m = np.hypot(a.x_m - b.x_m, a.y_m - b.y_m)
        if a.group == b.group:
            assert APART_M <= distance_m <= WITHIN_M
        else:
            assert distance_m >= SPACING_M


def test_no_group_that_is_left_beats_the_one_taken(screened):
    folder, _ = screened
    table = pd.read_csv(folder / "sites.csv")
    places, score = cells(table), raster(folder, "candidates.tif").astype(float)
    roles = [np.argwhere(fits) for fits in fitting(folder)]
    for group in range(4):
        best = score[tuple(places[3 * group : 3 * group + 3].T)].sum()
        assert _best_total(score, roles) == pytest.approx(best, abs=1e-12)
        taken = places[3 * group : 3 * group + 3]
        roles = [
            role[(_apart_m(role, taken) >= SPACING_M).all(axis=1)] for role in roles
        ]  # fmt: skip


def _apart_m(some, others):
    return CELL_M * np.hypot(*(some[:, None] - others[None]).transpose(2, 0, 1))


def _best_total(score, roles):
    """Look at every pair of the first two boxes, and for each at every third box."""
    first, second, third = roles

    def near(some, others):
        apart = _apart_m(some, others)
        return (apart >= APART_M) & (apart <= WITHIN_M)

    to_third = np.where(near(second, third), score[tuple(third.T)], -np.inf)
    best = -np.inf
    for leader in first:
        partners = near(leader[None], second)[0]
        thirds = near(leader[None], third)[0]
        if partners.any() and thirds.any():
            pairs = score[tuple(second[partners].T)] + to_third[np.ix_(partners, thirds)].max(1)
            best = max(best, score[tuple(leader)] + pairs.max())
    return best


def test_every_box_can_be_explained(screened):
    folder, _ = screened
    score = pd.read_csv(folder / "sites.csv")["score"][4]
    assert f"score {score:.3f}" in succeeded("explain", folder, "--site", 5)


def test_land_that_holds_no_such_group_says_so(tmp_path):
    text = RUN.replace("spacing: 40 m}", "spacing: 40 m, groups: {boxes: [{name: a, layer: "
        "slope_deg, at_most: 20}, {name: b, layer: slope_deg, at_least: 80 deg}]}}")  # fmt: skip
    printed = succeeded("screen", write_land(tmp_path, text), "--out", tmp_path / "run")
    assert "0 of 5 groups of boxes wanted were found" in printed
    assert len(gpd.read_file(tmp_path / "run" / "sites.gpkg")) == 0


@pytest.mark.parametrize(
    ("boxes", "what", "fix"),
    [
        ("{name: a, layer: dew_h, at_least: 1}, {name: b, layer: slope_deg, at_most: 9}",
         "there is no layer 'dew_h'", "direct_sun_h"),
        ("{name: a, layer: slope_deg, at_most: 9 m}, {name: b, layer: slope_deg, at_most: 9}",
         "'9 m' is not an angle", "deg"),
        ("{name: a, layer: slope_deg}, {name: b, layer: slope_deg, at_most: 9}",
         "box 'a' may stand anywhere", "at_least"),
        ("{name: a, layer: slope_deg, at_least: 9, at_most: 8}, {name: b, layer: slope_deg, "
         "at_most: 9}", "nothing measures 9 deg or more and 8 deg or less", "smaller"),
        ("{name: a, layer: slope_deg, at_most: 9}, {name: a, layer: slope_deg, at_most: 9}",
         "'a' is the name of more than one box", "own"),
        ("{name: a, layer: slope_deg, at_most: 9}", "", ""),
    ],
)  # fmt: skip
def test_groups_that_cannot_be_are_refused(tmp_path, boxes, what, fix):
    text = RUN.replace("spacing: 40 m}", f"spacing: 40 m, groups: {{boxes: [{boxes}]}}}}")
    message = parts(refused("screen", write_land(tmp_path, text), "--out", tmp_path / "run"))
    assert what in message[0]
    assert "sites" in message[1]
    assert "groups" in message[1]
    assert fix in message[2]
    assert results_in(tmp_path / "run") == set()


@pytest.mark.parametrize(
    ("more", "what"),
    [
        ("groups: {boxes: @, apart: 31 m}", "boxes 31 m apart do not lie within 30 m"),
        ("choice: exact, groups: {boxes: @}", "groups of boxes are chosen greedily"),
    ],
)
def test_rules_that_exclude_each_other_are_refused(tmp_path, more, what):
    boxes = "[{name: a, layer: slope_deg, at_most: 9}, {name: b, layer: slope_deg, at_least: 1}]"
    text = RUN.replace("spacing: 40 m}", f"spacing: 40 m, {more.replace('@', boxes)}}}")
    message = parts(refused("check", write_land(tmp_path, text)))
    assert what in message[0]
