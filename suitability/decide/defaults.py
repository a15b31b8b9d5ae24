"""The criteria that count when a run file names none."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files

from pydantic import TypeAdapter
from ruamel.yaml import YAML

from suitability.config.settings import Climate, Criterion

_CRITERIA = TypeAdapter(tuple[Criterion, ...])


@lru_cache(maxsize=3)
def default_criteria(climate: Climate) -> tuple[Criterion, ...]:
    """Return the default criteria of a climate, each with its basis.

    Parameters
    ----------
    climate : {"cool", "moderate", "hot"}
        How warm the summers are.
    """
    text = files("suitability.decide").joinpath("defaults.yaml").read_text(encoding="utf-8")
    return _CRITERIA.validate_python(YAML(typ="safe", pure=True).load(text)[climate])
