"""The form for visits to the boxes of a finished run, to be filled in on a phone."""

from __future__ import annotations

import os
from pathlib import Path

import geopandas
import pandas as pd

from suitability.errors import InputError, ResultError
from suitability.finished import FinishedRun
from suitability.follow_up.visit_form import VISITS, visit_fields
from suitability.grid import WGS84
from suitability.outputs.cautions import short_caution
from suitability.outputs.form_geopackage import write_form

FORM = "visit_form.gpkg"

_COLUMNS = ("rank", "kind", "role", "box", "colour", "chambers", "facing_deg",
            "facing_magnetic_deg", "mount_height_m", "mgrs")  # fmt: skip


def write_visit_form(
    folder: str | os.PathLike[str], to: str | os.PathLike[str] | None = None
) -> Path:
    """Write a GeoPackage with a run's boxes and an empty layer of visits; return where it lies.

    A form that is there is not overwritten: it may hold visits.

    Parameters
    ----------
    folder : path
        The run's.
    to : path, optional
        The file; left out, `visit_form.gpkg` in the run's folder.

    Raises
    ------
    InputError
        If the folder holds no finished run, or the form is there already or cannot be written.
    ResultError
        If the run has no sites.
    """
    run = FinishedRun.of(folder)
    path = run.folder / FORM if to is None else Path(to)
    if path.exists():
        msg = "there is a form already; it may hold visits, so it is not overwritten"
        raise InputError(msg, where=path, fix="name another file with --to, or move that one away")
    sites = run.sites
    if sites.empty:
        msg = "the run has no sites"
        raise ResultError(msg, where=run.folder, fix="screen again, with other criteria")
    columns = {"name": sites["site"]} | {
        f"{name}_design" if name == "box" else name: sites[name]
        for name in _COLUMNS
        if name in sites.columns
    }
    boxes = geopandas.GeoDataFrame(columns, geometry=sites.geometry, crs=sites.crs).to_crs(WGS84)
    names = [(row["site"], _word_on(row)) for row in sites.to_dict("records")]
    try:
        write_form(
            path,
            boxes,
            visit_fields(names),
            layer=VISITS,
            title=run.title,
            description=short_caution(),
        )
    except OSError as exc:
        msg = f"this cannot be written: {exc.strerror or exc}"
        raise InputError(msg, where=path, fix="name another file with --to") from exc
    return path


def _word_on(site: dict[str, object]) -> str:
    box = site.get("box")
    return str(site["mgrs"]) if pd.isna(box) else f"{box}, {site['mgrs']}"  # type: ignore[call-overload]
