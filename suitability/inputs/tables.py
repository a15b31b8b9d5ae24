"""Tables of codes that come as YAML files: legends, permanence."""

from __future__ import annotations

from pydantic import ValidationError
from ruamel.yaml import YAML

LARGEST_FILE = 1_000_000  # bytes; a table has a few kilobytes


def parse_table(raw: bytes) -> object:
    """Return the plain values of a YAML file.

    Raises
    ------
    ValueError, ruamel.yaml.error.YAMLError
        If it is too large for a table, not UTF-8, or not YAML.
    """
    if len(raw) > LARGEST_FILE:
        msg = f"{len(raw):,} bytes is no table"
        raise ValueError(msg)
    return YAML(typ="safe", pure=True).load(raw.decode("utf-8-sig"))


def first_fault(exc: Exception) -> str:
    """Return in a line why a table cannot be read."""
    if isinstance(exc, ValidationError):
        fault = exc.errors(include_url=False)[0]
        key = ".".join(str(part) for part in fault["loc"] if part != "[key]")
        return f"{key or 'the file'}: {fault['msg']}"
    if isinstance(exc, FileNotFoundError):
        return "there is no such file"
    return str(exc).splitlines()[0]
