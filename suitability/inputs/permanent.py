"""How lasting water is: tables from attributes to perennial, intermittent and ephemeral."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from importlib.resources import files
from pathlib import Path
from typing import Any, Literal

import geopandas
import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pydantic import BaseModel, ConfigDict, Field
from ruamel.yaml.error import YAMLError

from suitability.config import RunSettings
from suitability.config.days import PartOfYear, days_of
from suitability.config.paths import SHIPPED_PERMANENCE
from suitability.config.sources import Permanence
from suitability.errors import InputError
from suitability.inputs.places import StrPath, place_of
from suitability.inputs.report import InputReport
from suitability.inputs.tables import first_fault, parse_table

# `unstated` is water of which nobody says more: it counts. `no_water` is a pipe or the like.
Lasting = Literal["perennial", "intermittent", "ephemeral", "unstated", "no_water"]

MOST_LISTED = 20


@dataclass(frozen=True)
class PermanenceTable:
    """What the values of an attribute mean.

    Parameters
    ----------
    name : str
        Of the classification.
    lasting : mapping of str to str
        By value, written as text, how lasting the water is.
    """

    name: str
    lasting: Mapping[str, Lasting]


class _CodeText(BaseModel):
    model_config = ConfigDict(extra="forbid")
    name: str
    permanence: Lasting


class _TableText(BaseModel):
    model_config = ConfigDict(extra="forbid")
    name: str
    source: str
    codes: dict[int | str, _CodeText] = Field(min_length=1)


def load_permanence(name_or_path: StrPath, place: str | None = None) -> PermanenceTable:
    """Read a shipped table by its name, or any table from its YAML file.

    Parameters
    ----------
    name_or_path : str or path
        `words`, `nhd`, or the path of a table.
    place : str, optional
        The line of the run file that names it, for errors.

    Raises
    ------
    InputError
        If there is no such table, or it is none.
    """
    named = str(name_or_path)
    path: Any = files(__package__) / "permanence" / f"{named}.yaml"
    if named not in SHIPPED_PERMANENCE:
        path = Path(named)
    try:
        text = _TableText.model_validate(parse_table(path.read_bytes()))
    except (OSError, UnicodeDecodeError, YAMLError, ValueError) as exc:
        msg = f"no table of permanence can be read from {named!r}: {first_fault(exc)}"
        fix = (
            f"name a shipped table ({', '.join(SHIPPED_PERMANENCE)}), or a YAML file with name, "
            "source and codes: {46003: {name: stream, permanence: intermittent}}"
        )
        raise InputError(msg, where=place_of(named, place), fix=fix) from exc
    return PermanenceTable(
        text.name, {_as_text(code): entry.permanence for code, entry in text.codes.items()}
    )


def lasting_of(
    features: geopandas.GeoDataFrame, told: Permanence, table: PermanenceTable, where: str
) -> NDArray[np.object_]:
    """Return how lasting the water of each feature is, (n,) of `Lasting`.

    Parameters
    ----------
    features : geopandas.GeoDataFrame
        Water, with its attributes.
    told : Permanence
        The attribute that tells.
    table : PermanenceTable
        What its values mean.
    where : str
        The source, for errors.

    Raises
    ------
    InputError
        If there is no such attribute, or a value is not in the table: all that are not.
    """
    if told.field not in features.columns:
        fields = ", ".join(str(name) for name in features.columns if name != "geometry")
        msg = f"the water has no field {told.field!r}"
        raise InputError(msg, where=where, fix=f"state one of: {fields or 'none'}")
    values = [_as_text(value) for value in features[told.field]]
    unknown = Counter(value for value in values if value not in table.lasting)
    if unknown:
        counted = sorted(unknown.items())[:MOST_LISTED]
        listed = ", ".join(f"{value or 'nothing'} ({n:,} features)" for value, n in counted)
        more = f" and {len(unknown) - MOST_LISTED} more" if len(unknown) > MOST_LISTED else ""
        msg = f"{table.name} does not know {listed}{more} in {told.field!r}"
        fix = "name as `table` one of your own that does, or leave them out with `where`"
        raise InputError(msg, where=where, fix=fix)
    return np.array([table.lasting[value] for value in values], dtype=object)


def flowing_all_season(settings: RunSettings) -> frozenset[Lasting]:
    """Return what water counts in a run: that which is there through its whole season.

    Bats drink most while they nurse, in the middle of the season; water that is gone by then is
    no reason to put up a box.
    """
    rules, season = settings.water, days_of(settings.season.start, settings.season.end)
    parts: dict[Lasting, PartOfYear | None] = {
        "intermittent": rules.intermittent_flows,
        "ephemeral": rules.ephemeral_flows,
    }
    lesser = {
        kind for kind, part in parts.items() if part and season <= days_of(part.start, part.end)
    }
    return frozenset({"perennial", "unstated", *lesser})


def told_of(
    report: InputReport, lasting: NDArray[np.object_], told: Permanence, settings: RunSettings
) -> InputReport:
    """Return the report of a source with what is said of its permanence."""
    met = Counter(lasting.tolist())
    listed = ", ".join(f"{n:,} {kind.replace('_', ' ')}" for kind, n in met.most_common())
    done = f"how lasting the water is, from {told.field!r}: {listed or 'nothing'}"
    counts = flowing_all_season(settings)
    season = f"{settings.season.start} to {settings.season.end}"
    parts = {
        "intermittent": settings.water.intermittent_flows,
        "ephemeral": settings.water.ephemeral_flows,
    }
    assumed, warnings = [], []
    for kind, part in parts.items():
        flows = "flows after rain only" if part is None else f"flows from {part}"
        if met[kind] and kind in counts:
            assumed.append(f"{kind} water {flows}: it counts in a season of {season}")
        elif met[kind]:
            assumed.append(
                f"{kind} water {flows}: no distance is measured to it in a season of {season}; "
                "boxes keep off its bed and bank all the same"
            )
    if met["unstated"]:
        warnings.append(f"{met['unstated']:,} features of water do not say how lasting: they count")
    return replace(
        report,
        done=(*report.done, done),
        assumed=(*report.assumed, *assumed),
        warnings=(*report.warnings, *warnings),
    )


def _as_text(value: object) -> str:
    """Return a code as a table writes it: 46003 for 46003.0, nothing for what is missing."""
    if value is None or value is pd.NA or (isinstance(value, float) and np.isnan(value)):
        return ""
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value).strip()
