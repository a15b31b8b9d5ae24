"""Value functions: a raw measure to a value in 0..1, in shapes that a run file names."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated, Literal

from pydantic import BeforeValidator, ConfigDict, Field, WithJsonSchema, model_validator

from suitability.config.curve_table import TableFile
from suitability.config.section import Section, Share
from suitability.config.unfit import UnfitValueError, shown
from suitability.config.units import quantity, text_schema

# A logistic curve is taken as level where it lies this near to 0 or to 1.
LEVEL = 0.001
# What lies further than a distance layer reaches bears its reach; it must still count as beyond.
_BEYOND = 1e-6


@dataclass(frozen=True)
class Curve:
    """A value function in numbers, the measure in the layer's unit.

    Parameters
    ----------
    kind : {"linear", "steps", "logistic"}
        Whether straight lines join the knots, level before the first and after the last; or each
        value holds from its measure on; or an S-shaped curve runs through two knots, at 0.5 and
        0.9.
    knots : tuple of (float, float)
        Measures and their values, the measures rising (of a falling logistic curve: falling).
    below : float
        Of steps, the value before the first.
    """

    kind: Literal["linear", "steps", "logistic"]
    knots: tuple[tuple[float, float], ...]
    below: float = 0.0

    @property
    def ends(self) -> tuple[float, float]:
        """The measures beyond which the value no longer changes."""
        first, last = self.knots[0][0], self.knots[-1][0]
        if self.kind == "linear":
            return first, last
        if self.kind == "steps":
            return _just_below(first), -_just_below(-last)
        reach = abs(last - first) * math.log(1 / LEVEL - 1) / math.log(9)
        return first - reach, first + reach

    @property
    def highest(self) -> float:
        """The highest value that the curve gives."""
        if self.kind == "logistic":
            return 1 - LEVEL
        return max(value for _, value in self._runs())

    def best_near(self, measure: float) -> float:
        """Return the measure nearest to one of a lower value at which the curve is highest."""
        if self.kind == "logistic":
            return self.ends[1 if self.knots[1][0] > self.knots[0][0] else 0]
        best = [at for at, value in self.knots if value == self.highest]
        if self.kind == "steps":
            # Up to the next step, but not at it.
            runs = self._runs()
            best += [
                _just_below(after)
                for (_, value), (after, _) in pairwise(runs)
                if value == self.highest
            ]
        return min(best, key=lambda at: abs(at - measure))

    def against(self, must: Literal["rise", "fall"]) -> tuple[tuple[float, float], ...]:
        """Return the two neighbouring points at which the curve does not do what it must.

        A level curve goes against both; one that is level in part goes against neither.
        """
        points = sorted(self._runs())
        sign = 1 if must == "rise" else -1
        for one, other in pairwise(points):
            if sign * (other[1] - one[1]) < 0:
                return one, other
        level = points[0][1] == points[-1][1]
        return (points[0], points[-1]) if level else ()

    def _runs(self) -> list[tuple[float, float]]:
        first = [(-math.inf, self.below)] if self.kind == "steps" else []
        return [*first, *self.knots]


def _just_below(measure: float) -> float:
    return measure - _BEYOND * max(1.0, abs(measure))


def _measure(value: object) -> object:
    """Take a number or a text; which unit fits is known once the layer is."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        what = f"{shown(value)} is not a measure of the layer"
        raise UnfitValueError(what, 'write a number with its unit, such as "3 h"')
    return value


Measure = Annotated[
    float | str,
    BeforeValidator(_measure),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "number", "description": "in the unit that the layer's name ends in"},
                text_schema('such as "3 h" or "0.25 mile"'),
            ]
        }
    ),
]
_Place = tuple[str | int, ...]
_VALUES = {"rising": (0.0, 1.0), "falling": (1.0, 0.0), "hump": (0.0, 1.0, 1.0, 0.0)}
_SHAPES = {
    "points": "array",
    **dict.fromkeys(_VALUES, "array"),
    "logistic": "array",
    "steps": "object",
    "table": "string",
}


class Steps(Section):
    """Values that change at once, each from its own measure on."""

    below: Share = Field(0.0, description="value of measures below the first step")
    then: Annotated[tuple[tuple[Measure, Share], ...], Field(min_length=1)] = Field(
        description="pairs of a measure and the value that holds from it on",
        examples=[[["3 h", 0.5], ["7 h", 1]]],
    )


class ValueFunction(Section):
    """Raw measure to a value in 0..1; one of seven shapes.

    `points` gives a piecewise-linear curve, and so does `table`, from a file; `rising` and
    `falling` name its two ends; `hump` its four corners; `logistic` is S-shaped; `steps` jumps.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "oneOf": [
                {"required": [shape], "properties": {shape: {"type": kind}}}
                for shape, kind in _SHAPES.items()
            ]
        }
    )

    points: Annotated[tuple[tuple[Measure, Share], ...], Field(min_length=2)] | None = Field(
        None,
        description="pairs of a measure and its value; level before the first, after the last",
        examples=[[["3 h", 0], ["5 h", 0.5], ["7 h", 1]]],
    )
    rising: tuple[Measure, Measure] | None = Field(
        None,
        description="the measures at which the value leaves 0 and reaches 1",
        examples=[["3 h", "7 h"]],
    )
    falling: tuple[Measure, Measure] | None = Field(
        None,
        description="the measures at which the value leaves 1 and reaches 0",
        examples=[["0.25 mile", "1 mile"]],
    )
    hump: tuple[Measure, Measure, Measure, Measure] | None = Field(
        None,
        description="the measures at which the value leaves 0, reaches 1, leaves 1, reaches 0",
        examples=[["20 ft", "33 ft", "100 ft", "330 ft"]],
    )
    logistic: tuple[Measure, Measure] | None = Field(
        None,
        description="the measures at which an S-shaped curve has the values 0.5 and 0.9; it falls "
        "if the second is the smaller",
        examples=[["5 h", "7 h"]],
    )
    steps: Steps | None = Field(
        None,
        description="values that change at once",
        examples=[{"below": 0, "then": [["3 h", 0.5], ["7 h", 1]]}],
    )
    table: TableFile | None = Field(
        None,
        description="a CSV file of two columns, measure and value, joined as points are; its first "
        "line names them, the measure with its unit, such as: distance (ft), value",
        examples=["sun_curve.csv"],
    )
    must: Literal["rise", "fall"] | None = Field(
        None, description="what the curve must do all along; an error where it does not"
    )

    @model_validator(mode="after")
    def _one_shape(self) -> ValueFunction:
        given = [name for name in _SHAPES if getattr(self, name) is not None]
        if len(given) != 1:
            what = f"{' and '.join(given)} are given" if given else "the curve has no shape"
            raise UnfitValueError(what, f"give one of {', '.join(_SHAPES)}")
        return self

    def curve(self, unit: str) -> Curve:
        """Return the curve, its measures in a unit.

        Raises
        ------
        UnfitValueError
            If a measure is of another kind, measures do not rise, or the curve does not do what
            it must. (A ValueError.)
        """
        curve = self._curve(unit)
        if self.must is not None and (broken := curve.against(self.must)):
            (one, one_value), (other, other_value) = broken
            start = "below the first step" if math.isinf(one) else f"at {one:g} {unit}"
            what = (
                f"the curve must {self.must}, yet goes from {one_value:g} {start} "
                f"to {other_value:g} at {other:g} {unit}"
            )
            raise UnfitValueError(what, "put the values right, or drop must", within=("must",))
        return curve

    def _curve(self, unit: str) -> Curve:
        if self.logistic is not None:
            middle, high = (self._in(unit, raw, ("logistic", at)) for at, raw in
                            enumerate(self.logistic))  # fmt: skip
            if middle == high:
                what = f"the curve has both 0.5 and 0.9 at {high:g} {unit}"
                fix = "write two measures: one for 0.5, one for 0.9"
                raise UnfitValueError(what, fix, within=("logistic",))
            return Curve("logistic", ((middle, 0.5), (high, 0.9)))
        if self.table is not None:
            return Curve("linear", self.table.knots(unit))
        if self.steps is not None:
            return Curve("steps", self._knots(unit), self.steps.below)
        return Curve("linear", self._knots(unit))

    def _knots(self, unit: str) -> tuple[tuple[float, float], ...]:
        """Return the points of a list, in rising order."""
        knots: list[tuple[float, float]] = []
        for place, raw, value in self._entries():
            measure = self._in(unit, raw, place)
            if knots and measure <= knots[-1][0]:
                what = f"{measure:g} {unit} follows {knots[-1][0]:g} {unit}; measures must rise"
                fix = "order them from the smallest measure to the largest"
                raise UnfitValueError(what, fix, within=place)
            knots.append((measure, value))
        return tuple(knots)

    def _entries(self) -> Iterator[tuple[_Place, float | str, float]]:
        """Yield where each measure stands, the measure, and its value."""
        for index, (raw, value) in enumerate(self.points or ()):
            yield ("points", index, 0), raw, value
        for index, (raw, value) in enumerate(self.steps.then if self.steps else ()):
            yield ("steps", "then", index, 0), raw, value
        for shape, values in _VALUES.items():
            if (measures := getattr(self, shape)) is not None:
                pairs = zip(measures, values, strict=True)
                yield from (((shape, at), raw, value) for at, (raw, value) in enumerate(pairs))

    @staticmethod
    def _in(unit: str, raw: float | str, place: _Place) -> float:
        try:
            return quantity(raw, unit)
        except UnfitValueError as exc:
            raise UnfitValueError(exc.what, exc.fix, within=place) from exc
