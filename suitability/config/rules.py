"""Rules by which any layer rules land out."""

from __future__ import annotations

from collections import Counter
from typing import Annotated

from pydantic import Field, ValidationInfo, field_validator, model_validator

from suitability.config.curves import Measure
from suitability.config.section import Section, Text
from suitability.config.unfit import UnfitValueError
from suitability.config.units import quantity, shown_unit, unit_of

# The bits of a raster of reasons that are left for them: of 32, those after the program's own.
MOST_RULES = 23


class ExclusionRule(Section):
    """Land is out where a layer's measure lies above, or below, a bound."""

    layer: Text = Field(
        description="what is measured; the name ends in its unit", examples=["slope_deg"]
    )
    above: Measure | None = Field(
        None, description="out where the measure is greater", examples=["20 deg"]
    )
    below: Measure | None = Field(
        None, description="out where the measure is less", examples=["50 m"]
    )
    because: Text | None = Field(
        None, description="why, as people read it", examples=["too close to the road"]
    )

    @field_validator("layer")
    @classmethod
    def _names_its_unit(cls, value: str) -> str:
        unit_of(value)
        return value

    @field_validator("above", "below")
    @classmethod
    def _unit_fits(cls, value: float | str | None, info: ValidationInfo) -> float | None:
        if value is None or "layer" not in info.data:
            return None
        return quantity(value, unit_of(info.data["layer"]))

    @model_validator(mode="after")
    def _one_bound(self) -> ExclusionRule:
        if (self.above is None) == (self.below is None):
            what = "above and below are given" if self.above is not None else "no bound is given"
            raise UnfitValueError(what, "give one of above, below; for both, write two rules")
        return self

    @property
    def bound(self) -> float:
        """The bound, in the layer's unit."""
        return float(self.below if self.above is None else self.above)  # type: ignore[arg-type]

    @property
    def key(self) -> str:
        """What files call it, such as `slope_deg_above_20`."""
        return f"{self.layer}_{self._side}_{self.bound:g}"

    @property
    def words(self) -> str:
        """What people read."""
        measure = f"{self.bound:g} {shown_unit(unit_of(self.layer))}".rstrip()
        return self.because or f"{self.layer} {self._side} {measure}"

    @property
    def _side(self) -> str:
        return "below" if self.above is None else "above"


def distinct(rules: tuple[ExclusionRule, ...]) -> tuple[ExclusionRule, ...]:
    """Return rules of which no two say the same.

    Raises
    ------
    UnfitValueError
        If two do. (A ValueError.)
    """
    counts = Counter(rule.key for rule in rules)
    for at, rule in enumerate(rules):
        if counts[rule.key] > 1:
            what = f"{rule.layer} has the same bound in {counts[rule.key]} rules"
            raise UnfitValueError(what, "keep one of them", within=(at,))
    return rules


Rules = Annotated[tuple[ExclusionRule, ...], Field(max_length=MOST_RULES)]
