"""Which water counts, and streams where no file tells of any."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from suitability.config.days import PartOfYear
from suitability.config.section import Section
from suitability.config.units import InUnit

Engine = Literal["pyflwdir", "richdem"]


class DerivedStreams(Section):
    """Streams derived from the elevation, where `inputs.streams` is left out."""

    # Common practice, and weak: measured channel heads drain from less than a hectare to several
    # square kilometres, by climate and rock.
    area: Annotated[float, InUnit("m²", above=0)] = Field(
        500_000.0, description="land that drains into a stream where it begins"
    )
    engine: Engine = Field(
        "pyflwdir", description="what fills depressions and adds up flow; richdem is optional"
    )


class WaterRules(Section):
    """Which water counts; for sources that say how lasting theirs is."""

    # Common practice: the wet half-year of temperate North America.
    intermittent_flows: PartOfYear | None = Field(
        PartOfYear(start="11-01", end="05-31"),
        description="when intermittent water flows; it counts if the whole season lies in it",
    )
    ephemeral_flows: PartOfYear | None = Field(
        None, description="the same for water that flows after rain only; null: it never counts"
    )
    from_elevation: DerivedStreams = Field(
        DerivedStreams(), description="streams where inputs.streams is left out"
    )
