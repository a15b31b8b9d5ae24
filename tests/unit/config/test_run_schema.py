"""The JSON Schema of the run file takes what the loader takes; the shown run file uses it all."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from ruamel.yaml import YAML

from suitability.config import RunSettings, json_schema, load_run
from suitability.config.document import parse_document

CONFIGS = Path(__file__).parents[3] / "configs"
SCHEMA = json_schema()
FILES = {"elevation": "dem.tif", "land_cover": "cover.tif", "streams": "streams.gpkg"}


def accepts(values: Any) -> bool:
    return Draft202012Validator(SCHEMA).is_valid(values)


def shown(name: str = "sample_area.yaml") -> dict[str, Any]:
    text = (CONFIGS / name).read_text(encoding="utf-8")
    return parse_document(text, name).values


def test_the_schema_is_one() -> None:
    Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert SCHEMA["title"]
    for example in SCHEMA["examples"]:
        assert accepts(example)
        RunSettings.model_validate(example)


def test_every_key_is_described() -> None:
    sections = {"the whole": SCHEMA, **SCHEMA["$defs"]}
    bare = [
        f"{name}.{key}"
        for name, section in sections.items()
        for key, rules in section["properties"].items()
        if not rules.get("description")
    ]
    assert bare == []


@pytest.mark.parametrize(
    "values",
    [
        {"inputs": FILES},
        {"inputs": FILES | {"elevation": {"path": "dem.tif", "unit": "m"}}},
        {"inputs": FILES | {"streams": {"path": "s.gpkg", "layer": "lines"}}},
        {"inputs": FILES | {"streams": ["a.gpkg", {"path": "b.gpkg", "where": "x = 1"}]}},
        {
            "inputs": FILES
            | {"boundary": None, "buildings": {"path": "b", "default_height": "9 ft"}}
        },
        {"inputs": FILES, "mount": {"height": "15 ft"}},
        {"inputs": FILES, "mount": {"height": 4.6}},
        {"inputs": FILES, "exclusions": {"clearance": None, "steeper_than": "30 deg"}},
        {"inputs": FILES, "sun": {"min_irradiance": "120 W/m^2", "linke_turbidity": None}},
        {"inputs": FILES, "season": {"start": "04-15", "end": "09-01", "step": "10 min"}},
        {
            "inputs": FILES,
            "criteria": [
                {"layer": "a_h", "weight": 0, "value": {"points": [["3 h", 0], [5, 1]]}},
                {"layer": "b_m", "weight": 1, "value": {"rising": ["1 mi", 5000], "hump": None}},
                {"layer": "c_share", "weight": 1, "value": {"hump": [0, "10 %", "40 %", 1]}},
            ],
        },
        {"inputs": FILES, "criteria": None, "out": None},
    ],
)
def test_short_and_long_forms_pass_both(values: dict[str, Any]) -> None:
    RunSettings.model_validate(values)
    assert accepts(values)


@pytest.mark.parametrize(
    "values",
    [
        {},
        {"inputs": {"elevation": "dem.tif"}},
        {"inputs": FILES, "unknown": 1},
        {"inputs": FILES | {"elevation": 5}},
        {"inputs": FILES | {"elevation": {"unit": "m"}}},
        {"inputs": FILES | {"streams": []}},
        {"inputs": FILES, "mount": {"height": 0}},
        {"inputs": FILES, "mount": {"height": True}},
        {"inputs": FILES, "mount": {"height": "tall"}},
        {"inputs": FILES, "mount": None},
        {"inputs": FILES, "season": {"start": "2025-04-15"}},
        {"inputs": FILES, "season": {"start": "13-01"}},
        {"inputs": FILES, "sites": {"count": 0}},
        {"inputs": FILES, "sites": {"count": 1.5}},
        {"inputs": FILES, "exclusions": {"clearance": -1}},
        {"inputs": FILES, "criteria": []},
        {
            "inputs": FILES,
            "criteria": [{"layer": "a_h", "weight": -1, "value": {"rising": [1, 2]}}],
        },
        {"inputs": FILES, "criteria": [{"layer": "a_h", "weight": 1, "value": {}}]},
        {"inputs": FILES, "criteria": [{"layer": "a_h", "weight": 1, "value": {"rising": [1]}}]},
    ],
)
def test_what_is_refused_is_refused_by_both(values: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="validation error"):
        RunSettings.model_validate(values)
    assert not accepts(values)


SHOWN = ["sample_area", "grouped_criteria"]


@pytest.mark.parametrize("name", SHOWN)
def test_the_shown_run_file_passes_both(name: str) -> None:
    run = load_run(CONFIGS / f"{name}.yaml")
    assert accepts(shown(f"{name}.yaml"))
    assert run.settings.out == CONFIGS.parent / "runs" / name


@pytest.mark.parametrize("name", SHOWN)
def test_the_files_of_the_shown_run_are_there(name: str) -> None:
    inputs = load_run(CONFIGS / f"{name}.yaml").settings.inputs
    single = (inputs.elevation, inputs.land_cover, inputs.canopy_height, inputs.buildings)
    lists = (inputs.streams, inputs.keep_outs or (), inputs.existing_boxes or ())
    sources = [*single, inputs.boundary, *(source for each in lists for source in each)]
    assert [source.path for source in sources if source and not Path(source.path).is_file()] == []


def test_the_shown_run_files_use_every_key() -> None:
    """A new key must be taught in the example: add it to configs/sample_area.yaml.

    What it cannot use beside its other keys stands in another example.
    """
    files = [path.name for path in CONFIGS.glob("*.yaml")]
    used = {key for name in files for key in _keys_used(shown(name), SCHEMA)}
    sections = {"the whole": SCHEMA, **SCHEMA["$defs"]}
    there_are = {(name, key) for name, each in sections.items() for key in each["properties"]}
    assert there_are - used == set()


def _keys_used(value: Any, rules: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield the section and name of every key in a value that the schema knows."""
    name = "the whole" if rules is SCHEMA else rules.get("$ref", "").rpartition("/")[2]
    section = SCHEMA["$defs"].get(name, rules)
    if isinstance(value, dict) and value.keys() <= section.get("properties", {}).keys():
        for key, inner in value.items():
            yield name, key
            yield from _keys_used(inner, section["properties"][key])
    elif isinstance(value, dict) and isinstance(section.get("additionalProperties"), dict):
        for inner in value.values():  # names of the user's choice
            yield from _keys_used(inner, section["additionalProperties"])
    for branch in (*rules.get("anyOf", []), *_alternatives(rules)):
        yield from _keys_used(value, branch)
    if isinstance(value, list) and isinstance(rules.get("items"), dict):
        for inner in value:
            yield from _keys_used(inner, rules["items"])


def _alternatives(rules: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the sections that a value may be; shapes of a curve are no sections."""
    return [each for each in rules.get("oneOf", []) if "$ref" in each]


def test_another_yaml_reader_finds_the_same_values() -> None:
    """The plain values are those that ruamel.yaml's own safe reader makes of the text."""
    text = (CONFIGS / "sample_area.yaml").read_text(encoding="utf-8")
    assert YAML(typ="safe", pure=True).load(text) == shown()
