"""What the boxes of a run are to be: for which bats, from which designs, and when."""

from __future__ import annotations

import re
from datetime import date
from typing import Annotated

from pydantic import BeforeValidator, Field

from suitability.config.box_heat import BatsWithin
from suitability.config.days import Day, PartOfYear
from suitability.config.paths import FilePath
from suitability.config.section import Section, Text
from suitability.config.unfit import UnfitValueError, shown
from suitability.config.units import InUnit


def _a_date(value: object) -> object:
    if isinstance(value, date):
        return value
    if isinstance(value, str) and re.fullmatch(r"\d{4}-\d\d-\d\d", value.strip()):
        try:
            return date.fromisoformat(value.strip())
        except ValueError:
            pass
    what = f"{shown(value)} is not a date"
    raise UnfitValueError(what, "write year-month-day, such as 2026-03-01")


DateOfYear = Annotated[
    date,
    BeforeValidator(
        _a_date,
        json_schema_input_type=Annotated[str, Field(pattern=r"^\s*\d{4}-\d\d-\d\d\s*$")],
    ),
]


class BoxSettings(Section):
    """What the boxes are to be; advice for each site goes by it."""

    bats: Text = Field(
        "any", description="group of bats that they are for: any, small, large or one of your own"
    )
    designs: FilePath | None = Field(
        None, description="file of boxes that advice may choose from, besides the shipped ones"
    )
    colours: FilePath | None = Field(None, description="the same of colours")
    species: FilePath | None = Field(None, description="the same of groups of bats")
    compass_date: DateOfYear | None = Field(
        None,
        description="day on which boxes are faced by compass; left out: the season's first day",
        examples=["2026-03-01"],
    )
    install_by: Day | None = Field(
        None,
        description="day by which boxes should be up; left out: by the latitude",
        examples=["03-15"],
    )
    occupied: PartOfYear | None = Field(
        None,
        description="part of the year in which bats may be in them; left out: by the latitude",
        examples=[{"start": "04-01", "end": "10-31"}],
    )
    most_stress: Annotated[float, InUnit("h", at_least=0, at_most=9000)] = Field(
        24.0,
        description="where weather is given: hours of the season that a box may be above 40 °C; "
        "with more, none is recommended",
    )
    bats_within: BatsWithin | None = Field(
        None,
        description="where weather is given: bats whose heat warms the box; left out: it is empty",
    )

    @property
    def bats_heat_w(self) -> float:
        """Heat of the bats in a box. [W]."""
        return 0.0 if self.bats_within is None else self.bats_within.heat_w
