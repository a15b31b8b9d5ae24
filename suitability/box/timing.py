"""When: the day by which a box should be up, and when it may be worked on."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Annotated

from pydantic import Field

from suitability.box.catalogue import Grounded
from suitability.box.design import OWN, Ground
from suitability.config.box import BoxSettings
from suitability.config.days import Day, PartOfYear, day_after, days_of, half_year_on
from suitability.config.load import section_of
from suitability.config.section import Number, Section

# Where bats may be in boxes all year: before the young season, which is common practice.
_BY_MILD_WINTERS: Day = "02-15"


@dataclass(frozen=True)
class Timing:
    """The year of a box.

    Parameters
    ----------
    install_by : str
        Month-day by which it should be up.
    occupied : PartOfYear
        When bats may be in it.
    maintain : PartOfYear or None
        When it may be worked on; None where bats may be in it all year.
    install_ground, occupied_ground : Ground
        Where these days come from.
    """

    install_by: str
    occupied: PartOfYear
    maintain: PartOfYear | None
    install_ground: Ground
    occupied_ground: Ground

    def in_words(self) -> tuple[str, ...]:
        """Say it in sentences."""
        work = (
            f"Clean and mend it from {self.maintain} only, when no bats are in it"
            if self.maintain
            else "Bats may be in it all year: look from outside before any work, and ask first"
        )
        if self.maintain is None:
            then = "before most young are born; bats may be about all year"
        elif self.install_by in days_of(self.occupied.start, self.occupied.end):
            then = f"though bats may be back from {self.occupied.start} on"
        else:
            then = "before bats return"
        return (
            f"Have it up by {self.install_by} (month-day), {then}",
            f"{work}; the state wildlife agency has the last word on dates",
        )


def timing(lat: float, wanted: BoxSettings) -> Timing:
    """Return the year of a box.

    Parameters
    ----------
    lat : float
        WGS 84. [degrees]
    wanted : BoxSettings
        May state days of its own.
    """
    occupied, ground = occupied_at(lat)
    if wanted.occupied is not None:
        occupied, ground = wanted.occupied, OWN
    before, after = day_after(occupied.start, -1), day_after(occupied.end)
    all_year = after == occupied.start
    mild = _BY_MILD_WINTERS if lat >= 0 else half_year_on(_BY_MILD_WINTERS)
    by = wanted.install_by or (mild if all_year else before)
    return Timing(
        install_by=by,
        occupied=occupied,
        maintain=None if all_year else PartOfYear(start=after, end=before),
        install_ground=ground if wanted.install_by is None else OWN,
        occupied_ground=ground,
    )


class _SeasonEntry(Grounded):
    """Part of the year, from a latitude polewards."""

    latitude: Number = Field(description="from here polewards [degrees]")
    occupied: PartOfYear = Field(description="when bats may be in boxes")


class _SeasonFile(Section):
    seasons: Annotated[tuple[_SeasonEntry, ...], Field(min_length=1)] = Field(description="seasons")


@cache
def _seasons() -> tuple[_SeasonEntry, ...]:
    text = (files("suitability.box") / "data" / "seasons.yaml").read_text(encoding="utf-8")
    return section_of(text, "seasons.yaml", _SeasonFile, begins="seasons:").seasons


def occupied_at(lat: float) -> tuple[PartOfYear, Ground]:
    """Return when bats may be in boxes at a latitude, by the shipped table, and its grounds."""
    reached = (entry for entry in _seasons() if entry.latitude <= abs(lat))
    entry = max(reached, key=lambda each: each.latitude)
    all_year = day_after(entry.occupied.end) == entry.occupied.start
    if lat >= 0 or all_year:
        return entry.occupied, entry.ground
    start, end = (half_year_on(day) for day in (entry.occupied.start, entry.occupied.end))
    south = f"{entry.ground.basis}; half a year later in the south"
    return PartOfYear(start=start, end=end), Ground(entry.evidence, south, entry.conflict)
