"""The sun of textbook geometry: a fixed declination, solar time, no refraction."""

import numpy as np
import pandas as pd

from suitability.sun import SunPath


def sun_of_day(lat_deg, declination_deg, *, step_min=2.0):
    """Return solar hour, azimuth and altitude (degrees) at the middles of a day's steps."""
    count = round(1440 / step_min)
    hour = (np.arange(count) + 0.5) * 24 / count
    f, d = np.radians(lat_deg), np.radians(declination_deg)
    w = np.radians((hour - 12) * 15)
    up = np.sin(f) * np.sin(d) + np.cos(f) * np.cos(d) * np.cos(w)
    east = -np.cos(d) * np.sin(w)
    north = np.cos(f) * np.sin(d) - np.sin(f) * np.cos(d) * np.cos(w)
    altitude = np.degrees(np.arcsin(np.clip(up, -1, 1)))
    return hour, np.degrees(np.arctan2(east, north)) % 360, altitude


def path_of_day(lat_deg, declination_deg, *, step_min=1.0):
    """Return the same as a path of the program, every position above the horizon counted."""
    hour, azimuth, altitude = sun_of_day(lat_deg, declination_deg, step_min=step_min)
    up = altitude > 0
    midnight = pd.Timestamp("2025-06-21", tz="UTC")
    return SunPath(
        utc=pd.DatetimeIndex(midnight + pd.to_timedelta(hour[up], unit="h")),
        azimuth_deg=azimuth[up],
        altitude_deg=altitude[up],
        month=np.full(up.sum(), 6),
        is_morning=hour[up] < 12,
        hours=np.full(up.sum(), step_min / 60),
        share_of_season={6: 1.0},
        rule="geometric centre above the horizon",
    )
