"""`units: us`: whatever people read is in US units, and files for machines are those of metric."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest
from command import succeeded
from small_land import RUN, write_config, write_land

from suitability.finished import FinishedRun
from suitability.mapping import layers_of, map_of
from suitability.methods import methods_of
from suitability.quantities import Units
from suitability.robustness import FOLDER, Asked, robustness
from suitability.robustness.finished import read_finished
from suitability.robustness.pictures import draw_pictures
from suitability.sheets.books import SheetMaker

# A number with a metric unit behind it, or the unit as a heading. The files' own units (heights in
# m, metres of the CRS) and names of layers are no quantities.
METRIC = re.compile(r"\d ?(?:m|km|mm|cm|ha|m²|°?C|K)(?![\w²/])|\b(?:water|edge|apart) m\b|\bha\b")
FOR_PEOPLE = {"run.json", "figure.png", "sites.gpx", "sites.kml", "map.html"}
# Of a site's page: what is no words, and the run's own day.
DRAWN = {"map", "near", "wide", "sky", "foot"}
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


@pytest.mark.parametrize("told_in", ["metric", "us"])
def test_a_run_is_told_in_other_units_as_if_it_had_been_run_in_them(
    runs: dict[str, Path], told_in: Units
) -> None:
    other = "metric" if told_in == "us" else "us"
    own, told = FinishedRun.of(runs[told_in]), FinishedRun.of(runs[other], told_in)
    assert told.advice(1) == own.advice(1) != FinishedRun.of(runs[other]).advice(1)
    assert told.warnings == own.warnings != FinishedRun.of(runs[other]).warnings
    assert told.cautions(1) == own.cautions(1)
    assert methods_of(told) == methods_of(own)
    for drawn in (map_of, layers_of):
        assert drawn(told).caption == drawn(own).caption
        assert drawn(told).caution == drawn(own).caution
    for reader in ("field", "landowner"):
        pages = [SheetMaker(run, reader, "letter").content(1) for run in (told, own)]
        first, second = (
            {key: value for key, value in vars(page).items() if key not in DRAWN} for page in pages
        )
        assert first == second
        assert (METRIC.search(str(first)) is None) == (told_in == "us")


@pytest.mark.parametrize(
    "command",
    [("explain", "--site", 1), ("summary",), ("methods",), ("compare",)],
    ids=lambda words: words[0],
)
def test_commands_tell_what_they_print_in_the_units_asked_for(
    runs: dict[str, Path], tmp_path: Path, command: tuple[object, ...]
) -> None:
    name, *options = command
    if name == "compare":
        options = [runs["us"], "--out", tmp_path]
    where = {"summary": ["--to", tmp_path / "table.csv"]}.get(str(name), [])
    said = succeeded(name, runs["metric"], *options, *where, "--units", "us")
    folder = str(runs["metric"].parent)
    assert [line for line in said.splitlines() if METRIC.search(line.replace(folder, ""))] == []


def test_pictures_of_robustness_are_in_the_units_asked_for(runs: dict[str, Path]) -> None:
    asked = Asked(draws=100, places=10, map_draws=20)
    found = robustness(runs["metric"], asked, units="us")
    drawn = [(runs["metric"] / FOLDER / "swings.png").read_bytes()]
    draw_pictures(runs["metric"] / FOLDER, replace(found, run=read_finished(runs["us"])))
    drawn.append((runs["metric"] / FOLDER / "swings.png").read_bytes())
    draw_pictures(runs["metric"] / FOLDER, replace(found, run=read_finished(runs["metric"])))
    drawn.append((runs["metric"] / FOLDER / "swings.png").read_bytes())
    assert drawn[0] == drawn[1] != drawn[2]


def test_the_map_names_files_and_not_what_there_is_none_of(runs: dict[str, Path]) -> None:
    run = FinishedRun.of(runs["us"])
    paths = [report["path"] for report in run.record["inputs"]]
    assert any(path.startswith("none given") for path in paths)
    files = {Path(path).name for path in paths if not path.startswith("none given")}
    assert map_of(run).sources == f"Data: {', '.join(sorted(files))}."
