"""The JSON Schema of the run file, by which editors complete keys and check values."""

from __future__ import annotations

from typing import Any

from pydantic.json_schema import GenerateJsonSchema

from suitability.config.settings import RunSettings

_EXAMPLE = {
    "title": "North field",
    "inputs": {
        "elevation": {"path": "dem.tif", "unit": "m"},
        "land_cover": "land_cover.tif",
        "streams": ["streams.gpkg", {"path": "water.gpkg", "layer": "ponds"}],
    },
    "season": {"start": "04-15", "end": "09-15"},
    "criteria": [
        {"layer": "direct_sun_h", "weight": 0.6, "value": {"rising": ["3 h", "7 h"]}},
        {"layer": "water_distance_m", "weight": 0.4, "value": {"falling": ["0.25 mile", "1 mile"]}},
    ],
    "exclusions": {"clearance": "20 ft", "existing_boxes": None},
    "sites": {"count": 12, "spacing": "150 ft"},
}


class _Untitled(GenerateJsonSchema):
    """Without a title for each key, which would only repeat it."""

    def field_title_should_be_set(self, schema: Any) -> bool:  # noqa: ARG002
        return False


def json_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of the run file.

    It accepts what `load_run` accepts; `load_run` also knows which unit fits which layer.
    """
    schema = RunSettings.model_json_schema(schema_generator=_Untitled)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **schema,
        "title": "Run file of bat-box site suitability",
        "description": "Which land, which criteria and which rules; paths are seen from the file.",
        "examples": [_EXAMPLE],
    }
