"""The sample area's weather: an invented year, written as an EPW file.

No station measured it. The sun stands where it stands at the sample area; clouds, warmth and wind
are drawn from fixed random seeds, day by day and hour by hour, so that the year looks like one of
moderate summers.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
from numpy.typing import NDArray

LAT_DEG, LON_DEG, OFFSET_H, GROUND_M = 40.2, -84.3, -5, 300
SEED = 20250

# EPW columns that this year does not tell, by their codes for "missing".
_MISSING = {"dew": "99.9", "humidity": "999", "pressure": "999999", "illum": "999999"}
Array = NDArray[np.float64]


def write_weather(path: Path) -> None:
    """Write the year; the same bytes each time."""
    clock = pd.date_range("2025-01-01 00:30", periods=8760, freq="h")
    utc = (clock - pd.Timedelta(hours=OFFSET_H)).tz_localize("UTC")
    air_c, wind_m_s, ghi, dni, dhi = _year(utc, clock)
    rows = [
        f"2025,{at.month},{at.day},{at.hour + 1},60,invented,"
        f"{air_c[k]:.1f},{_MISSING['dew']},{_MISSING['humidity']},{_MISSING['pressure']},"
        f"9999,9999,9999,{ghi[k]:.0f},{dni[k]:.0f},{dhi[k]:.0f},"
        f"{_MISSING['illum']},{_MISSING['illum']},{_MISSING['illum']},9999,"
        f"999,{wind_m_s[k]:.1f},99,99,9999,99999,9,999999999,999,.999,999,99,999,999,99"
        for k, at in enumerate(clock)
    ]
    path.write_bytes("\n".join([*_header(), *rows, ""]).encode("ascii"))


def _header() -> list[str]:
    return [
        f"LOCATION,Cinder Fen (invented),-,-,invented,000000,{LAT_DEG},{LON_DEG},{OFFSET_H},"
        f"{GROUND_M}",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,INVENTED weather for a demonstration; no station measured it",
        "COMMENTS 2,Drawn from a fixed random seed; not for any real place",
        "DATA PERIODS,1,1,Data,Wednesday,1/1,12/31",
    ]


def _year(
    utc: pd.DatetimeIndex, clock: pd.DatetimeIndex
) -> tuple[Array, Array, Array, Array, Array]:
    """Return air, wind, and global, direct and diffuse irradiance, hour by hour."""
    rng = np.random.default_rng(SEED)
    cloud = np.clip(_wandering(rng, 365, 0.6) * 0.35 + 0.45, 0, 1)
    hourly_cloud = np.clip(np.repeat(cloud, 24) + _wandering(rng, 8760, 0.8) * 0.15, 0, 1)
    clear = pvlib.location.Location(LAT_DEG, LON_DEG, altitude=GROUND_M).get_clearsky(
        utc, linke_turbidity=3.2
    )
    zenith = pvlib.solarposition.get_solarposition(utc, LAT_DEG, LON_DEG)["zenith"].to_numpy()
    dni = clear["dni"].to_numpy() * np.clip(1 - 1.3 * hourly_cloud, 0, 1)
    ghi = clear["ghi"].to_numpy() * (1 - 0.72 * hourly_cloud**2)
    beam = np.clip(dni * np.cos(np.radians(zenith)), 0, ghi)
    dni = np.where(beam > 0, dni, 0.0)
    day = clock.dayofyear.to_numpy()
    hour = clock.hour.to_numpy() + 0.5
    season_c = 13.0 - 13.8 * np.cos(2 * np.pi * (day - 22) / 365)
    swing_c = (6.5 - 3.5 * np.repeat(cloud, 24)) * np.cos(2 * np.pi * (hour - 15) / 24)
    spells_c = np.repeat(_wandering(rng, 365, 0.75) * 3.0, 24)
    wind = np.clip(
        3.2 + 1.2 * np.cos(2 * np.pi * (hour - 14) / 24) + _wandering(rng, 8760, 0.85) * 1.3, 0, 15
    )
    return season_c + swing_c + spells_c, wind, ghi, dni, ghi - beam


def _wandering(rng: np.random.Generator, steps: int, kept: float) -> Array:
    """Return a walk that is drawn back to 0, of unit variance."""
    walk = np.zeros(steps)
    for step, push in enumerate(rng.normal(size=steps)):
        walk[step] = kept * walk[step - 1] + np.sqrt(1 - kept**2) * push
    return walk
