"""How boxes are put up: on poles, on the walls of buildings, or either."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from suitability.config.section import Section, WholeNumber
from suitability.config.units import DistanceM, InUnit, PositiveLengthM


class WallSettings(Section):
    """Where along walls a box may hang; for the kinds wall and both."""

    every: PositiveLengthM = Field(5.0, description="distance between two candidates on a wall")
    above: DistanceM = Field(0.6, description="wall needed above the mount height, for the box")
    most: WholeNumber = Field(
        2000,
        ge=1,
        le=100_000,
        description="candidates looked at: of more, an even choice; 100 take a second or two",
    )


class Mount(Section):
    """How the boxes are put up."""

    kind: Literal["pole", "wall", "both"] = Field("pole", description="what carries the box")
    height: Annotated[float, InUnit("m", above=0, at_most=30)] = Field(
        4.6, description="of the box above the ground"
    )
    walls: WallSettings = Field(WallSettings(), description="where along walls a box may hang")

    @property
    def in_words(self) -> str:
        """What the boxes hang on, such as `pole-mounted`."""
        return "pole- or wall-mounted" if self.kind == "both" else f"{self.kind}-mounted"
