"""A picture of the sky of a finished run's site."""

from __future__ import annotations

import os
from pathlib import Path

from suitability.finished import FinishedRun
from suitability.outputs.sky_chart import DayPath, draw_sky, sky_picture
from suitability.sun import days_shown, sun_on


def draw_site_sky(folder: str | os.PathLike[str], rank: int) -> Path:
    """Draw the sky of a site of a finished run into its folder; return the picture's path.

    Parameters
    ----------
    folder : path
        The run's folder.
    rank : int
        Of the site.

    Raises
    ------
    ResultError
        If the run keeps no horizon of it.
    """
    run = FinishedRun.of(folder)
    record = run.record
    site = next(each for each in record["sites"] if each["rank"] == rank)
    season, advice = record["settings"]["season"], run.advice(rank)
    lat, lon = site["lat_deg"], site["lon_deg"]
    days = days_shown(season["start"], season["end"], lat)
    path = sky_picture(folder, rank)
    facing = advice and advice["facing"]
    draw_sky(
        path,
        title=f"{record['title']}, site {rank}: the sun over its horizon",
        horizon_deg=run.horizon(rank),
        days=[DayPath(f"sun on {day}", *sun_on(day, lat, lon, season["year"])) for day in days],
        facing_deg=None if facing is None else facing["true_deg"],
        lat=lat,
    )
    return path
