"""`--units`, as every command about a finished run has it."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from suitability.quantities import Units


class UnitsName(StrEnum):
    """Units that people read."""

    METRIC = "metric"
    US = "us"


WantedUnits = Annotated[
    UnitsName | None,
    typer.Option("--units", help="To tell measures in; else those of the run."),
]


def wanted(units: UnitsName | None) -> Units | None:
    """Return the units that were asked for, None for the run's own."""
    return None if units is None else units.value
