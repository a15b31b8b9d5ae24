"""How many sites are wanted, how they are chosen, and which boxes stand together in a group."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import ConfigDict, Field, ValidationInfo, field_validator, model_validator

from suitability.config.curves import Measure
from suitability.config.section import Section, Share, Text, WholeNumber
from suitability.config.unfit import UnfitValueError, shown
from suitability.config.units import DistanceM, InUnit, quantity, unit_of

MOST_BOXES = 6  # in a group


class BoxRole(Section):
    """One box of a group: what its place must measure, so that it differs from the others."""

    model_config = ConfigDict(
        json_schema_extra={"anyOf": [{"required": ["at_least"]}, {"required": ["at_most"]}]}
    )

    name: Annotated[str, Field(min_length=1, max_length=24)] = Field(
        description="what the box is called in the table of sites", examples=["sunny"]
    )
    layer: Text = Field(
        description="what is measured; the name ends in its unit", examples=["direct_sun_h"]
    )
    at_least: Measure | None = Field(
        None, description="the place measures no less", examples=["7 h"]
    )
    at_most: Measure | None = Field(None, description="the place measures no more")

    @field_validator("layer")
    @classmethod
    def _names_its_unit(cls, value: str) -> str:
        unit_of(value)
        return value

    @field_validator("at_least", "at_most")
    @classmethod
    def _unit_fits(cls, value: float | str | None, info: ValidationInfo) -> float | str | None:
        if value is not None and "layer" in info.data:
            quantity(value, unit_of(info.data["layer"]))
        return value

    @model_validator(mode="after")
    def _leaves_a_range(self) -> BoxRole:
        if self.at_least is None and self.at_most is None:
            what = f"box {shown(self.name)} may stand anywhere"
            raise UnfitValueError(what, "say what its place measures: at_least, at_most or both")
        low, high = self.bounds
        if low > high:
            unit = unit_of(self.layer)
            what = f"nothing measures {low:g} {unit} or more and {high:g} {unit} or less"
            raise UnfitValueError(what, "let at_least be the smaller of the two")
        return self

    @property
    def bounds(self) -> tuple[float, float]:
        """Least and greatest measure, in the layer's unit; infinite where none is stated."""
        unit = unit_of(self.layer)
        low = -math.inf if self.at_least is None else quantity(self.at_least, unit)
        return low, math.inf if self.at_most is None else quantity(self.at_most, unit)


class BoxGroups(Section):
    """Boxes put up together, so that bats may choose between a warmer and a cooler one."""

    boxes: Annotated[tuple[BoxRole, ...], Field(min_length=2, max_length=MOST_BOXES)] = Field(
        description="the boxes of each group, each at a place of its own kind"
    )
    within: Annotated[float, InUnit("m", above=0, at_most=200)] = Field(
        30.0, description="distance between two boxes of a group at most"
    )
    apart: DistanceM = Field(3.0, description="distance between two boxes of a group at least")

    @field_validator("boxes")
    @classmethod
    def _names_differ(cls, value: tuple[BoxRole, ...]) -> tuple[BoxRole, ...]:
        names = [role.name for role in value]
        if twice := sorted({name for name in names if names.count(name) > 1}):
            what = f"{', '.join(map(shown, twice))} is the name of more than one box"
            raise UnfitValueError(what, "give each box of a group a name of its own")
        return value

    @model_validator(mode="after")
    def _leaves_room(self) -> BoxGroups:
        if self.apart > self.within:
            what = f"boxes {self.apart:g} m apart do not lie within {self.within:g} m"
            raise UnfitValueError(what, "let apart be less than within")
        return self


class SiteSettings(Section):
    """How many sites are wanted, how far apart, and how they are chosen."""

    count: WholeNumber = Field(12, ge=1, le=10_000, description="sites, or groups, wanted at most")
    spacing: DistanceM = Field(
        50.0, description="distance between two sites, or boxes of two groups, at least"
    )
    min_score: Share = Field(0.0, description="score below which no site is taken")
    choice: Literal["greedy", "exact"] = Field(
        "greedy",
        description="the best site first, and so on; or the sites of the greatest total score",
    )
    time_limit: Annotated[float, InUnit("min", above=0, at_most=1440)] = Field(
        1.0, description="for the exact choice: how long to search for a better one"
    )
    groups: BoxGroups | None = Field(
        None, description="boxes put up in groups; left out: each site has one box"
    )

    @model_validator(mode="after")
    def _one_way_to_choose(self) -> SiteSettings:
        if self.groups is not None and self.choice == "exact":
            what = "groups of boxes are chosen greedily; there is no exact choice of them"
            raise UnfitValueError(what, "write choice: greedy, or leave out groups")
        return self
