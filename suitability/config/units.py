"""Quantities as people write them ("20 ft", "0.25 mile", "4 h") to the unit the program counts in.

A bare number is taken in the program's own unit: metres, hours, degrees. A text with a unit of
another kind is an error; so is one with no unit where a number was meant, such as "20".
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import Field, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import core_schema

if TYPE_CHECKING:
    import pint

# A number and a unit, and no arithmetic: pint would evaluate "9**9**9".
_WRITTEN = re.compile(
    r"([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?)\s*"
    r"([A-Za-z_°%]{1,20}(?:\s?/\s?[A-Za-z_]{1,20}(?:\^?[1-3²])?)?)?"
)
_LONGEST = 40  # of a wrong text that is shown back

EXAMPLES = {
    "m": '"20 ft", "6 m" or "0.25 mile"',
    "h": '"4 h" or "30 min"',
    "deg": '"3 deg"',
    "min": '"10 min"',
    "1": '0.4 or "40 %"',
    "W/m²": '"120 W/m^2"',
}
_PINT_UNIT = {
    "m": "meter",
    "h": "hour",
    "deg": "degree",
    "min": "minute",
    "1": "dimensionless",
    "W/m²": "watt / meter ** 2",
}
_KIND = {
    "m": "a length",
    "h": "a time",
    "deg": "an angle",
    "min": "a time",
    "1": "a share",
    "W/m²": "an irradiance",
}


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[Any]:
    import pint  # noqa: PLC0415 - costs more than the rest of a `--help`

    return pint.UnitRegistry(cache_folder=None)


def quantity(value: object, unit: str) -> float:
    """Return a quantity in `unit`.

    Parameters
    ----------
    value : object
        A number in `unit`, or a text with a number and its unit.
    unit : {"m", "h", "deg", "min", "1", "W/m²"}
        The unit wanted.

    Raises
    ------
    ValueError
        If it is neither, is not finite, or is of another kind.
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        msg = f"expected {_KIND[unit]}, such as {EXAMPLES[unit]}"
        raise ValueError(msg)
    number = _from_text(value, unit) if isinstance(value, str) else float(value)
    if not math.isfinite(number):
        msg = f"{value!r} is not a finite number"
        raise ValueError(msg)
    return number


def unit_of(name: str) -> str:
    """Return the unit that a layer's name ends in: `_m`, `_h`, `_deg` or `_share`.

    Raises
    ------
    ValueError
        If the name ends in none of them.
    """
    for ending, unit in (("_m", "m"), ("_h", "h"), ("_deg", "deg"), ("_share", "1")):
        if name.endswith(ending):
            return unit
    msg = f"{name!r} does not end in its unit (_m, _h, _deg or _share)"
    raise ValueError(msg)


def _from_text(text: str, unit: str) -> float:
    import pint  # noqa: PLC0415

    expected = f"expected {_KIND[unit]}, such as {EXAMPLES[unit]}"
    match = _WRITTEN.fullmatch(text.strip())
    if match is None:
        msg = f"{text[:_LONGEST]!r} is not a number with a unit; {expected}"
        raise ValueError(msg)
    number, name = match.groups()
    if name is None and unit != "1":
        msg = f"{text!r} has no unit; {expected}"
        raise ValueError(msg)
    try:
        parsed = _registry().Quantity(float(number), name or "")
        return float(parsed.to(_PINT_UNIT[unit]).magnitude)
    except pint.UndefinedUnitError as exc:
        msg = f"{name!r} is not a unit; {expected}"
        raise ValueError(msg) from exc
    except pint.PintError as exc:
        msg = f"{text!r} is not {_KIND[unit]}; {expected}"
        raise ValueError(msg) from exc


class _In:
    """Annotation of a float that may be written with a unit; the value is in `unit`."""

    def __init__(self, unit: str) -> None:
        self.unit = unit

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_before_validator_function(
            lambda value: quantity(value, self.unit), handler(source)
        )

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        number = handler(schema)
        wording = f"{_KIND[self.unit]}: a number in {self.unit}, or {EXAMPLES[self.unit]}"
        return {"anyOf": [number, {"type": "string"}], "description": wording}


LengthM = Annotated[float, _In("m")]
AngleDeg = Annotated[float, _In("deg")]
MinutesMin = Annotated[float, _In("min")]
IrradianceWm2 = Annotated[float, _In("W/m²")]
PositiveLengthM = Annotated[LengthM, Field(gt=0)]
DistanceM = Annotated[LengthM, Field(ge=0)]
