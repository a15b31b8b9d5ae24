"""Quantities as people write them ("20 ft", "0.25 mile", "4 h") to the unit the program counts in.

A bare number is taken in the program's own unit: metres, hours, degrees. A text with a unit of
another kind is an error; so is one with no unit where a number was meant, such as "20".
A foot is the international foot, a mile the international mile; the US survey foot is written
`us_survey_ft`.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import core_schema

from suitability.config.unfit import UnfitValueError, shown
from suitability.config.unit_definitions import DEFINITIONS

if TYPE_CHECKING:
    import pint

# A number and a unit, and no arithmetic: pint would evaluate "9**9**9".
_NUMBER = r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?"
_NAME = r"[A-Za-z_°%]{1,20}"
_POWER = r"(?:\^?[1-3]|²)?"
_UNIT = rf"(?:{_NAME}{_POWER}(?:[ ]?/[ ]?{_NAME}{_POWER})?|/[ ]?{_NAME}{_POWER})"
_WRITTEN = re.compile(rf"({_NUMBER})[ ]*({_UNIT})?")

EXAMPLES = {
    "m": '"20 ft", "6 m" or "0.25 mile"',
    "h": '"4 h" or "30 min"',
    "deg": '"3 deg"',
    "min": '"10 min"',
    "1": '0.4 or "40 %"',
    "/km²": '"3 /km^2"',
    "°C": '"20 °C"',
    "dB": '"55 dB"',
    "W/m²": '"120 W/m^2"',
    "W": '"0.05 W"',
    "m²": '"50 ha", "120 acre" or "0.5 km^2"',
}
_PINT_UNIT = {
    "m": "meter",
    "h": "hour",
    "deg": "degree",
    "min": "minute",
    "1": "dimensionless",
    "m²": "meter ** 2",
    "/km²": "1 / kilometer ** 2",
    "W/m²": "watt / meter ** 2",
    "W": "watt",
}
_KIND = {
    "m": "a length",
    "h": "a time",
    "deg": "an angle",
    "min": "a time",
    "1": "a share",
    "m²": "an area",
    "/km²": "a density",
    "°C": "a temperature",
    "dB": "a level",
    "W/m²": "an irradiance",
    "W": "a power",
}

# Units without a factor to others: a degree has another zero, a decibel is a logarithm.
_ALONE = {"°C": {"°C", "C", "degC", "celsius"}, "dB": {"dB", "decibel"}}
# What a layer's name may end in.
_ENDINGS = {
    "_per_km2": "/km²",
    "_m2": "m²",
    "_m": "m",
    "_h": "h",
    "_deg": "deg",
    "_c": "°C",
    "_db": "dB",
    "_share": "1",
    "_index": "1",
}


def quantity(value: object, unit: str) -> float:
    """Return a quantity in `unit`.

    Parameters
    ----------
    value : object
        A number in `unit`, or a text with a number and its unit.
    unit : {"m", "m²", "h", "deg", "min", "1", "/km²", "°C", "dB", "W/m²", "W"}
        The unit wanted.

    Raises
    ------
    UnfitValueError
        If it is neither, is not finite, or is of another kind. (A ValueError.)
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        what = f"{shown(value)} is not {_KIND[unit]}"
        raise UnfitValueError(what, _remedy(unit))
    try:
        number = _from_text(value, unit) if isinstance(value, str) else float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        what = f"{shown(value)} is not a finite number"
        raise UnfitValueError(what, _remedy(unit))
    return number


def unit_of(name: str) -> str:
    """Return the unit that a layer's name ends in, such as `_m`, `_h`, `_deg` or `_share`.

    Raises
    ------
    UnfitValueError
        If the name ends in none of them. (A ValueError.)
    """
    for ending, unit in _ENDINGS.items():
        if name.endswith(ending):
            return unit
    what = f"{shown(name)} is not the name of a layer"
    fix = f"write a name that ends in its unit ({', '.join(_ENDINGS)}), such as direct_sun_h"
    raise UnfitValueError(what, fix)


def stem_of(name: str) -> str:
    """Return a layer's name without the unit that it ends in."""
    return next(name.removesuffix(end) for end in _ENDINGS if name.endswith(end))


def shown_unit(unit: str) -> str:
    """Return a unit as people read it behind a number: nothing for a share."""
    return "" if unit == "1" else unit


def _remedy(unit: str) -> str:
    bare = "" if unit == "1" else f", or a bare number in {unit}"
    return f"write {_KIND[unit]}, such as {EXAMPLES[unit]}{bare}"


def _from_text(text: str, unit: str) -> float:
    match = _WRITTEN.fullmatch(text.strip())
    if match is None:
        what = f"{shown(text)} is not a number with a unit"
        hint = "; no fractions, no commas" if re.search(r"\d[,/]\d", text) else ""
        raise UnfitValueError(what, _remedy(unit) + hint)
    number, name = match.groups()
    if name is None and unit != "1":
        what = f"{shown(text)} has no unit"
        raise UnfitValueError(what, _remedy(unit))
    factor = _factor(name or "", unit)
    if factor is None:
        raise UnfitValueError(*_wrong_unit(text, name, unit))
    return float(Fraction(number) * factor)


@lru_cache(maxsize=256)
def _factor(name: str, unit: str) -> Fraction | None:
    """Return how many of `unit` one of the named unit is; None if they differ in kind.

    Base units are compared, not dimensions: an angle and a share have the same dimension (none),
    yet a slope of "30 %" is not 0.3 rad. Capital letters are forgiven ("20 FT") where the name as
    written does not fit.
    """
    if unit in _ALONE:
        return Fraction(1) if name in _ALONE[unit] else None
    import pint  # noqa: PLC0415 - costs more than the rest of a `--help`

    registry = _registry()
    wanted = registry.Quantity(Fraction(1), _PINT_UNIT[unit]).to_base_units()
    with_power = re.sub(r"(?<=[A-Za-z])([1-3])(?=$|[ /])", r"^\1", name)
    with_power = f"1{with_power}" if with_power.startswith("/") else with_power
    for spelled in (with_power, with_power.lower()):
        try:
            one = registry.Quantity(Fraction(1), spelled).to_base_units()
        except (pint.PintError, TypeError, ValueError):  # a logarithmic unit knows no fractions
            continue
        if one.units == wanted.units:
            return Fraction(one.magnitude) / Fraction(wanted.magnitude)
    return None


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[Any]:
    import pint  # noqa: PLC0415

    # Fractions keep the definitions exact: in floats a foot is 0.30479999999999996 m.
    return pint.UnitRegistry(DEFINITIONS.splitlines(), cache_folder=None, non_int_type=Fraction)


def _wrong_unit(text: str, name: str, unit: str) -> tuple[str, str]:
    if unit == "deg" and name in {"%", "percent"}:
        percent = float(_WRITTEN.fullmatch(text.strip())[1])  # type: ignore[index]
        degrees = math.degrees(math.atan(percent / 100))
        what = f"{shown(text)} is a grade, not an angle"
        return what, f'write the angle: a grade of {percent:g} % is "{degrees:.1f} deg"'
    return f"{shown(text)} is not {_KIND[unit]}", _remedy(unit)


@dataclass(frozen=True)
class InUnit:
    """Annotation of a float that may be written with a unit; the value is in `unit`.

    Parameters
    ----------
    unit : str
        Unit of the value and of the bounds, as in `quantity`.
    above, at_least, at_most : float, optional
        Bounds.
    """

    unit: str
    above: float | None = None
    at_least: float | None = None
    at_most: float | None = None

    def check(self, value: object) -> float:
        """Return the quantity, if it lies within the bounds.

        Raises
        ------
        UnfitValueError
            If it does not, or is no such quantity.
        """
        number = quantity(value, self.unit)
        too_low = (self.above is not None and number <= self.above) or (
            self.at_least is not None and number < self.at_least
        )
        too_high = self.at_most is not None and number > self.at_most
        if too_low or too_high:
            told = f" ({number:g} {self.unit})" if isinstance(value, str) else f" {self.unit}"
            what = f"{shown(value)}{told} is out of range"
            fix = f"give {_KIND[self.unit]} of {self._range()}"
            # Such as inches that were written without their unit.
            is_bare = too_high and self.unit != "1" and not isinstance(value, str)
            bare = f"; a bare number is in {self.unit}" if is_bare else ""
            raise UnfitValueError(what, fix + bare)
        return number

    def _range(self) -> str:
        words = (("more than", self.above), ("at least", self.at_least), ("at most", self.at_most))
        return " and ".join(f"{w} {bound:g} {self.unit}" for w, bound in words if bound is not None)

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(self.check)

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        bounds = {
            "exclusiveMinimum": self.above,
            "minimum": self.at_least,
            "maximum": self.at_most,
        }
        number: JsonSchemaValue = {
            "type": "number",
            "description": f"{_KIND[self.unit]} in {self.unit}",
        }
        number |= {word: bound for word, bound in bounds.items() if bound is not None}
        return {"anyOf": [number, text_schema(f"such as {EXAMPLES[self.unit]}")]}


def text_schema(examples: str) -> JsonSchemaValue:
    """Return the JSON Schema of a number with its unit, in text."""
    return {
        "type": "string",
        "pattern": rf"^\s*{_NUMBER}[ ]*(?:{_UNIT})?\s*$",
        "description": f"a number with its unit, {examples}",
    }


PositiveLengthM = Annotated[float, InUnit("m", above=0)]
DistanceM = Annotated[float, InUnit("m", at_least=0)]
