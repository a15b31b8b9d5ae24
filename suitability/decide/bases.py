"""Where the defaults come from that are no criteria: data beside them, and what a run changed."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Any

from pydantic import TypeAdapter
from ruamel.yaml import YAML

from suitability.config.criteria import Evidence
from suitability.config.days import PartOfYear
from suitability.config.section import Section, Text
from suitability.config.settings import RunSettings
from suitability.quantities import Quantities

# 20 ft or 6 m: the same number as practitioners round it, so the same basis.
ROUNDING = 0.02
_ALWAYS = "always."
OWN_BASIS = "stated in the run file"


class _Entry(Section):
    """An entry of the data file."""

    key: Text
    words: Text
    reason: Text | None = None
    unit: str = ""
    evidence: Evidence
    basis: Text
    conflict: Text | None = None


_ENTRIES = TypeAdapter(tuple[_Entry, ...])


@dataclass(frozen=True)
class Basis:
    """What one setting of a run rests on.

    Parameters
    ----------
    key : str
        Of the run file, such as `exclusions.clearance`; `always.…` for a rule that is always on.
    words : str
        What the setting is, for people.
    unit : str
        Of the setting; empty where it has none.
    value, default : float, str or None
        What the run uses, and what it would if the run file were silent; None lifts a rule.
    evidence : str
        How firm the basis is; `own` where the run's setting is another than the default.
    basis : str
        Where the setting comes from; of a changed one, where the default does.
    conflict : str or None
        Where sources disagree.
    reason : str or None
        The exclusion that the setting makes.
    """

    key: str
    words: str
    unit: str
    value: float | str | None
    default: float | str | None
    evidence: str
    basis: str
    conflict: str | None
    reason: str | None

    @property
    def is_always(self) -> bool:
        """Whether no setting lifts it."""
        return self.key.startswith(_ALWAYS)

    def told_in(self, quantities: Quantities) -> Basis:
        """Return it with its setting and what it quotes in the reader's units."""
        tell = quantities.retold
        return replace(
            self,
            words=tell(self.words),
            unit="",
            value=tell(self.shown),
            basis=tell(self.basis),
            conflict=self.conflict and tell(self.conflict),
        )

    @property
    def shown(self) -> str:
        """The setting as people read it."""
        return _shown(self.value, self.unit)


def bases_of(settings: RunSettings) -> tuple[Basis, ...]:
    """Return what a run's settings rest on, those of criteria apart.

    Parameters
    ----------
    settings : RunSettings
        The run file. A number within 2 % of the default counts as the default in another unit.
    """
    return tuple(_basis(entry, settings) for entry in _entries())


def _basis(entry: _Entry, settings: RunSettings) -> Basis:
    value, default = _value(settings, entry.key), _default(entry.key)
    same = _alike(value, default)
    stated = f"{OWN_BASIS}; the default is {_shown(default, entry.unit)}: {entry.basis}"
    return Basis(
        key=entry.key,
        words=entry.words,
        unit=entry.unit,
        value=value,
        default=default,
        evidence=entry.evidence if same else "own",
        basis=entry.basis if same else stated,
        conflict=entry.conflict,
        reason=entry.reason,
    )


def _value(settings: RunSettings, key: str) -> Any:
    """Return the setting of a key; None of a rule that is always on."""
    if key.startswith(_ALWAYS):
        return None
    return _within(settings, key.split("."))


def _within(found: Any, names: list[str]) -> Any:
    """Return a setting as a number or as people write it."""
    for name in names:
        found = getattr(found, name)
    return str(found) if isinstance(found, PartOfYear) else found


def _default(key: str) -> Any:
    """Return the default of a key."""
    if key.startswith(_ALWAYS):
        return None
    section, *names = key.split(".")
    return _within(RunSettings.model_fields[section].default, names)


def _alike(value: Any, default: Any) -> bool:
    if isinstance(value, float | int) and isinstance(default, float | int):
        return math.isclose(value, default, rel_tol=ROUNDING)
    return bool(value == default)


def _shown(value: float | str | None, unit: str) -> str:
    if value is None:
        return "none"
    return f"{value:.4g} {unit}".rstrip() if isinstance(value, float | int) else value


@cache
def _entries() -> tuple[_Entry, ...]:
    text = files("suitability.decide").joinpath("bases.yaml").read_text(encoding="utf-8")
    return _ENTRIES.validate_python(YAML(typ="safe", pure=True).load(text))
