"""What two runs were asked differently, by their records."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from suitability.config import json_schema
from suitability.decide.compared import changes, in_words

# Of the settings these change nothing that is found; criteria are compared as they were used.
_NOT_COMPARED = ("title", "units", "out", "criteria")
# What the record tells beyond the run file.
_ALSO = {
    "weight": "weight as a share of all",
    "combined_by": "how values are put together",
    "come": "where the weights come from",
    "crs": "CRS of the grid",
    "cell_m": "width of a cell [m]",
    "bounds_m": "west, south, east, north [m]",
}


@dataclass(frozen=True)
class Asked:
    """A setting that differs, as people read it: its key, what it means, what it was and is."""

    key: str
    meaning: str
    old: str
    new: str


def setting_changes(old: dict[str, Any], new: dict[str, Any]) -> tuple[Asked, ...]:
    """Return what two runs were asked differently.

    Parameters
    ----------
    old, new : dict
        Their records.
    """
    found, schema = changes(_asked(old), _asked(new)), json_schema()
    told = []
    for change in found:
        meaning, unit = _meaning(change.key, schema)
        was, is_now = (
            f"{in_words(value)} {unit}".rstrip() if isinstance(value, float) else in_words(value)
            for value in (change.old, change.new)
        )
        told.append(Asked(change.key, meaning, was, is_now))
    return tuple(told)


def _meaning(key: str, schema: dict[str, Any]) -> tuple[str, str]:
    """Return what the run file's schema says of a key, and the unit of its numbers."""
    rules = schema
    if key.startswith("criteria[") and key.endswith("].weight"):
        return _ALSO["weight"], ""
    for name in re.sub(r"\[[^]]*\]", "", key).split("."):
        inner = [section[name] for section in _sections(rules, schema) if name in section]
        if not inner:
            return _ALSO.get(name, ""), ""
        rules = inner[0]
    numbers = [each.get("description", "") for each in rules.get("anyOf", [])]
    units = [text.rpartition(" in ")[2] for text in numbers if re.match(r"an? \w+ in ", text)]
    return rules.get("description", ""), units[0] if units else ""


def _sections(rules: dict[str, Any], schema: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the properties of every section that a value may be or hold."""
    name = rules.get("$ref", "").rpartition("/")[2]
    if name:
        rules = schema["$defs"][name]
    found = [rules["properties"]] if "properties" in rules else []
    inner = [*rules.get("anyOf", []), *rules.get("oneOf", [])]
    inner += [rules["items"]] if isinstance(rules.get("items"), dict) else []
    return found + [section for each in inner for section in _sections(each, schema)]


def _asked(record: dict[str, Any]) -> dict[str, Any]:
    """Return what a run was asked, inputs known by their content."""
    sums = record.get("input_sha256", {})
    settings = {k: v for k, v in record["settings"].items() if k not in _NOT_COMPARED}
    settings["inputs"] = _by_content(settings.get("inputs"), sums)
    # Curves in numbers say what the value functions say; of weights only the shares matter.
    criteria = [
        {
            **{
                key: value for key, value in entry.items() if key not in ("curve", "knots", "share")
            },
            "weight": f"{entry['share']:.1%}",
        }
        for entry in record["criteria"]
    ]
    grid = {key: record["grid"][key] for key in ("crs", "cell_m", "bounds_m")}
    weights = [
        {key: entry[key] for key in ("of", "combined_by", "come") if key in entry}
        for entry in record.get("weights", [])
    ]
    return {**settings, "criteria": criteria, "combination": weights, "the land": grid}


def _by_content(value: Any, sums: dict[str, str | None]) -> Any:
    """Return inputs with each path replaced by the file's name and the start of its checksum."""
    if isinstance(value, dict):
        return {key: _by_content(inner, sums) for key, inner in value.items()}
    if isinstance(value, list):
        return [_by_content(inner, sums) for inner in value]
    if isinstance(value, str) and value in sums:
        total = sums[value]
        return value if total is None else f"{Path(value).name} (SHA-256 {total[:12]}…)"
    return value
