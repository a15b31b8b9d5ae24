"""Groups, weighing and combining in a run file: what is taken, and where mistakes are told."""

from __future__ import annotations

from pathlib import Path

import pytest

from suitability.config import load_run
from suitability.config.criteria import walked
from suitability.errors import ConfigError

INPUTS = "inputs: {elevation: dem.tif, land_cover: cover.tif, streams: streams.gpkg}\n"
A, B, C = (
    f"layer: {name}, value: {{rising: [0, 1]}}" for name in ("slope_deg", "water_distance_m", "a_h")
)


def settings(folder: Path, text: str):
    path = folder / "run.yaml"
    path.write_text(INPUTS + text, encoding="utf-8")
    return load_run(path).settings


def refused(folder: Path, text: str) -> ConfigError:
    with pytest.raises(ConfigError) as caught:
        settings(folder, text)
    return caught.value


def test_groups_nest(tmp_path: Path) -> None:
    found = settings(
        tmp_path,
        f"""\
criteria:
- {{{A}, weight: 1}}
- group: near
  weight: 2
  combine: limiting criterion
  criteria:
  - {{{B}, weight: 1}}
  - group: deeper
    weight: 3
    criteria: [{{{C}, weight: 1}}]
""",
    ).criteria
    assert [(key, entry.name) for key, entry in walked(found)] == [
        ("criteria[0]", "slope_deg"),
        ("criteria[1]", "near"),
        ("criteria[1].criteria[0]", "water_distance_m"),
        ("criteria[1].criteria[1]", "deeper"),
        ("criteria[1].criteria[1].criteria[0]", "a_h"),
    ]
    assert found[1].combine.by == "limiting criterion"
    assert found[1].criteria[1].combine.by == "weighted mean"


def test_comparisons_are_numbers_or_fractions(tmp_path: Path) -> None:
    text = f"""\
weighing: {{pairwise: [[slope_deg, water_distance_m, 1/3], [slope_deg, a_h, "2.5"],
                      [water_distance_m, a_h, 9]]}}
criteria: [{{{A}}}, {{{B}}}, {{{C}}}]
"""
    pairs = settings(tmp_path, text).weighing.pairwise
    assert [times for _, _, times in pairs] == [pytest.approx(1 / 3, abs=1e-16), 2.5, 9]


def test_a_ranking_may_hold_equals(tmp_path: Path) -> None:
    text = f"""\
weighing: {{ranking: [a_h, [slope_deg, water_distance_m]]}}
criteria: [{{{A}}}, {{{B}}}, {{{C}}}]
"""
    ranking = settings(tmp_path, text).weighing.ranking
    assert ranking == (("a_h",), ("slope_deg", "water_distance_m"))


TWO = f"criteria:\n- {{{A}}}\n- {{{B}}}\n"
PAIR = "weighing:\n  pairwise:\n  - [slope_deg, water_distance_m, {}]\n"


@pytest.mark.parametrize(
    ("text", "where", "what", "fix"),
    [
        (TWO, "line 3: criteria[0]", "weight is missing", "add weight: 0.35"),
        (
            f"criteria:\n- group: g\n  weight: 1\n  criteria:\n  - {{{A}}}\n",
            "line 6: criteria[0].criteria[0]",
            "weight is missing",
            "add weight",
        ),
        (
            f"criteria:\n- group: g\n  criteria: [{{{A}, weight: 1}}]\n",
            "line 3: criteria[0]",
            "weight is missing",
            "add weight",
        ),
        (
            f"criteria:\n- group: g\n  weight: 1\n  criteria:\n  - {{{A}, weight: 0}}\n",
            "line 5: criteria[0].criteria",
            "all weights are zero",
            "above 0",
        ),
        (
            f"criteria:\n- group: g\n  weight: 1\n  criteria:\n  - {{{A}, weihgt: 1}}\n",
            "line 6: criteria[0].criteria[0].weihgt",
            "'weihgt' is not a key of criteria[0].criteria[0]",
            "write weight instead; the keys are layer, weight, value",
        ),
        (
            f"criteria:\n- grup: g\n  weight: 1\n  criteria:\n  - {{{A}, weight: 1}}\n",
            "line 3: criteria[0].grup",
            "'grup' is not a key of criteria[0]",
            "write group instead; the keys are group, weight, combine, weighing, criteria",
        ),
        (
            "criteria:\n- {group: g, weight: 1, criteria: []}\n",
            "line 3: criteria[0].criteria",
            "the list is empty",
            "give 1 or more",
        ),
        (
            "criteria:\n- {group: g, weight: 1}\n",
            "line 3: criteria[0]",
            "criteria is missing",
            "add criteria:",
        ),
        (
            "criteria:\n- {group: g, weight: 1, criteria: [5]}\n",
            "line 3: criteria[0].criteria[0]",
            "5 is not what criteria[0] needs",
            "layer, weight",
        ),
        (
            f"criteria:\n- {{{A}, weight: 1}}\n- {{group: g, weight: 1, criteria: "
            f"[{{{A}, weight: 1}}]}}\n",
            "line 2: criteria",
            "slope_deg is named more than once",
            "each group differently",
        ),
        (
            f"criteria:\n- {{group: score, weight: 1, criteria: [{{{A}, weight: 1}}]}}\n",
            "line 2: criteria",
            "score is what the whole is called",
            "another name",
        ),
        (
            f"combine: geometric mean\ncriteria:\n- {{{A}, weight: 1}}\n",
            "line 2: combine",
            "'geometric mean' is not a choice here",
            "nearest: weighted geometric mean",
        ),
        (
            f"combine: ordered weighted mean\ncriteria:\n- {{{A}, weight: 1}}\n",
            "line 2: combine",
            "ordered weighted mean needs order weights",
            "order_weights: [",
        ),
        (
            "combine: {by: limiting criterion, order_weights: [1, 2]}\n",
            "line 2: combine.order_weights",
            "order weights have no part in the limiting criterion",
            "delete the line",
        ),
        (
            "combine: {by: ordered weighted mean, order_weights: [0, 0]}\n",
            "line 2: combine.order_weights",
            "all order weights are zero",
            "above 0",
        ),
        (
            "combine: {by: ordered weighted mean, order_weights: [1, 2, 3]}\n"
            f"criteria:\n- {{{A}, weight: 1}}\n- {{{B}, weight: 1}}\n- {{{C}, weight: 0}}\n",
            "line 2: combine.order_weights",
            "3 order weights are given for 2 criteria that count",
            "give 2, for the highest value first",
        ),
        (
            f"criteria:\n- group: g\n  weight: 1\n  combine:\n    by: ordered weighted mean\n"
            f"    order_weights: [1, 2]\n  criteria: [{{{A}, weight: 1}}]\n",
            "line 7: criteria[0].combine.order_weights",
            "2 order weights are given for 1 criteria that count",
            "give 1",
        ),
        ("weighing: {ranking: [a_h]}\n", "line 2: weighing", "no criteria are", "write the"),
        ("weighing: {}\n" + TWO, "line 2: weighing", "names no way", "pairwise or ranking"),
        (
            "weighing: {ranking: [a_h], pairwise: [[a_h, b_h, 1]]}\n" + TWO,
            "line 2: weighing",
            "names both ways",
            "either",
        ),
        (
            PAIR.format(2) + f"criteria:\n- {{{A}, weight: 1}}\n- {{{B}}}\n",
            "line 6: criteria[0].weight",
            "a weight of 1 is stated, yet weighing gives the weights",
            "delete either",
        ),
        (
            PAIR.format(10) + TWO,
            "line 4: weighing.pairwise[0][2]",
            "10 is off the scale",
            "1/9 to 9",
        ),
        (PAIR.format(0) + TWO, "line 4: weighing.pairwise[0][2]", "0 is off the scale", "1/9"),
        (PAIR.format("1/0") + TWO, "line 4: weighing.pairwise[0][2]", "'1/0'", "such as 1/3"),
        (PAIR.format("much") + TWO, "line 4: weighing.pairwise[0][2]", "'much'", "such as 1/3"),
        (PAIR.format("true") + TWO, "line 4: weighing.pairwise[0][2]", "true", "such as 1/3"),
        (
            PAIR.format(2) + "  - [water_distance_m, slope_deg, 2]\n" + TWO,
            "line 5: weighing.pairwise[1]",
            "water_distance_m and slope_deg are compared more than once",
            "keep one",
        ),
        (
            "weighing: {pairwise: [[slope_deg, slope_deg, 1]]}\n" + TWO,
            "line 2: weighing.pairwise[0]",
            "slope_deg is compared with itself",
            "delete",
        ),
        (
            "weighing: {pairwise: [[slope_deg, water_m, 1]]}\n" + TWO,
            "line 2: weighing.pairwise[0]",
            "'water_m' is none of the criteria that are weighed together",
            "write water_distance_m",
        ),
        (
            PAIR.format(2) + TWO + f"- {{{C}}}\n",
            "line 3: weighing.pairwise",
            "2 pairs are not compared: slope_deg and a_h; water_distance_m and a_h",
            "add an entry for each",
        ),
        (
            "weighing: {ranking: [slope_deg]}\n" + TWO,
            "line 2: weighing.ranking",
            "the ranking leaves out water_distance_m",
            "its place",
        ),
        (
            "weighing: {ranking: [slope_deg, [slope_deg, water_distance_m]]}\n" + TWO,
            "line 2: weighing.ranking",
            "slope_deg is ranked more than once",
            "keep one",
        ),
        (
            "weighing: {ranking: [slope_deg, moon]}\n" + TWO,
            "line 2: weighing.ranking",
            "'moon' is none of",
            "choose from slope_deg, water_distance_m",
        ),
    ],
)
def test_mistakes_are_told_where_they_stand(
    tmp_path: Path, text: str, where: str, what: str, fix: str
) -> None:
    error = refused(tmp_path, text)
    assert error.where == f"run.yaml, {where}"
    assert what in error.what
    assert fix in str(error.fix)


def test_more_than_ten_are_too_many_to_compare(tmp_path: Path) -> None:
    names = [f"n{at}_m" for at in range(11)]
    entries = "".join(f"- {{layer: {name}, value: {{rising: [0, 1]}}}}\n" for name in names)
    text = f"weighing: {{pairwise: [[n0_m, n1_m, 1]]}}\ncriteria:\n{entries}"
    error = refused(tmp_path, text)
    assert "11 criteria are too many to compare in pairs" in error.what
    assert "groups of up to 10" in str(error.fix)
