"""What makes a place good: a layer, the curve that values its measure, and its weight."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import (
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationInfo,
    WithJsonSchema,
    field_validator,
    model_validator,
)

from suitability.config.section import Number, Section, Share, Text
from suitability.config.unfit import UnfitValueError, shown
from suitability.config.units import quantity, text_schema, unit_of


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
Evidence = Literal["peer-reviewed", "agency guidance", "common practice", "own"]

_VALUES = {"rising": (0.0, 1.0), "falling": (1.0, 0.0), "hump": (0.0, 1.0, 1.0, 0.0)}
_SHAPES = ("points", *_VALUES)


class ValueFunction(Section):
    """Raw measure to a value in 0..1; one of four shapes.

    `points` gives a piecewise-linear curve; `rising` and `falling` name its two ends; `hump` its
    four corners.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "oneOf": [
                {"required": [shape], "properties": {shape: {"type": "array"}}} for shape in _SHAPES
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

    @model_validator(mode="after")
    def _one_shape(self) -> ValueFunction:
        given = [name for name in _SHAPES if getattr(self, name) is not None]
        if len(given) != 1:
            what = f"{' and '.join(given)} are given" if given else "the curve has no shape"
            raise UnfitValueError(what, f"give one of {', '.join(_SHAPES)}")
        return self

    def knots(self, unit: str) -> tuple[tuple[float, float], ...]:
        """Return the curve's points, the raw measure in `unit`, in rising order.

        Raises
        ------
        UnfitValueError
            If a measure is of another kind, or measures do not rise. (A ValueError.)
        """
        curve: list[tuple[float, float]] = []
        for place, raw, value in self._entries():
            try:
                measure = quantity(raw, unit)
            except UnfitValueError as exc:
                raise UnfitValueError(exc.what, exc.fix, within=place) from exc
            if curve and measure <= curve[-1][0]:
                what = f"{measure:g} {unit} follows {curve[-1][0]:g} {unit}; measures must rise"
                fix = "order them from the smallest measure to the largest"
                raise UnfitValueError(what, fix, within=place)
            curve.append((measure, value))
        return tuple(curve)

    def _entries(self) -> Iterator[tuple[tuple[str | int, ...], float | str, float]]:
        """Yield where each measure stands, the measure, and its value."""
        for index, (raw, value) in enumerate(self.points or ()):
            yield ("points", index, 0), raw, value
        for shape, values in _VALUES.items():
            if (measures := getattr(self, shape)) is not None:
                pairs = zip(measures, values, strict=True)
                yield from (((shape, at), raw, value) for at, (raw, value) in enumerate(pairs))


class Criterion(Section):
    """A layer that counts, how its measure is valued, and how much it weighs."""

    layer: Text = Field(
        description="what is measured; the name ends in its unit", examples=["direct_sun_h"]
    )
    weight: Annotated[Number, Field(ge=0)] = Field(
        description="how much it counts beside the others; the weights need not add up to 1",
        examples=[0.35],
    )
    value: ValueFunction = Field(
        description="raw measure to a value in 0..1", examples=[{"rising": ["3 h", "7 h"]}]
    )
    basis: Text = Field("stated in the run file", description="where weight and curve come from")
    evidence: Evidence = Field("own", description="how firm that basis is")
    conflict: Text | None = Field(None, description="where sources disagree, if they do")

    @field_validator("layer")
    @classmethod
    def _names_its_unit(cls, value: str) -> str:
        unit_of(value)
        return value

    @field_validator("value")
    @classmethod
    def _units_fit(cls, value: ValueFunction, info: ValidationInfo) -> ValueFunction:
        if "layer" in info.data:
            value.knots(unit_of(info.data["layer"]))
        return value

    @property
    def unit(self) -> str:
        """Unit of the layer's raw measure."""
        return unit_of(self.layer)

    @property
    def knots(self) -> tuple[tuple[float, float], ...]:
        """Points of the value function, the raw measure in the layer's unit."""
        return self.value.knots(self.unit)
