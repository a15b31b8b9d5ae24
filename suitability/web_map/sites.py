"""The sites of a run for a page: measures, advice, sky."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from suitability.errors import ResultError
from suitability.finished import FinishedRun
from suitability.outputs.cautions import SiteCaution
from suitability.outputs.site_words import in_one_line
from suitability.sun import days_shown, sun_on
from suitability.web_map.judging import unit_shown

# Sites nearer than this share the sun's ways, which then lie less than 0.05° off.
_SAME_SUN_DEG = 0.05
_STEP_MIN = 10


def sites_of(run: FinishedRun) -> tuple[list[dict[str, Any]], list[str]]:
    """Return the sites, best first, each with all that is shown of it; and what to heed.

    What to heed is the same at most sites, so sites name its texts by their number.
    """
    texts: dict[str, int] = {}
    table = run.sites
    criteria = _measured(run)
    others = [name for name in run.layers if name in table.columns and name not in criteria]
    tell = run.quantities
    words = {name: (run.layer_title(name), unit_shown(name, tell)) for name in others}
    west, south, _, _ = run.grid.bounds
    found = []
    for at, row in enumerate(table.to_dict("records")):
        advice = run.record.get("boxes") and run.advice(row["rank"])
        found.append(
            {
                "rank": row["rank"],
                "kind": row.get("kind"),
                "group": row.get("group"),
                "role": row.get("role"),
                "wall": _wall(row),
                "score": row["score"],
                "x": row["x_m"] - west,
                "y": row["y_m"] - south,
                "lon": row["lon_deg"],
                "lat": row["lat_deg"],
                "mgrs": row["mgrs"],
                "measures": {name: float(values[at]) for name, values in criteria.items()},
                "others": [
                    {"title": title, "unit": unit, "measure": row[name]}
                    for name, (title, unit) in words.items()
                ],
                "advised": in_one_line(row, tell),
                "advice": advice and {key: advice[key] for key in _ADVICE},
                "heed": [
                    {
                        "reasons": caution.reasons,
                        "text": texts.setdefault(_text(caution), len(texts)),
                    }
                    for caution in run.cautions(row["rank"])
                ],
                "horizon": _horizon(run, row["rank"]),
                "sun": _sun_key(row),
            }
        )
    return found, list(texts)


def suns_of(run: FinishedRun, sites: list[dict[str, Any]]) -> dict[str, list[dict[str, Any]]]:
    """Return the sun's ways on three days of the season, by the key that sites name."""
    season = run.settings["season"]
    found: dict[str, list[dict[str, Any]]] = {}
    for site in sites:
        if site["sun"] in found or site["horizon"] is None:
            continue
        lat, lon = (float(part) for part in site["sun"].split())
        days = days_shown(season["start"], season["end"], lat)
        found[site["sun"]] = [_day(day, lat, lon, season["year"]) for day in days]
    return found


_ADVICE = ("facing", "declination", "points", "warnings")


def _text(caution: SiteCaution) -> str:
    return f"{caution.text} Last word: {caution.defer_to}."


def _measured(run: FinishedRun) -> dict[str, Any]:
    """Return what sites measure by criterion: of the land at poles, of the wall at walls."""
    table = run.sites
    x, y = table["x_m"].to_numpy(), table["y_m"].to_numpy()
    found = {leaf.name: run.measures(leaf.name, x, y) for leaf in run.judgement.leaves}
    place = {rank: at for at, rank in enumerate(table["rank"])}
    for wall in run.record.get("walls", []):
        for name, measure in wall["measures"].items():
            if name in found:
                found[name][place[wall["rank"]]] = np.nan if measure is None else measure
    return found


def _wall(row: dict[str, Any]) -> str | None:
    if row.get("kind") != "wall":
        return None
    known = (row.get("building"), row.get("material"))
    return ", ".join(str(word) for word in known if word is not None and not pd.isna(word))


def _horizon(run: FinishedRun, rank: int) -> list[int] | None:
    """Return the horizon by whole degrees in tenths of a degree, if the run keeps it."""
    try:
        return [int(each) for each in np.rint(run.horizon(rank) * 10)]
    except ResultError:
        return None


def _sun_key(row: dict[str, Any]) -> str:
    lat, lon = (round(row[name] / _SAME_SUN_DEG) * _SAME_SUN_DEG for name in ("lat_deg", "lon_deg"))
    return f"{lat:.2f} {lon:.2f}"


def _day(day: str, lat: float, lon: float, year: int) -> dict[str, Any]:
    azimuth, altitude = sun_on(day, lat, lon, year, step_min=_STEP_MIN)
    return {
        "day": day,
        "azimuth": [round(float(each), 1) for each in azimuth],
        "altitude": [round(float(each), 1) for each in altitude],
    }
