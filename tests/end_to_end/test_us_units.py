"""`units: us`: whatever people read is in US units, and files for machines are those of metric."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from command import succeeded
from small_land import RUN, write_config, write_land

# A number with a metric unit behind it, or the unit as a heading. The files' own units (heights in
# m, metres of the CRS) and names of layers are no quantities.
METRIC = re.compile(r"\d ?(?:m|km|mm|cm|ha|m²|°?C|K)(?![\w²/])|\b(?:water|edge|apart) m\b|\bha\b")
FOR_PEOPLE = {"run.json", "figure.png", "sites.gpx", "sites.kml", "map.html"}
WITH_RULES = RUN + (
    "mount: {height: 5 ft}\nexclusions: {rules: [{layer: water_distance_m, above: 300 m}]}\n"
)


@pytest.fixture(scope="module")
def runs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Return the folders of one run, told in either units."""
    folder = tmp_path_factory.mktemp("land")
    write_land(folder)
    found = {}
    for units in ("metric", "us"):
        config = write_config(folder, WITH_RULES + f"units: {units}\n")
        said = [succeeded("screen", config, "--out", folder / units)]
        said.append(succeeded("check", config))
        said.append(succeeded("explain", folder / units, "--site", 1))
        (folder / f"{units}.txt").write_text("\n".join(said), encoding="utf-8")
        found[units] = folder / units
    return found


def test_what_is_printed(runs: dict[str, Path]) -> None:
    for units, folder in runs.items():
        text = (folder.parent / f"{units}.txt").read_text(encoding="utf-8")
        left = [line for line in text.splitlines() if METRIC.search(line)]
        assert (left == []) == (units == "us"), left


def test_what_the_record_tells(runs: dict[str, Path]) -> None:
    record = json.loads((runs["us"] / "run.json").read_text(encoding="utf-8"))
    assert record["settings"]["units"] == "us"
    assert record["settings"]["mount"]["height"] == pytest.approx(1.524)
    told = [
        *record["warnings"],
        *record["cautions"],
        json.dumps(record["boxes"]["sites"][0]["points"], ensure_ascii=False),
    ]
    assert [text for text in told if METRIC.search(text)] == []
    assert any("5 ft above the ground is less than 10 ft" in text for text in told)


def test_files_for_machines_are_the_same(runs: dict[str, Path]) -> None:
    metric, us = (
        {path.relative_to(folder) for path in folder.rglob("*") if path.is_file()}
        for folder in runs.values()
    )
    assert metric == us
    compared = [
        path for path in metric if path.name not in FOR_PEOPLE and ".store" not in path.parts
    ]
    assert {path.suffix for path in compared} >= {".tif", ".csv", ".gpkg", ".geojson"}
    for path in compared:
        first, second = ((folder / path).read_bytes() for folder in runs.values())
        assert first == second, path


def test_what_is_told_of_a_comparison(runs: dict[str, Path]) -> None:
    """The later run's units count; that units differ is no difference between runs."""
    told = {
        units: succeeded(
            "compare", runs["us"], runs[units], "--out", runs["us"].parent / units / "c"
        )
        for units in ("us", "metric")
    }
    assert "No setting and no input differs." in told["metric"]
    assert "apart ft" in told["us"]
    assert "apart m" in told["metric"]
