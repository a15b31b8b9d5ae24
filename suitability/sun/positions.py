"""Where the sun stands over a season, and which of its positions count as direct sun."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Literal

import numpy as np
import pandas as pd
import pvlib
from numpy.typing import ArrayLike, NDArray

Float64 = NDArray[np.float64]

# Successive days start their steps at these parts of a step (multiples of the golden ratio), so
# that a whole season does not sample the same few minutes of the clock.
_GOLDEN = 0.6180339887498949


@dataclass(frozen=True)
class SunPath:
    """The counted sun positions of a season.

    All arrays are (n,). Shadows need a grid azimuth: `azimuth_deg` less the meridian convergence.

    Parameters
    ----------
    utc : pandas.DatetimeIndex
        Time of each position.
    azimuth_deg, altitude_deg : numpy.ndarray
        Of the sun's centre with refraction, clockwise from true north. [degrees]
    month : numpy.ndarray
        Month of the local date, 1..12.
    is_morning : numpy.ndarray
        True before the sun's transit.
    hours : numpy.ndarray
        Weight in the mean day of its month: these sum to the hours of a day's direct sun. [h]
    share_of_season : dict
        Month to its share of the season's days.
    rule : str
        The rule by which positions count, in words.
    """

    utc: pd.DatetimeIndex
    azimuth_deg: Float64
    altitude_deg: Float64
    month: NDArray[np.int64]
    is_morning: NDArray[np.bool_]
    hours: Float64
    share_of_season: dict[int, float]
    rule: str

    def __len__(self) -> int:
        """Count the positions."""
        return int(self.hours.size)

    def those(self, chosen: NDArray[np.intp]) -> SunPath:
        """Return some of the positions, by their indices."""
        return replace(
            self,
            utc=self.utc[chosen],
            azimuth_deg=self.azimuth_deg[chosen],
            altitude_deg=self.altitude_deg[chosen],
            month=self.month[chosen],
            is_morning=self.is_morning[chosen],
            hours=self.hours[chosen],
        )

    @property
    def season_hours(self) -> Float64:
        """Weight of each position in the season's mean day, (n,). [h]."""
        share = np.array([self.share_of_season[int(month)] for month in self.month])
        return np.asarray(self.hours * share, dtype=np.float64)


def sun_positions(
    lat: float,
    lon: float,
    *,
    start: str = "04-01",
    end: str = "09-30",
    step_min: float = 15.0,
    every_days: int = 6,
    year: int = 2025,
    ground_elevation_m: float = 0.0,
    rule: Literal["irradiance", "altitude"] = "irradiance",
    min_irradiance_w_m2: float = 120.0,
    min_altitude_deg: float = 3.0,
    linke_turbidity: float | None = None,
) -> SunPath:
    """Sample the sun over a season and keep the positions that count as direct sun.

    Each month of the season is sampled on days spread evenly over it, every `step_min` minutes.

    Parameters
    ----------
    lat, lon : float
        WGS 84. [degrees]
    start, end : str
        First and last day, month-day; an `end` before `start` lies in the next year.
    step_min : float
        Minutes between positions; rounded so that they divide the day.
    every_days : int
        Days between sampled days; every month has one at least.
    year : int
        Year in which the season starts.
    ground_elevation_m : float
        Above sea level; thins the air. [m]
    rule : {"irradiance", "altitude"}
        `irradiance`: the clear-sky direct normal irradiance exceeds `min_irradiance_w_m2`, which
        is the sunshine-duration threshold of WMO-No. 8. `altitude`: the sun's centre stands above
        `min_altitude_deg`.
    min_irradiance_w_m2, min_altitude_deg : float
        Thresholds of the two rules. [W/m²], [degrees]
    linke_turbidity : float, optional
        Left out: the monthly climatology that pvlib ships.

    Returns
    -------
    SunPath
        The counted positions; none in a polar night.

    Raises
    ------
    ValueError
        If `step_min` is no time within a day, or `every_days` is less than one.

    References
    ----------
    .. [1] I. Reda, A. Andreas, Solar Position Algorithm for Solar Radiation Applications,
       NREL/TP-560-34302, 2008 (as in pvlib).
    .. [2] WMO-No. 8, Guide to Instruments and Methods of Observation, chapter 8.
    """
    if not 0 < step_min <= 24 * 60 or every_days < 1:
        msg = f"a position every {step_min} minutes on every {every_days}th day samples no season"
        raise ValueError(msg)
    days, weight, share = _sampled_days(start, end, year, every_days)
    per_day = max(1, round(24 * 60 / step_min))
    utc, of_day = _times(days, lon, per_day)
    position = pvlib.solarposition.get_solarposition(
        utc, lat, lon, altitude=ground_elevation_m, method="nrel_numpy"
    )
    altitude = position["apparent_elevation"].to_numpy()
    if rule == "irradiance":
        counts = altitude > 0
        dni = clear_sky_dni(
            utc[counts],
            lat,
            lon,
            altitude[counts],
            ground_elevation_m,
            linke_turbidity=linke_turbidity,
        )
        counts[counts] = dni > min_irradiance_w_m2
    else:
        counts = altitude > max(min_altitude_deg, 0.0)
    # Hour angle from clock, longitude and equation of time; negative before transit.
    clock_h = np.asarray(utc.hour + utc.minute / 60 + utc.second / 3600, dtype=np.float64)
    angle = (clock_h - 12) * 15 + lon + position["equation_of_time"].to_numpy() / 4
    is_morning = (angle + 180) % 360 < 180
    month = np.array([day.month for day in days])[of_day]
    hours = np.array(weight)[of_day] * 24 / per_day
    return SunPath(
        utc=utc[counts],
        azimuth_deg=position["azimuth"].to_numpy()[counts],
        altitude_deg=altitude[counts],
        month=month[counts],
        is_morning=is_morning[counts],
        hours=hours[counts],
        share_of_season=share,
        rule=_in_words(rule, min_irradiance_w_m2, min_altitude_deg, linke_turbidity),
    )


def clear_sky_dni(
    utc: pd.DatetimeIndex,
    lat: float,
    lon: float,
    altitude_deg: ArrayLike,
    ground_elevation_m: float,
    *,
    linke_turbidity: float | None = None,
) -> Float64:
    """Return the clear-sky direct normal irradiance of Ineichen and Perez, (n,). [W/m²].

    Parameters
    ----------
    utc : pandas.DatetimeIndex
        Times, for the distance to the sun and the month's turbidity.
    lat, lon : float
        WGS 84, where the turbidity is looked up. [degrees]
    altitude_deg : array_like
        (n,) altitude of the sun's centre with refraction, above 0. [degrees]
    ground_elevation_m : float
        Above sea level. [m]
    linke_turbidity : float, optional
        Left out: the monthly climatology that pvlib ships.

    References
    ----------
    .. [1] P. Ineichen, R. Perez, A new airmass independent formulation for the Linke turbidity
       coefficient, Solar Energy 73, 151-157, 2002 (as in pvlib).
    """
    zenith = 90 - np.asarray(altitude_deg, dtype=np.float64)
    pressure = pvlib.atmosphere.alt2pres(ground_elevation_m)
    relative = pvlib.atmosphere.get_relative_airmass(zenith)
    airmass = pvlib.atmosphere.get_absolute_airmass(relative, pressure)
    turbidity = (
        pvlib.clearsky.lookup_linke_turbidity(utc, lat, lon).to_numpy()
        if linke_turbidity is None
        else linke_turbidity
    )
    extra = pvlib.irradiance.get_extra_radiation(utc).to_numpy()
    sky = pvlib.clearsky.ineichen(
        zenith, airmass, turbidity, altitude=ground_elevation_m, dni_extra=extra
    )
    return np.nan_to_num(np.asarray(sky["dni"], dtype=np.float64))


def _sampled_days(
    start: str, end: str, year: int, every_days: int
) -> tuple[list[date], list[float], dict[int, float]]:
    """Return sampled days, the weight of each in its month, and months' shares of the season."""
    first = date(year, *(int(part) for part in start.split("-")))
    last = date(year + (end < start), *(int(part) for part in end.split("-")))
    stretches: dict[int, list[date]] = {}
    day = first
    while day <= last:
        # A season over a whole year may meet its first month again; both parts count as one.
        stretches.setdefault(day.month, []).append(day)
        day += timedelta(days=1)
    total = (last - first).days + 1
    days: list[date] = []
    weight: list[float] = []
    for stretch in stretches.values():
        count = max(1, round(len(stretch) / every_days))
        chosen = [stretch[int((k + 0.5) * len(stretch) / count)] for k in range(count)]
        days += chosen
        weight += [1 / count] * count
    return days, weight, {month: len(part) / total for month, part in stretches.items()}


def _times(
    days: list[date], lon: float, per_day: int
) -> tuple[pd.DatetimeIndex, NDArray[np.int64]]:
    """Return times in UTC from one solar midnight to the next, and the day that each is of."""
    of_day = np.repeat(np.arange(len(days)), per_day)
    phase = (np.arange(len(days)) * _GOLDEN) % 1.0
    part = (np.tile(np.arange(per_day), len(days)) + phase[of_day]) / per_day
    midnight = pd.DatetimeIndex(days, tz="UTC")[of_day] - pd.Timedelta(hours=lon / 15)
    return midnight + pd.to_timedelta(np.round(part * 86_400), unit="s"), of_day


def _in_words(rule: str, irradiance: float, altitude: float, turbidity: float | None) -> str:
    if rule == "altitude":
        return f"sun's centre with refraction above {altitude:g}° (NREL SPA)"
    air = "monthly climatology" if turbidity is None else f"{turbidity:g}"
    return (
        f"clear-sky direct normal irradiance above {irradiance:g} W/m² "
        f"(WMO-No. 8; Ineichen–Perez, Linke turbidity: {air}; NREL SPA, refracted centre)"
    )
