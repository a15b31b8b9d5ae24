"""The form for visits to boxes, of a finished run or a register, to be filled in on a phone."""

from __future__ import annotations

import os
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import geopandas
import pandas as pd

from suitability.errors import InputError, ResultError
from suitability.finished import FinishedRun
from suitability.follow_up.reviewing import review_register
from suitability.follow_up.visit_form import VISITS, visit_fields
from suitability.grid import WGS84
from suitability.outputs.cautions import short_caution
from suitability.outputs.form_geopackage import write_form

FORM = "visit_form.gpkg"

_COLUMNS = ("rank", "kind", "role", "box", "colour", "chambers", "facing_deg",
            "facing_magnetic_deg", "mount_height_m", "mgrs")  # fmt: skip
_OF_REGISTER = ("state", "last_look", "put_up", "kind", "design", "colour", "chambers",
                "facing_deg", "mount_height_m")  # fmt: skip


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
    path = _free_path(run.folder / FORM if to is None else Path(to))
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
    return _written(path, boxes, names, run.title)


def write_register_form(
    address: str | os.PathLike[str], to: str | os.PathLike[str] | None = None, *, on: date
) -> Path:
    """Write a GeoPackage with the boxes of a register that are up; return where it lies.

    Each is told with how it stands, so that whoever goes out sees which are due. What is filled in
    goes back into the register by its name. A form that is there is not overwritten.

    Parameters
    ----------
    address : str or path
        Of the register.
    to : path, optional
        The file; left out, `visit_form.gpkg` in the present folder.
    on : datetime.date
        The day on which it counts how they stand.

    Raises
    ------
    InputError
        If there is no register, or the form is there already or cannot be written.
    ResultError
        If no box is up.
    """
    path = _free_path(Path(FORM) if to is None else Path(to))
    stand = review_register(address, on=on).boxes
    if stand.empty:
        msg = "no box of the register is up"
        raise ResultError(msg, where=address, fix="add boxes with `suitability boxes`")
    columns = {"name": stand["box"]} | {
        ("box_design" if name == "design" else name): stand[name] for name in _OF_REGISTER
    }
    for name in ("put_up", "last_look"):
        columns[name] = stand[name].dt.strftime("%Y-%m-%d")
    points = geopandas.points_from_xy(stand["lon_deg"], stand["lat_deg"])
    boxes = geopandas.GeoDataFrame(columns, geometry=points, crs=WGS84)
    names = [(row["box"], str(row["state"])) for row in stand.to_dict("records")]
    return _written(path, boxes, names, Path(address).stem)


def _free_path(path: Path) -> Path:
    if path.exists():
        msg = "there is a form already; it may hold visits, so it is not overwritten"
        raise InputError(msg, where=path, fix="name another file with --to, or move that one away")
    return path


def _written(
    path: Path, boxes: geopandas.GeoDataFrame, names: Sequence[tuple[str, str]], title: str
) -> Path:
    try:
        write_form(
            path,
            boxes,
            visit_fields(names),
            layer=VISITS,
            title=title,
            description=short_caution(),
        )
    except OSError as exc:
        msg = f"this cannot be written: {exc.strerror or exc}"
        raise InputError(msg, where=path, fix="name another file with --to") from exc
    return path


def _word_on(site: dict[str, object]) -> str:
    box = site.get("box")
    return str(site["mgrs"]) if pd.isna(box) else f"{box}, {site['mgrs']}"  # type: ignore[call-overload]
