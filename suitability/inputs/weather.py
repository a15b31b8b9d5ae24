"""A station's typical year, hour by hour: EPW and TMY3 files.

Both formats stamp the end of an hour, in standard time. Irradiance is the hour's mean and stands
for its middle; temperature is that at the stamp. Inside, times are UTC, and the whole year has one
nominal year: typical years are put together from months of many.
"""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pvlib
from numpy.typing import NDArray

from suitability.config.paths import is_local
from suitability.errors import InputError
from suitability.grid import Float64
from suitability.inputs.places import StrPath, place_of
from suitability.inputs.report import InputReport
from suitability.inputs.weather_checks import MEASURES, doubts, filled, first_unfit

NOMINAL_YEAR = 2025  # no leap year; the sun's place differs by 0.2° at most from year to year
HOURS = 8760
LARGEST_BYTES = 20_000_000  # a year has two megabytes


@dataclass(frozen=True)
class Weather:
    """A year of hourly weather at a station.

    All arrays are (8760,), from the first hour of 1 January in the station's standard time.

    Parameters
    ----------
    name, form : str
        The station; EPW or TMY3.
    lat, lon : float
        WGS 84. [degrees]
    ground_elevation_m : float
        Above sea level. [m]
    utc_offset_h : float
        Standard time less UTC. [h]
    utc : pandas.DatetimeIndex
        Middle of each hour, in `NOMINAL_YEAR`.
    air_c : numpy.ndarray
        Dry-bulb temperature at the end of each hour, where both formats have it. [°C]
    wind_m_s : numpy.ndarray
        At 10 m above the ground. [m/s]
    ghi, dni, dhi : numpy.ndarray
        Global horizontal, direct normal and diffuse horizontal irradiance, the hour's mean. [W/m²]
    """

    name: str
    form: str
    lat: float
    lon: float
    ground_elevation_m: float
    utc_offset_h: float
    utc: pd.DatetimeIndex
    air_c: Float64
    wind_m_s: Float64
    ghi: Float64
    dni: Float64
    dhi: Float64

    @cached_property
    def month(self) -> NDArray[np.int64]:
        """Month of each hour in standard time, (8760,) 1..12."""
        return self._local.month.to_numpy().astype(np.int64)

    @cached_property
    def month_day(self) -> NDArray[np.str_]:
        """Month and day of each hour in standard time, (8760,) such as `06-21`."""
        return np.asarray(self._local.strftime("%m-%d"), dtype="<U5")

    @property
    def _local(self) -> pd.DatetimeIndex:
        return self.utc + pd.Timedelta(hours=self.utc_offset_h)

    def in_season(self, start: str, end: str) -> NDArray[np.bool_]:
        """Say which hours lie in a season, (8760,) bool.

        Parameters
        ----------
        start, end : str
            First and last day, month-day; an `end` before `start`: over New Year.
        """
        after, before = self.month_day >= start, self.month_day <= end
        return np.asarray(after & before if start <= end else after | before)

    @property
    def midsummer(self) -> tuple[int, str]:
        """The month with the highest sun: July, south of the equator January."""
        return (7, "July") if self.lat >= 0 else (1, "January")

    @property
    def midsummer_mean_daily_max_c(self) -> float:
        """Mean daily maximum of July, south of the equator of January. [°C]."""
        days = self.air_c.reshape(-1, 24).max(axis=1)
        return float(days[self.month[::24] == self.midsummer[0]].mean())


def read_weather(path: StrPath, place: str | None = None) -> tuple[Weather, InputReport]:
    """Read a year of weather and look it over.

    Parameters
    ----------
    path : str or path
        An EPW file (.epw) or a TMY3 file (.csv).
    place : str, optional
        The line of the run file that names it, for errors.

    Raises
    ------
    InputError
        If it is no such file, lacks hours, or holds what no weather is.

    References
    ----------
    .. [1] EnergyPlus documentation, Auxiliary Programs: EPW data dictionary.
    .. [2] S. Wilcox, W. Marion, Users Manual for TMY3 Data Sets, NREL/TP-581-43156, 2008.
    """
    where = place_of(path, place)
    text = _text(str(path), where)
    form = _FORMS.get(Path(str(path)).suffix.lower())
    if form is None:
        msg = f"{Path(str(path)).name} is neither an EPW file (.epw) nor a TMY3 file (.csv)"
        raise InputError(msg, where=where, fix="name a file of one of the two formats")
    try:
        with warnings.catch_warnings():
            # A column that is not used may hold anything; those that are used are looked at.
            warnings.simplefilter("ignore", pd.errors.DtypeWarning)
            table, facts = form.read(text)
        year, hours = _in_order(table, facts, form)
    except InputError as exc:
        raise InputError(exc.what, where=where, fix=exc.fix) from exc
    except (ValueError, KeyError, IndexError, TypeError, OverflowError, AttributeError) as exc:
        msg = f"no {form.name} weather can be read from it ({str(exc).splitlines()[0][:120]})"
        fix = f"fetch the file again; {form.name} files are used as they come, with their header"
        raise InputError(msg, where=where, fix=fix) from exc
    if (unfit := first_unfit(hours)) is not None:
        raise InputError(unfit[0], where=where, fix=unfit[1])
    hours, assumed = filled(hours)
    if (gap := first_unfit(hours, gaps_count=True)) is not None:
        raise InputError(gap[0], where=where, fix=gap[1])
    weather = Weather(
        name=facts["name"],
        form=form.name,
        lat=facts["lat"],
        lon=facts["lon"],
        ground_elevation_m=facts["elevation"],
        utc_offset_h=facts["offset"],
        utc=pd.DatetimeIndex(hours.index) - pd.Timedelta(hours=facts["offset"]),
        **{name: hours[name].to_numpy(np.float64) for name in MEASURES},
    )
    return weather, _report(weather, str(path), year, (*facts["assumed"], *assumed))


@dataclass(frozen=True)
class _Form:
    name: str
    read: Callable[[str], tuple[pd.DataFrame, dict[str, Any]]]
    stamps: Callable[[pd.DataFrame], tuple[pd.DatetimeIndex, NDArray[np.int64]]]
    missing: dict[str, float]  # at and beyond these there is no measure


def _read_epw(text: str) -> tuple[pd.DataFrame, dict[str, Any]]:
    # pvlib names the columns by number; the header says how many rows an hour has.
    header = [line.split(",") for line in text.splitlines()[:8]]
    if len(header) < 8 or header[0][0].strip().upper() != "LOCATION":
        msg = "it does not start with the eight header lines of an EPW file, LOCATION first"
        raise InputError(msg, fix="name the weather file as it was fetched, not a part of it")
    periods = header[7]
    if periods[0].strip().upper() == "DATA PERIODS" and int(periods[2]) != 1:
        msg = f"it has {periods[2]} rows an hour"
        raise InputError(msg, fix="give hourly weather")
    _require_hours(np.array([line.split(",")[3] for line in text.splitlines()[8:] if line], int))
    table, told = pvlib.iotools.read_epw(io.StringIO(text))
    facts = _facts(told, f"{told['city']}".strip())
    saving = [field.strip() for field in header[4][2:4]]
    if any(field not in {"", "0"} for field in saving):
        facts["assumed"] = (
            "the header names a daylight saving period; hours are read as standard time, "
            "as the format has them",
        )
    return table, facts


def _read_tmy3(text: str) -> tuple[pd.DataFrame, dict[str, Any]]:
    table, told = pvlib.iotools.read_tmy3(io.StringIO(text), map_variables=True)
    return table, _facts(told, str(told["Name"]).strip('" '))


def _require_hours(ends: NDArray[np.int64]) -> None:
    if ends.size and not ((ends >= 1) & (ends <= 24)).all():
        msg = f"hours are numbered {ends.min()} to {ends.max()}, not 1 to 24"
        raise InputError(msg, fix="number each hour by its end, 1 to 24")


def _facts(told: dict[str, Any], name: str) -> dict[str, Any]:
    lat, lon, offset = (float(told[key]) for key in ("latitude", "longitude", "TZ"))
    elevation = float(told["altitude"])
    if not (abs(lat) <= 90 and abs(lon) <= 180 and abs(offset) <= 14 and abs(elevation) < 9000):
        msg = f"its header names no place: {lat:g}, {lon:g}, UTC{offset:+g}, {elevation:g} m"
        raise InputError(msg, fix="correct the first line, or fetch the file again")
    return {"name": name, "lat": lat, "lon": lon, "offset": offset, "elevation": elevation,
            "assumed": ()}  # fmt: skip


# The stamps as they stand in the files: date, and the hour 1 to 24 that ends. pvlib's own index
# puts the last hour of 28 February of a leap year onto 1 March.
def _stamps_epw(table: pd.DataFrame) -> tuple[pd.DatetimeIndex, NDArray[np.int64]]:
    days = pd.to_datetime(table[["year", "month", "day"]])
    return pd.DatetimeIndex(days), np.asarray(table["hour"], dtype=np.int64)


def _stamps_tmy3(table: pd.DataFrame) -> tuple[pd.DatetimeIndex, NDArray[np.int64]]:
    days = pd.to_datetime(table["Date (MM/DD/YYYY)"], format="%m/%d/%Y")
    hours = table["Time (HH:MM)"].str.partition(":")[0]
    return pd.DatetimeIndex(days), np.asarray(hours.astype(np.int64))


_FORMS = {
    ".epw": _Form("EPW", _read_epw, _stamps_epw, {"air_c": 99.9, "wind_m_s": 999.0, "sun": 9999}),
    ".csv": _Form("TMY3", _read_tmy3, _stamps_tmy3, {}),
}
_COLUMNS = {"air_c": "temp_air", "wind_m_s": "wind_speed", "ghi": "ghi", "dni": "dni", "dhi": "dhi"}


def _in_order(
    table: pd.DataFrame, facts: dict[str, Any], form: _Form
) -> tuple[tuple[int, int], pd.DataFrame]:
    """Return the first and last year met, and the measures by hour of the nominal year."""
    days, ends = form.stamps(table)
    _require_hours(ends)
    middle = days + pd.to_timedelta(ends - 0.5, unit="h")
    years = int(middle.year.min()), int(middle.year.max())
    kept = ~((middle.month == 2) & (middle.day == 29))
    if not kept.all():
        facts["assumed"] = (*facts["assumed"], "29 February is left out")
    hours = pd.DataFrame(
        {name: pd.to_numeric(table[column]).to_numpy(np.float64)
         for name, column in _COLUMNS.items()}
    )[kept]  # fmt: skip
    for name in hours:
        limit = form.missing.get(str(name), form.missing.get("sun", np.inf))
        # TMY3 has -9900; some EPW files do, too.
        hours[name] = hours[name].where((hours[name] < limit) & (hours[name] > -9000))
    middle = middle[kept]
    hours.index = pd.to_datetime(
        {"year": np.full(middle.size, NOMINAL_YEAR), "month": middle.month, "day": middle.day,
         "hour": middle.hour, "minute": middle.minute}
    )  # fmt: skip
    hours.index = pd.DatetimeIndex(hours.index, tz="UTC")
    whole = pd.date_range(f"{NOMINAL_YEAR}-01-01 00:30", periods=HOURS, freq="h", tz="UTC")
    if hours.index.has_duplicates:
        twice = hours.index[hours.index.duplicated()][0]
        msg = f"an hour stands there more than once: {twice:%m-%d}, the one from {twice:%H}:00 on"
        raise InputError(msg, fix="give one year, each hour once")
    lacking = whole.difference(hours.index)
    if lacking.size:
        msg = f"{lacking.size:,} hours of the year are not there, first {lacking[0]:%m-%d %H}:00"
        raise InputError(msg, fix="give a whole year of hourly weather")
    return years, hours.sort_index()


def _text(path: str, where: str) -> str:
    if not is_local(path):
        msg = "weather is read from this machine only"
        raise InputError(msg, where=where, fix="fetch the file and name it by its path")
    try:
        if Path(path).is_file() and Path(path).stat().st_size > LARGEST_BYTES:
            msg = "it is too large for a year of hourly weather"
            raise InputError(msg, where=where, fix="name an EPW or a TMY3 file")
        raw = Path(path).read_bytes()
    except OSError as exc:
        missing = isinstance(exc, FileNotFoundError)
        msg = "there is no such file" if missing else f"it cannot be read: {exc.strerror}"
        raise InputError(msg, where=where, fix="check its name, and who may read it") from exc
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("latin-1")  # names of stations in older files


def _report(
    weather: Weather, path: str, years: tuple[int, int], assumed: tuple[str, ...]
) -> InputReport:
    north, east = ("N" if weather.lat >= 0 else "S"), ("E" if weather.lon >= 0 else "W")
    spread = f"{years[0]}" if years[0] == years[1] else f"months of {years[0]} to {years[1]}"
    return InputReport(
        "weather",
        path,
        facts=(
            f"{weather.form}, {weather.name}: {abs(weather.lat):.2f}° {north}, "
            f"{abs(weather.lon):.2f}° {east}, {weather.ground_elevation_m:.0f} m, "
            f"UTC{weather.utc_offset_h:+g}",
            f"{HOURS:,} hours; {spread}",
            f"{weather.midsummer[1]} mean daily maximum "
            f"{weather.midsummer_mean_daily_max_c:.1f} °C",
        ),
        done=("each hour stands for its middle, in UTC",),
        assumed=assumed,
        warnings=tuple(doubts(weather)),
    )
