"""Run files made from the JSON Schema alone: each loads, or is refused with line and key."""

from __future__ import annotations

import json
import re
import tempfile
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from suitability.config import json_schema, load_run
from suitability.errors import ConfigError

SCHEMA = json_schema()
# What pydantic or Python would say, and a land manager should not read.
JARGON = re.compile(r"pydantic|Input should|validation|dict\b|tuple|NoneType|instance of|Traceback")
WORDS = ["20 ft", "6 m", "4 h", "30 min", "3 deg", "30 %", "04-15", "09-30", "x.tif", "pole",
         "direct_sun_h", "water_distance_m", "slope_deg", "nlcd", "", "x" * 300, "森", "0.25 mile",
         "2 ha", "1 km", "85 degF", "30 degC", "40 dB"]  # fmt: skip


def values_of(part: dict[str, Any], depth: int = 0) -> st.SearchStrategy[Any]:  # noqa: PLR0911
    """Return a strategy for what a part of the schema allows, and now and then for more."""
    if "$ref" in part:
        name = part["$ref"].rpartition("/")[2]
        return st.deferred(lambda: values_of(SCHEMA["$defs"][name], depth + 1))
    if "const" in part:
        return st.just(part["const"])
    if "enum" in part:
        return st.sampled_from(part["enum"])
    choices = part.get("anyOf") or part.get("oneOf")
    if choices:
        if depth > 6:  # groups hold groups
            choices = [one for one in choices if "$ref" not in one] or choices[:1]
        return st.one_of([values_of(one, depth + 1) for one in choices])
    match part.get("type"):
        case "object":
            return objects_of(part, depth)
        case "array":
            return lists_of(part, depth)
        case "string":
            told = [each for each in part.get("examples", []) if isinstance(each, str)]
            found = st.sampled_from(told or WORDS) | st.sampled_from(WORDS)
            return found | st.from_regex(part["pattern"]) if "pattern" in part else found
        case "integer":
            low = part.get("minimum", part.get("exclusiveMinimum", -3))
            return st.integers(int(low), int(part.get("maximum", low + 40)))
        case "number":
            low = part.get("minimum", part.get("exclusiveMinimum", -3))
            high = part.get("maximum", part.get("exclusiveMaximum", 1e4))
            return st.floats(low, high) | st.integers(int(low), int(high))
        case "boolean":
            return st.booleans()
        case "null":
            return st.none()
    return st.sampled_from([*WORDS, 1, None, [], {}])


def objects_of(part: dict[str, Any], depth: int) -> st.SearchStrategy[Any]:
    told = part.get("properties", {})
    if not told:
        inner = part.get("additionalProperties", {})
        names = st.sampled_from(["road_distance_m", "noise_db", "a b", "three chambers"])
        inner = inner if isinstance(inner, dict) else {}
        return st.dictionaries(names, values_of(inner, depth + 1), max_size=2)
    found = {key: values_of(value, depth + 1) for key, value in told.items()}
    needed = {key: found.pop(key) for key in part.get("required", [])}
    return st.fixed_dictionaries(needed, optional=found if depth < 5 else {})


def lists_of(part: dict[str, Any], depth: int) -> st.SearchStrategy[Any]:
    if "prefixItems" in part:
        return st.tuples(*(values_of(one, depth + 1) for one in part["prefixItems"])).map(list)
    least = part.get("minItems", 0)
    most = min(part.get("maxItems", least + 3), least + 3)
    return st.lists(values_of(part.get("items", {}), depth + 1), min_size=least, max_size=most)


@settings(max_examples=80, deadline=None, suppress_health_check=list(HealthCheck), database=None,
          derandomize=True)  # fmt: skip
@given(values_of(SCHEMA))
def test_what_the_schema_allows_loads_or_is_told_its_line_and_key(values: dict[str, Any]) -> None:
    loads_or_is_told(values)


def loads_or_is_told(values: dict[str, Any]) -> bool:
    """Return whether a run file of these values loads; if not, its error must be a good one."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "run.yaml"
        path.write_text(json.dumps(values, indent=1), encoding="utf-8")
        try:
            found = load_run(path)
        except ConfigError as error:
            said = str(error)
            assert not JARGON.search(said), said
            assert re.search(r"line \d+", said), said
            keys = [word for word in re.findall(r"line \d+: ([a-z_]+)", said) if word]
            assert not keys or keys[0] in SCHEMA["properties"], said
            assert "fix:" in said
            return False
        assert found.settings.title
        return True
