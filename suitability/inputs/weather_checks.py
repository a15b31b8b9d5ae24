"""Whether a year of weather can be what it says: gaps, units, clocks, place."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pvlib
import pyproj
from numpy.typing import NDArray

from suitability.grid import Float64

if TYPE_CHECKING:
    from suitability.inputs.weather import Weather

MEASURES = ("air_c", "wind_m_s", "ghi", "dni", "dhi")
LONGEST_FILLED_H = 6  # a longer gap would be invented weather
MOST_FILLED_H = 100  # of a measure in a year

# What an hour's measure may be, in words and numbers, and what is wrong beyond that.
_LIMITS = {
    "air_c": ("air temperature", -75.0, 60.0, "°C", "convert it: °F may be meant"),
    "wind_m_s": ("wind speed", 0.0, 75.0, "m/s", "convert it: km/h or a code may be meant"),
    "ghi": ("global irradiance", -20.0, 1500.0, "W/m²", "convert it: kJ/m² may be meant"),
    "dni": ("direct irradiance", -20.0, 1500.0, "W/m²", "convert it: kJ/m² may be meant"),
    "dhi": ("diffuse irradiance", -20.0, 1500.0, "W/m²", "convert it: kJ/m² may be meant"),
}
# Everywhere on Earth some hour of the year is brighter than this, and some day warmer. [W/m²]
_LEAST_NOON = 100.0

FAR_KM = 50.0
FAR_UP_M = 300.0
_CLOSED = 0.10  # more of GHI is unexplained than hourly means and instruments account for
_OPEN, _CLEARLY = 0.04, 0.6  # another clock is named if this one misfits, and it misfits far less
_NIGHT_DEG = -3.0


def first_unfit(hours: pd.DataFrame, *, gaps_count: bool = False) -> tuple[str, str] | None:
    """Return what no weather can be and what to do about it; None if there is no such thing.

    Parameters
    ----------
    hours : pandas.DataFrame
        `MEASURES` by local standard time; NaN where missing.
    gaps_count : bool
        Missing values are unfit, too.
    """
    for name, (words, low, high, unit, fix) in _LIMITS.items():
        values = hours[name]
        wrong = (values < low) | (values > high)
        if wrong.any():
            when = pd.DatetimeIndex(values.index[wrong])[0]
            msg = f"{words} of {values[when]:g} {unit} on {when:%m-%d}"
            msg += f" ({int(wrong.sum()):,} hours like it)"
            return msg, f"{fix}; {low:g} to {high:g} {unit} are read"
        if gaps_count and values.isna().any():
            when = pd.DatetimeIndex(values.index[values.isna()])[0]
            msg = f"{words} is missing in {int(values.isna().sum()):,} hours, first on {when:%m-%d}"
            return msg, f"give a file without gaps of more than {LONGEST_FILLED_H} hours"
    if hours["ghi"].max() < _LEAST_NOON:
        msg = f"global irradiance never exceeds {hours['ghi'].max():g} W/m²"
        return msg, "convert it to W/m²: kW/m² or MJ/m² may be meant"
    return None


def filled(hours: pd.DataFrame) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Return weather with short gaps filled from the hours beside them, and what was assumed."""
    found, assumed = hours.copy(), []
    for name, (words, *_) in _LIMITS.items():
        gaps = hours[name].isna()
        if not gaps.any() or gaps.sum() > MOST_FILLED_H:
            continue
        length = gaps.groupby((~gaps).cumsum()).transform("sum")
        short = gaps & (length <= LONGEST_FILLED_H)
        between = hours[name].interpolate(limit_direction="both")
        found.loc[short, name] = between[short]
        assumed.append(f"{words} of {int(short.sum())} hours from the hours beside them")
    for name in ("ghi", "dni", "dhi"):
        found[name] = found[name].clip(lower=0)  # instruments read a little below 0 at night
    return found, tuple(assumed)


def doubts(weather: Weather) -> Iterator[str]:
    """Yield what a reader of results from this weather has to know, wherever the land lies."""
    altitude = _altitude(weather, 0.0)
    ends = _altitude(weather, 0.5)
    highest = np.maximum(altitude, np.maximum(ends, np.roll(ends, 1)))
    lit = int(((weather.dni > 20) & (highest < _NIGHT_DEG)).sum())
    if lit:
        yield f"weather: direct sun in {lit:,} hours of night; is the clock or the place right?"
    misfit = closure(weather, altitude)
    if misfit > _CLOSED:
        yield (
            f"weather: global irradiance differs from direct and diffuse together by "
            f"{misfit:.0%}; temperatures of boxes are as doubtful"
        )
    yield from _clock(weather, altitude)
    if weather.wind_m_s.max() == 0:
        yield "weather: no wind in the whole year; boxes are shown too warm"


def closure(
    weather: Weather,
    altitude_deg: Float64,
    *,
    shift_h: int = 0,
    months: NDArray[np.bool_] | None = None,
) -> float:
    """Return how far GHI and DNI · sin(altitude) + DHI lie apart, as a share of GHI. [0..1].

    Parameters
    ----------
    weather : Weather
        A whole year.
    altitude_deg : numpy.ndarray
        (8760,) of the sun in the middle of each hour. [degrees]
    shift_h : int
        Whole hours by which the sun's clock is moved. [h]
    months : numpy.ndarray, optional
        (8760,) bool: hours that count.
    """
    # The middle of an hour stands for all of it only while the sun is up throughout.
    counts = (altitude_deg > 10) & (weather.ghi > 0)
    if months is not None:
        counts &= months
    if not counts.any():
        return 0.0
    shifted = np.clip(np.roll(altitude_deg, -shift_h), 0, None)
    apart = np.abs(weather.ghi - weather.dni * np.sin(np.radians(shifted)) - weather.dhi)
    return float(apart[counts].sum() / weather.ghi[counts].sum())


def _clock(weather: Weather, altitude_deg: Float64) -> Iterator[str]:
    """Say if the sun fits the stamps better an hour earlier or later, all year or in summer."""
    is_summer = np.isin(weather.month, range(4, 10))
    best = []
    for months in (is_summer, ~is_summer):
        misfit = {
            shift: closure(weather, altitude_deg, shift_h=shift, months=months)
            for shift in (0, -1, 1)
        }
        least = min(misfit, key=lambda shift: misfit[shift])
        best.append(least if misfit[0] > _OPEN and misfit[least] < _CLEARLY * misfit[0] else 0)
    if best[0] == best[1] != 0:
        yield (
            f"weather: its sun fits better an hour {'later' if best[0] > 0 else 'earlier'}; is "
            "the time zone of its header right, and does a stamp end its hour?"
        )
    elif best[0] != best[1]:
        yield "weather: its sun fits another clock in summer; stamps must be in standard time"


def far_away(weather: Weather, lat: float, lon: float, ground_m: float) -> Iterator[str]:
    """Yield how far the station lies from the land, if that is far.

    Parameters
    ----------
    weather : Weather
        A whole year.
    lat, lon : float
        Of the land, WGS 84. [degrees]
    ground_m : float
        Its mean elevation. [m]
    """
    _, _, away_m = pyproj.Geod(ellps="WGS84").inv(weather.lon, weather.lat, lon, lat)
    if away_m > FAR_KM * 1000:
        away = f"{away_m / 1000:,.0f} km"
        yield f"weather: the station lies {away} from the land; is it the right one?"
    apart_m = ground_m - weather.ground_elevation_m
    if abs(apart_m) > FAR_UP_M:
        yield (
            f"weather: the land lies {abs(apart_m):.0f} m {'above' if apart_m > 0 else 'below'} "
            f"the station; expect air about {abs(apart_m) * 0.0065:.0f} K "
            f"{'cooler' if apart_m > 0 else 'warmer'}"
        )


def _altitude(weather: Weather, shift_h: float) -> Float64:
    """Return the sun's altitude at the station, (8760,). [degrees]."""
    sun = pvlib.solarposition.get_solarposition(
        weather.utc + pd.Timedelta(hours=shift_h), weather.lat, weather.lon, method="nrel_numpy"
    )
    return np.asarray(sun["elevation"], dtype=np.float64)
