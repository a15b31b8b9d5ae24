"""The run file: YAML to typed, unit-checked settings."""

from suitability.config.load import LoadedRun, load_run
from suitability.config.schema import json_schema
from suitability.config.settings import RunSettings

__all__ = ["LoadedRun", "RunSettings", "json_schema", "load_run"]
