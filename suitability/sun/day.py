"""The sun over one day, for pictures of a sky."""

from __future__ import annotations

from suitability.grid import Float64
from suitability.sun.positions import sun_positions

_MIDSUMMER = {True: "06-21", False: "12-21"}  # by hemisphere: north, south


def days_shown(start: str, end: str, lat: float) -> tuple[str, ...]:
    """Return the days whose sun a picture shows: midsummer, then a season's first and last.

    Parameters
    ----------
    start, end : str
        Of the season, month-day.
    lat : float
        North of the equator midsummer is in June. [degrees]
    """
    return tuple(dict.fromkeys((_MIDSUMMER[lat >= 0], start, end)))


def sun_on(
    day: str, lat: float, lon: float, year: int, *, step_min: int = 5
) -> tuple[Float64, Float64]:
    """Return where the sun stands while it is up.

    Parameters
    ----------
    day : str
        Month-day.
    lat, lon : float
        Of the place. [degrees]
    year : int
        Of the positions.
    step_min : int
        Between two of them. [minutes]

    Returns
    -------
    azimuth_deg, altitude_deg : numpy.ndarray
        (n,) in the order of the hours, clockwise from true north. [degrees]
    """
    sun = sun_positions(
        lat, lon, start=day, end=day, step_min=step_min, every_days=1, year=year, rule="altitude",
        min_altitude_deg=0.0,
    )  # fmt: skip
    return sun.azimuth_deg, sun.altitude_deg
