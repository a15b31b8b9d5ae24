"""Settings made in Python: defaults, short forms, curves, and what cannot be."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError

from suitability.config import RunSettings
from suitability.config.settings import Criterion, Season, SunRule, ValueFunction

FILES = {"elevation": "dem.tif", "land_cover": "cover.tif", "streams": "streams.gpkg"}


def run(**sections: Any) -> RunSettings:
    return RunSettings.model_validate({"inputs": FILES, **sections})


def test_inputs_alone_make_a_run() -> None:
    settings = run()
    assert settings.inputs.land_cover.legend == "nlcd"
    assert settings.season.start == "04-01"
    assert settings.criteria is None
    assert settings.out is None
    assert settings.exclusions.clearance == 6.0


def test_a_source_is_a_path_or_its_keys() -> None:
    short = run()
    long = RunSettings.model_validate(
        {
            "inputs": {
                "elevation": {"path": "dem.tif"},
                "land_cover": {"path": "cover.tif", "legend": "nlcd"},
                "streams": [{"path": "streams.gpkg"}],
            }
        }
    )
    assert short == long


def test_paths_of_python_are_taken_as_they_are() -> None:
    settings = RunSettings.model_validate({"inputs": FILES | {"elevation": Path("a/dem.tif")}})
    assert settings.inputs.elevation.path == str(Path("a/dem.tif"))
    assert run(out=Path("runs/a")).out == Path("runs/a")


def test_settings_cannot_be_changed() -> None:
    settings = run()
    with pytest.raises(ValidationError, match="frozen"):
        settings.title = "other"


def test_null_lifts_a_rule_and_zero_does_not() -> None:
    exclusions = run(exclusions={"clearance": None, "water_bank": 0}).exclusions
    assert exclusions.clearance is None
    assert exclusions.water_bank == 0
    assert exclusions.steeper_than == 30.0


@pytest.mark.parametrize("day", ["01-01", "02-28", "04-15", "12-31"])
def test_days_of_every_year(day: str) -> None:
    assert Season(start=day).start == day


@pytest.mark.parametrize(
    ("day", "told"),
    [
        ("02-29", "write 02-28 or 03-01"),
        ("2025-04-15", "write 04-15"),
        ("2025-04-15T00:00:00", "write 04-15"),
        ("2025-13-40", "such as 04-15"),
        ("4-5", "write 04-05"),
        ("4/15", "write 04-15"),
        ("15.4", "is not a day of the year"),
        ("04-31", "is not a day of the year"),
        ("April 15", "is not a day of the year"),
        ("", "is not a day of the year"),
    ],
)
def test_other_days_are_told_how_to_be_written(day: str, told: str) -> None:
    with pytest.raises(ValidationError, match=told):
        Season(start=day)


@pytest.mark.parametrize(
    ("shape", "knots"),
    [
        ({"rising": ["3 h", "420 min"]}, ((3, 0), (7, 1))),
        ({"falling": [1, 2]}, ((1, 1), (2, 0))),
        ({"hump": [1, "2 h", 3, 4]}, ((1, 0), (2, 1), (3, 1), (4, 0))),
        ({"points": [["1 h", 0.2], [2, 1], [5, 0]]}, ((1, 0.2), (2, 1), (5, 0))),
    ],
)
def test_each_shape_gives_its_points(shape: dict[str, Any], knots: Any) -> None:
    assert ValueFunction.model_validate(shape).curve("h").knots == knots


def criterion(**changes: Any) -> dict[str, Any]:
    return {"layer": "slope_deg", "weight": 1, "value": {"falling": [10, 25]}} | changes


def test_a_criterion_knows_its_unit() -> None:
    made = Criterion.model_validate(criterion())
    assert made.unit == "deg"
    assert made.curve.knots == ((10, 1), (25, 0))
    assert made.evidence == "own"


@pytest.mark.parametrize(
    "changes",
    [
        {"weight": -0.1},
        {"weight": float("nan")},
        {"weight": float("inf")},
        {"weight": True},
        {"weight": "1"},
        {"layer": "slope"},
        {"layer": ""},
        {"value": {}},
        {"value": {"falling": [10, 25], "rising": [1, 2]}},
        {"value": {"falling": [25, 10]}},
        {"value": {"falling": [10, 10]}},
        {"value": {"falling": [10]}},
        {"value": {"hump": [1, 2, 3]}},
        {"value": {"falling": ["10 ft", "25 ft"]}},
        {"value": {"falling": ["10", "25"]}},
        {"value": {"falling": [True, 25]}},
        {"value": {"points": [[1, 0]]}},
        {"value": {"points": [[1, 0], [2, 1.01]]}},
        {"value": {"points": [[1, 0], [2, -0.01]]}},
        {"value": {"points": [[1, 0], [2, True]]}},
        {"value": {"points": [[1, 0], [2, float("nan")]]}},
        {"value": {"points": [[float("inf"), 0], [2, 1]]}},
        {"value": {"points": []}},
    ],
)
def test_criteria_that_cannot_be(changes: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        Criterion.model_validate(criterion(**changes))


def test_one_weight_at_least_counts_and_no_layer_twice() -> None:
    with pytest.raises(ValidationError, match="all weights are zero"):
        run(criteria=[criterion(weight=0)])
    with pytest.raises(ValidationError, match="slope_deg is named more than once"):
        run(criteria=[criterion(), criterion(weight=0.5)])
    with pytest.raises(ValidationError):
        run(criteria=[])
    sun = {"layer": "direct_sun_h", "weight": 0, "value": {"rising": [3, 7]}}
    assert len(run(criteria=[criterion(), sun]).criteria or ()) == 2


@pytest.mark.parametrize(
    "sections",
    [
        {"title": ""},
        {"title": "  "},
        {"title": "x" * 81},
        {"climate": "warm"},
        {"mount": {"height": 0}},
        {"mount": {"height": "31 m"}},
        {"mount": {"kind": "wall"}},
        {"grid": {"cell": 0}},
        {"grid": {"margin": -1}},
        {"grid": {"crs": 32616}},
        {"sun": {"lines_per_cell": True}},
        {"sun": {"lines_per_cell": 3}},
        {"sun": {"min_irradiance": 0}},
        {"sun": {"min_altitude": "46 deg"}},
        {"sun": {"linke_turbidity": 0.9}},
        {"season": {"step": 0}},
        {"season": {"step": "2 h"}},
        {"season": {"every_days": 0}},
        {"season": {"every_days": 1.5}},
        {"season": {"year": True}},
        {"sites": {"count": 0}},
        {"sites": {"count": "12"}},
        {"sites": {"count": True}},
        {"sites": {"min_score": 1.1}},
        {"exclusions": {"steeper_than": 0}},
        {"exclusions": {"steeper_than": "30 %"}},
        {"out": "https://example.org/runs"},
        {"out": "/vsimem/runs"},
        {"out": ""},
        {"unknown": 1},
    ],
)
def test_values_that_cannot_be(sections: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        run(**sections)


def test_the_altitude_rule_may_count_from_the_horizon() -> None:
    assert SunRule(rule="altitude", min_altitude=0).min_altitude == 0


@pytest.mark.parametrize("legend", ["NLCD", "nlcd2021", "legend.txt", ""])
def test_a_legend_is_shipped_or_a_yaml_file(legend: str) -> None:
    with pytest.raises(ValidationError):
        RunSettings.model_validate(
            {"inputs": FILES | {"land_cover": {"path": "cover.tif", "legend": legend}}}
        )
