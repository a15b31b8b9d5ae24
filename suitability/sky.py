"""A picture of the sky of a finished run's site."""

from __future__ import annotations

import os
from pathlib import Path

from suitability.finished import FinishedRun
from suitability.outputs.sky_chart import DayPath, draw_sky, sky_picture
from suitability.sun import sun_positions

_MIDSUMMER = {True: "06-21", False: "12-21"}  # by hemisphere: north, south


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
    middle = _MIDSUMMER[site["lat_deg"] >= 0]
    days = dict.fromkeys((middle, season["start"], season["end"]))
    path = sky_picture(folder, rank)
    facing = advice and advice["facing"]
    draw_sky(
        path,
        title=f"{record['title']}, site {rank}: the sun over its horizon",
        horizon_deg=run.horizon(rank),
        days=[_path_of(day, site["lat_deg"], site["lon_deg"], season["year"]) for day in days],
        facing_deg=None if facing is None else facing["true_deg"],
        lat=site["lat_deg"],
    )
    return path


def _path_of(day: str, lat: float, lon: float, year: int) -> DayPath:
    sun = sun_positions(
        lat, lon, start=day, end=day, step_min=5, every_days=1, year=year, rule="altitude",
        min_altitude_deg=0.0,
    )  # fmt: skip
    return DayPath(f"sun on {day}", sun.azimuth_deg, sun.altitude_deg)
