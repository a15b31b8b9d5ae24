"""Boxes of a register as files: all that is known of their places as CSV, those up as GPX."""

from __future__ import annotations

import os
from pathlib import Path
from xml.etree.ElementTree import Element, SubElement

import pandas as pd

from suitability.errors import InputError
from suitability.follow_up.box_rows import COLUMNS
from suitability.follow_up.rows import CAUTION
from suitability.outputs.spreadsheet import harmless, write_csv_text
from suitability.outputs.xml_text import add_text, write_xml

SENSITIVE = "these are exact places of roosts: keep them from the public"

_FIX = "name a file that ends in .csv or .gpx; for the public, .geojson with --public or --by"
_NAMESPACE = "http://www.topografix.com/GPX/1/1"


def standing(placements: pd.DataFrame) -> pd.DataFrame:
    """Return the places in which boxes are now."""
    return placements[placements["taken_down"].isna()]


def told_places(placements: pd.DataFrame) -> pd.DataFrame:
    """Return places as texts, for people."""
    facing = placements["facing_deg"].map("{:.0f}°".format, na_action="ignore")
    columns = {
        "box": placements["box"],
        "put up": placements["put_up"].dt.strftime("%Y-%m-%d"),
        "taken down": placements["taken_down"].dt.strftime("%Y-%m-%d"),
        "kind": placements["kind"],
        "facing": facing,
        "longitude": placements["lon_deg"].map("{:.6f}".format),
        "latitude": placements["lat_deg"].map("{:.6f}".format),
    }
    return pd.DataFrame(columns).astype(object).fillna("").astype(str)


def export_boxes(placements: pd.DataFrame, path: str | os.PathLike[str]) -> int:
    """Write places of boxes; return how many.

    Parameters
    ----------
    placements : pandas.DataFrame
        As `Register.placements` gives them.
    path : path
        `.csv` for all places, in columns that can be imported; `.gpx` for those that are up. Both
        say of themselves that they are not for the public.

    Raises
    ------
    InputError
        If the file's name ends otherwise, or it cannot be written.
    """
    suffix = Path(path).suffix.casefold()
    writers = {".csv": _write_csv, ".gpx": _write_gpx}
    if suffix not in writers:
        msg = f"boxes are not written as `{suffix or 'a file without an ending'}`"
        raise InputError(msg, where=path, fix=_FIX)
    try:
        return writers[suffix](placements, path)
    except OSError as exc:
        msg = f"this cannot be written: {exc.strerror}"
        raise InputError(msg, where=path, fix="name another file") from exc


def _write_csv(placements: pd.DataFrame, path: str | os.PathLike[str]) -> int:
    told = placements[list(COLUMNS)].copy()
    for name in told.columns:
        if told[name].dtype == object:
            told[name] = told[name].map(harmless, na_action="ignore")
    for name in ("lon_deg", "lat_deg"):
        told[name] = told[name].map("{:.6f}".format)
    told[CAUTION] = SENSITIVE
    write_csv_text(path, told.to_csv(index=False, lineterminator="\r\n"))
    return len(told)


def _write_gpx(placements: pd.DataFrame, path: str | os.PathLike[str]) -> int:
    root = Element("gpx", {"xmlns": _NAMESPACE, "version": "1.1", "creator": "suitability"})
    add_text(SubElement(root, "metadata"), "desc", SENSITIVE)
    shown = standing(placements)
    for place in shown.to_dict("records"):
        degrees = {"lat": f"{place['lat_deg']:.6f}", "lon": f"{place['lon_deg']:.6f}"}
        point = SubElement(root, "wpt", degrees)
        add_text(point, "name", place["box"])
        add_text(point, "sym", "Flag")
        add_text(point, "type", "bat box")
    write_xml(path, root)
    return len(shown)
