"""A facing as a compass shows it: true, grid and magnetic bearing of the same direction."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from pygeomag import GeoMag, calculate_decimal_year

# What the World Magnetic Model is issued for, as the library has it. A compass is of little use
# where the model warns of it: near the magnetic poles.
FIRST_YEAR, LAST_YEAR = 2015, 2030


@dataclass(frozen=True)
class Declination:
    """How far a compass needle points from true north.

    Parameters
    ----------
    degrees : float or None
        East of true north; None where no model tells. [degrees]
    error_deg : float or None
        Standard error, by the model's own error model: rock and iron nearby come on top. [degrees]
    model : str
        Name of the model, with its epoch; empty without one.
    day : datetime.date
        The day that it holds for.
    note : str
        What a reader has to know; empty if nothing.
    """

    degrees: float | None
    error_deg: float | None
    model: str
    day: date
    note: str = ""

    def __str__(self) -> str:
        """Give it in a line."""
        if self.degrees is None:
            return self.note
        side = "east" if self.degrees >= 0 else "west"
        more = f"; {self.note}" if self.note else ""
        return (
            f"{abs(self.degrees):.1f}° {side} of true north on {self.day.isoformat()} "
            f"({self.model}, standard error {self.error_deg:.1f}°{more})"
        )


@dataclass(frozen=True)
class Bearings:
    """One direction by three norths, clockwise. [degrees].

    Parameters
    ----------
    true_deg, grid_deg : float
        From true north, and from the grid's +y axis.
    magnetic_deg : float or None
        As a compass shows it; None where no model tells.
    """

    true_deg: float
    grid_deg: float
    magnetic_deg: float | None


def declination(lon: float, lat: float, ground_elevation_m: float, day: date) -> Declination:
    """Return the magnetic declination at a place.

    Parameters
    ----------
    lon, lat : float
        WGS 84. [degrees]
    ground_elevation_m : float
        Above sea level; matters little. [m]
    day : datetime.date
        The field drifts by a tenth of a degree a year or so.

    Returns
    -------
    Declination
        Without a number outside 2015 to 2029, and where a compass is of no use.

    References
    ----------
    .. [1] The US/UK World Magnetic Model for 2025-2030, NOAA NCEI and British Geological Survey
       (as in pygeomag); 2015v2 and 2020 before.
    """
    if not FIRST_YEAR <= day.year < LAST_YEAR:
        note = (
            f"no magnetic model holds for {day.isoformat()} (known: {FIRST_YEAR} to "
            f"{LAST_YEAR - 1}): take true bearings, and the declination from a current map"
        )
        return Declination(None, None, "", day, note)
    model = GeoMag(base_year=day.year)
    field = model.calculate(
        glat=lat, glon=lon, alt=ground_elevation_m / 1000, time=calculate_decimal_year(day)
    )
    begins, ends = model.life_span
    name = f"World Magnetic Model {model.model.removeprefix('WMM-')} ({begins:.0f}-{ends:.0f})"
    if field.in_blackout_zone:
        note = f"a compass is of no use this near to a magnetic pole ({name}): take true bearings"
        return Declination(None, None, name, day, note)
    note = "a compass is unreliable here" if field.in_caution_zone else ""
    return Declination(float(field.d), float(field.calculate_uncertainty().d), name, day, note)


def bearings(facing_deg: float, convergence_deg: float, at: Declination) -> Bearings:
    """Return a facing by all three norths.

    Parameters
    ----------
    facing_deg : float
        Clockwise from true north. [degrees]
    convergence_deg : float
        Meridian convergence of the grid at the place, PROJ's sign. [degrees]
    at : Declination
        Of the place.
    """
    magnetic = None if at.degrees is None else (facing_deg - at.degrees) % 360
    return Bearings(facing_deg % 360, (facing_deg - convergence_deg) % 360, magnetic)
