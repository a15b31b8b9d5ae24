"""The words in which the faults of a run file are told, with their lines."""

from __future__ import annotations

from pathlib import Path

import pytest

from suitability.config import load_run
from suitability.config.faults import MOST_TOLD
from suitability.errors import ConfigError

INPUTS = "inputs: {elevation: dem.tif, land_cover: cover.tif, streams: streams.gpkg}\n"


def error_of(folder: Path, text: str) -> ConfigError:
    path = folder / "preserve.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ConfigError) as caught:
        load_run(path)
    return caught.value


def criterion(rest: str) -> str:
    return f"criteria:\n- layer: direct_sun_h\n  weight: 1\n  value: {rest}\n"


@pytest.mark.parametrize(
    ("text", "where", "what", "fix"),
    [
        (
            "seasn: {start: 04-01}",
            "line 2: seasn",
            "'seasn' is not a key of the run file",
            "write season instead; the keys are title, units, inputs, grid, mount, season, sun, "
            "water, climate, combine, weighing, criteria, foraging, layers, exclusions, box, "
            "sites, out",
        ),
        (
            "mount: {hight: 4 m}",
            "line 2: mount.hight",
            "'hight' is not a key of mount",
            "write height instead; the keys are kind, height",
        ),
        (
            "mount: {colour: black}",
            "line 2: mount.colour",
            "'colour' is not a key of mount",
            "delete it; the keys are kind, height",
        ),
        (
            "season:\n  height: 4 m",
            "line 3: season.height",
            "'height' is not a key of season",
            "move it under mount; the keys are start, end, step, every_days, year",
        ),
        (
            "mount: {climate: hot}",
            "line 2: mount.climate",
            "'climate' is not",
            "to the left margin",
        ),
        (
            "grid: {existing_boxes: a.gpkg}",
            "line 2: grid.existing_boxes",
            "'existing_boxes' is not a key of grid",
            "move it under inputs or under exclusions",
        ),
        ('"": 1', "line 2: ''", "'' is not a key of the run file", "delete it"),
        ("climate: warm", "line 2: climate", "'warm' is not", "write one of cool, moderate, hot"),
        (
            "sun: {rule: iradiance}",
            "line 2: sun.rule",
            "'iradiance' is not",
            "write one of irradiance, altitude (nearest: irradiance)",
        ),
        ("mount: {kind: tree}", "line 2: mount.kind", "'tree' is not a choice", "pole, wall, both"),
        (
            "mount: {height: 4 h}",
            "line 2: mount.height",
            "'4 h' is not a length",
            'write a length, such as "20 ft", "6 m" or "0.25 mile", or a bare number in m',
        ),
        (
            "mount:\n  height: 200 ft",
            "line 3: mount.height",
            "'200 ft' (60.96 m) is out of range",
            "give a length of more than 0 m and at most 30 m",
        ),
        ("mount: {height: .nan}", "line 2: mount.height", "nan is not a finite", "write a length"),
        ("mount: {height: yes}", "line 2: mount.height", "'yes' is not a number", "write a len"),
        ("mount: {height: true}", "line 2: mount.height", "true is not a length", "write a len"),
        (
            "mount:",
            "line 2: mount",
            "mount is empty",
            "indent its keys under it (kind, height, walls), or delete the line to use the "
            "defaults",
        ),
        (
            "mount: 'height:4 m'",
            "line 2: mount",
            "'height:4 m' is not what mount needs",
            "indent keys under it (kind, height, walls); leave a blank after the colon",
        ),
        ("mount: [4 m]", "line 2: mount", "a list is not what mount needs", "indent keys"),
        ("title: 2025", "line 2: title", "2025 is not a text", 'in quotes, such as "North field"'),
        ("title:", "line 2: title", "title is empty", "write title: North field, or delete"),
        ("title: ''", "line 2: title", "title is empty", "write title: North field, or delete"),
        (f"title: {'x' * 90}", "line 2: title", "title has 90 characters", "shorten it to 80"),
        ("grid: {crs: 32616}", "line 2: grid.crs", "32616 is not a text", '"EPSG:32616"'),
        ("season: {start: 2025-04-15}", "line 2: season.start", "names a year", "write 04-15"),
        ("season: {start: 415}", "line 2: season.start", "415 is not a text", '"04-01"'),
        ("season: {every_days: 2.5}", "line 2: season.every_days", "2.5 is not a whole", "whole"),
        ("season: {every_days: 0}", "line 2: season.every_days", "0 is too small", "1 or more"),
        ("season: {year: 3000}", "line 2: season.year", "3000 is too large", "2100 or less"),
        ("season: {year: '2025'}", "line 2: season.year", "'2025' is not a whole number", "whole"),
        ("sites: {count: 1_000}", "line 2: sites.count", "'1_000' is not a whole number", "whole"),
        ("sites: {min_score: .inf}", "line 2: sites.min_score", "inf is not a finite", "number"),
        ("sites: {min_score: '0.5'}", "line 2: sites.min_score", "'0.5' is not a number", "bare"),
        ("sun: {lines_per_cell: 3}", "line 2: sun.lines_per_cell", "3 is not", "one of 1, 2"),
        ("criteria: []", "line 2: criteria", "the list is empty", "give 1 or more"),
        ("criteria: {a: 1}", "line 2: criteria", "a section of keys stands", 'entry with "- "'),
        (
            "criteria:\n- 5",
            "line 3: criteria[0]",
            "5 is not what criteria[0] needs",
            "layer, weight",
        ),
        (
            "criteria:\n- layer: slope_deg\n  value: {falling: [1, 2]}",
            "line 3: criteria[0]",
            "weight is missing",
            "add weight: 0.35",
        ),
        (
            "criteria:\n- layer: slope_deg\n  weight: -1\n  value: {falling: [1, 2]}",
            "line 4: criteria[0].weight",
            "-1 is too small",
            "write 0 or more",
        ),
        (criterion("{}"), "line 5: criteria[0].value", "the curve has no shape", "one of points"),
        (
            criterion("{rising: [1, 2], falling: [1, 2]}"),
            "line 5: criteria[0].value",
            "rising and falling are given",
            "give one of points, rising, falling, hump",
        ),
        (
            criterion("{rising: [1]}"),
            "line 5: criteria[0].value.rising",
            "1 entries are too few",
            'write rising: ["3 h", "7 h"]',
        ),
        (
            criterion("{hump: [1, 2, 3, 4, 5]}"),
            "line 5: criteria[0].value.hump",
            "5 entries are too many",
            'write hump: ["20 ft"',
        ),
        (
            criterion("\n    points:\n    - [3 h, 0]\n    - [5 ft, 1]"),
            "line 8: criteria[0].value.points[1][0]",
            "'5 ft' is not a time",
            'write a time, such as "4 h" or "30 min", or a bare number in h',
        ),
        (
            criterion("{falling: [7 h, 30 min]}"),
            "line 5: criteria[0].value.falling[1]",
            "0.5 h follows 7 h; measures must rise",
            "order them",
        ),
        (
            criterion("{points: [[3 h, 0], [5 h, 2]]}"),
            "line 5: criteria[0].value.points[1][1]",
            "2 is too large",
            "write 1 or less",
        ),
        (
            criterion("{points: [[3 h, 0], [5 h]]}"),
            "line 5: criteria[0].value.points[1]",
            "1 entries are too few",
            "write points: [[",
        ),
        (
            criterion("{points: [[3 h, 0], 5]}"),
            "line 5: criteria[0].value.points[1]",
            "5 stands where a list belongs",
            "write points: [[",
        ),
        (
            criterion("{rising: [null, 3]}"),
            "line 5: criteria[0].value.rising[0]",
            "nothing (null) is not a measure",
            'such as "3 h"',
        ),
        ("exclusions: {clearance: '20'}", "line 2: exclusions.clearance", "no unit", "length"),
        ("out: https://example.org", "line 2: out", "not a folder of this machine", "../runs"),
        ("out: 5", "line 2: out", "5 is not a text", "../runs/north_field"),
        ('out: "a\\nb"', "line 2: out", "a line break", "on one line"),
    ],
)
def test_one_fault(tmp_path: Path, text: str, where: str, what: str, fix: str) -> None:
    error = error_of(tmp_path, INPUTS + text)
    assert error.where == f"preserve.yaml, {where}"
    assert what in error.what
    assert fix in str(error.fix)


@pytest.mark.parametrize(
    ("text", "where", "what", "fix"),
    [
        ("title: x", "line 1", "inputs is missing", "elevation, land_cover"),
        ("title: x\ninputs:", "line 2: inputs", "inputs is empty", "indent its keys under it"),
        (
            "inputs:\n  elevation: dem.tif\n  streams: a.gpkg",
            "line 1: inputs",
            "land_cover is missing",
            "add land_cover: land_cover.tif",
        ),
        (
            "inputs:\n  elevaton: dem.tif\n  land_cover: b.tif\n  streams: a.gpkg",
            "line 2: inputs.elevaton",
            "'elevaton' is not a key of inputs",
            "write elevation instead",
        ),
        (
            "inputs:\n  elevation:\n    unit: m\n  land_cover: b.tif\n  streams: a.gpkg",
            "line 2: inputs.elevation",
            "path is missing",
            "add path: dem.tif",
        ),
        (
            "inputs: {elevation: 12, land_cover: b.tif, streams: a.gpkg}",
            "line 1: inputs.elevation",
            "12 is not what elevation needs",
            "write the file's path, or indent keys under it (path, band, unit)",
        ),
        (
            "inputs:\n  elevation: a\n  land_cover: b\n  streams:\n    path: c\n    lyer: d",
            "line 6: inputs.streams.lyer",
            "'lyer' is not a key of inputs.streams",
            "write layer instead",
        ),
        (
            "inputs:\n  elevation: a\n  land_cover: {path: b, legend: NLCD}\n  streams: c",
            "line 3: inputs.land_cover.legend",
            "'NLCD' is not the name of a legend",
            "write nlcd or worldcover",
        ),
        (
            "inputs:\n  elevation: a\n  land_cover: {path: b, legend: .inf}\n  streams: c",
            "line 3: inputs.land_cover.legend",
            "inf is not a text",
            'write a text in quotes, such as "nlcd"',
        ),
        (
            "inputs:\n  elevation: a\n  land_cover: {path: }\n  streams: c",
            "line 3: inputs.land_cover.path",
            "path is empty",
            "write path: dem.tif",
        ),
        (
            "inputs:\n  elevation: {path: a, unit: feet}\n  land_cover: b\n  streams: c",
            "line 2: inputs.elevation.unit",
            "'feet' is not a choice here",
            "write one of m, ft, us_survey_ft (nearest: ft)",
        ),
        (
            "inputs: {elevation: a, land_cover: b, streams: []}",
            "line 1: inputs.streams",
            "the list is empty",
            "write streams: streams.gpkg",
        ),
    ],
)
def test_one_fault_of_the_inputs(
    tmp_path: Path, text: str, where: str, what: str, fix: str
) -> None:
    error = error_of(tmp_path, text)
    assert error.where == f"preserve.yaml, {where}"
    assert what in error.what
    assert fix in str(error.fix)


def test_all_faults_are_told_at_once_in_the_order_of_the_lines(tmp_path: Path) -> None:
    error = error_of(
        tmp_path,
        "sites: {count: 0, spacing: -5}\n"
        "inputs:\n"
        "  elevaton: dem.tif\n"
        "  land_cover: cover.tif\n"
        "climate: warm\n",
    )
    assert str(error) == (
        "preserve.yaml has 4 faults:\n"
        "- line 1: sites.count: 0 is too small\n"
        "    fix: write 1 or more\n"
        "- line 1: sites.spacing: -5 m is out of range\n"
        "    fix: give a length of at least 0 m\n"
        "- line 3: inputs.elevaton: 'elevaton' is not a key of inputs\n"
        "    fix: write elevation instead; the keys are elevation, land_cover, streams, "
        "canopy_height, buildings, boundary, keep_outs, keep_clear, existing_boxes, "
        "wires, weather\n"
        "- line 5: climate: 'warm' is not a choice here\n"
        "    fix: write one of cool, moderate, hot"
    )


def test_a_faulty_entry_does_not_make_its_list_too_short(tmp_path: Path) -> None:
    error = error_of(tmp_path, INPUTS + criterion("{points: [[3 h, 0], [true, 1]]}"))
    assert "too few" not in str(error)
    assert error.where == "preserve.yaml, line 5: criteria[0].value.points[1][0]"


def test_very_many_faults_are_cut(tmp_path: Path) -> None:
    text = INPUTS + "".join(f"key{n}: 1\n" for n in range(MOST_TOLD + 7))
    error = error_of(tmp_path, text)
    assert "and 7 more" in str(error)
    assert str(error).count("fix:") == MOST_TOLD


def test_an_endless_or_unprintable_key_is_tamed(tmp_path: Path) -> None:
    error = error_of(tmp_path, INPUTS + "? " + "k" * 5000 + '\n: 1\n"\\e[31m": 1\n')
    assert len(str(error)) < 1000
    assert "\x1b" not in str(error)
