"""The run file: YAML to typed, unit-checked settings."""

from suitability.config.load import LoadedRun, json_schema, load_run
from suitability.config.settings import RunSettings

__all__ = ["LoadedRun", "RunSettings", "json_schema", "load_run"]
