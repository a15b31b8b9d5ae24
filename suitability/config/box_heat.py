"""What a run file says of heat: of boxes as a layer of the land, and of the bats in them."""

from __future__ import annotations

from typing import Annotated

from pydantic import BeforeValidator, Field

from suitability.config.criteria import Evidence
from suitability.config.section import Section, Text, WholeNumber
from suitability.config.unfit import UnfitValueError
from suitability.config.units import InUnit, quantity

_POINTS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW",
           "NW", "NNW")  # fmt: skip


def _facing(value: object) -> object:
    """Let a facing be a point of the compass."""
    if isinstance(value, str) and value.strip().upper() in _POINTS:
        return _POINTS.index(value.strip().upper()) * 22.5
    try:
        degrees = quantity(value, "deg")
    except UnfitValueError as exc:
        fix = "write a point of the compass, such as S or ESE, or degrees from true north"
        raise UnfitValueError(exc.what, fix) from exc
    if not 0 <= degrees <= 360:
        what = f"{degrees:g} deg is no direction"
        raise UnfitValueError(what, "write 0 to 360 deg, clockwise from true north")
    return degrees % 360


FacingDeg = Annotated[
    float,
    BeforeValidator(_facing, json_schema_input_type=Annotated[float, Field(ge=0, le=360)] | Text),
]


class BoxHeatHours(Section):
    """Hours of the season in which a box would be too warm; needs `inputs.weather`.

    A screening estimate. The likely one of low, likely and high: how far these lie apart, and how
    far the layer is from the full model, stands in the run's record.
    """

    design: Text = Field(
        description="name of a box, shipped or of `box.designs`", examples=["two chambers"]
    )
    colour: Text = Field(
        description="name of a colour, shipped or of `box.colours`", examples=["dark"]
    )
    facing: FacingDeg = Field(
        180.0,
        description="the way that boxes on poles look, from true north; on walls, as the wall does",
        examples=["S", "ESE", "120 deg"],
    )
    above: Annotated[float, InUnit("°C", at_least=20, at_most=60)] = Field(
        40.0, description="hours with the warmest chamber above this count; 40 °C is stress"
    )

    @property
    def faces(self) -> str:
        """The nearest point of the compass, such as `S`."""
        return _POINTS[round(self.facing / 22.5) % len(_POINTS)]


class BatsWithin(Section):
    """The heat of bats in a box."""

    number: WholeNumber = Field(ge=1, le=5000, description="how many bats", examples=[100])
    heat_each: Annotated[float, InUnit("W", above=0, at_most=2)] = Field(
        description="heat that one gives off by day", examples=["0.05 W"]
    )
    evidence: Evidence = Field("own", description="how firm the basis is")
    basis: Text = Field(
        description="where both numbers come from", examples=["counts at a barn nearby; a study"]
    )

    @property
    def heat_w(self) -> float:
        """What all of them give off. [W]."""
        return self.number * self.heat_each
