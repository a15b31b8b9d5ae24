"""Why a place of a finished run has its score, or has none."""

from __future__ import annotations

import math
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from suitability.decide import (
    Basis,
    Judgement,
    Part,
    Reason,
    explain_place,
    limiting,
    reasons_in,
)
from suitability.errors import ResultError
from suitability.finished import FinishedRun
from suitability.grid import Grid
from suitability.outputs.rasters import read_cells
from suitability.outputs.record import RECORD, read_record, recorded_judgement


@dataclass(frozen=True)
class Place:
    """A cell of a finished run.

    Parameters
    ----------
    lon, lat : float
        Of the cell's centre, WGS 84. [degrees]
    x, y : float
        Of the cell's centre in the run's CRS. [m]
    score : float or None
        None where the cell is out.
    reasons : tuple of Reason
        Why it is out.
    rules : dict of str to Basis
        By a reason's key: the rule that makes it, as the run's record has it.
    would_score : float
        What the cell would score without any reason against it; NaN where a measure is missing.
    judgement : Judgement
        How the run judged.
    parts : tuple of Part
        What each criterion does to the score.
    limiting : Part or None
        The limiting criterion; None where every value is at its best.
    on_wall : str or None
        For a site on a wall: whose it is and which way it looks. Its sun is that on its face.
    """

    lon: float
    lat: float
    x: float
    y: float
    score: float | None
    reasons: tuple[Reason, ...]
    rules: dict[str, Basis]
    would_score: float
    judgement: Judgement
    parts: tuple[Part, ...]
    limiting: Part | None
    on_wall: str | None = None


def explain_site(folder: str | os.PathLike[str], rank: int) -> Place:
    """Explain a listed site of a run.

    Parameters
    ----------
    folder : path
        The run's folder.
    rank : int
        Rank of the site.

    Raises
    ------
    ResultError
        If the run lists no such site.
    """
    sites = {site["rank"]: site for site in read_record(folder)["sites"]}
    if rank not in sites:
        msg = f"the run lists no site {rank}"
        known = f"its sites are 1 to {max(sites)}" if sites else "it found none"
        raise ResultError(msg, where=folder, fix=known)
    site = sites[rank]
    if site.get("kind") == "wall":
        return _explain_wall(read_record(folder), site, Path(folder))
    return _explain(Path(folder), site["x_m"], site["y_m"], f"site {rank}")


def explain_at(folder: str | os.PathLike[str], lon: float, lat: float) -> Place:
    """Explain the cell at a coordinate.

    Parameters
    ----------
    folder : path
        The run's folder.
    lon, lat : float
        WGS 84. [degrees]

    Raises
    ------
    ResultError
        If it is no place, or lies outside the run's grid.
    """
    folder = Path(folder)
    if not (abs(lon) <= 180 and abs(lat) <= 90):  # nor what is no number
        msg = f"longitude {lon:g}, latitude {lat:g} is no place on Earth"
        fix = "give longitude (-180 to 180), then latitude (-90 to 90); west and south are negative"
        raise ResultError(msg, where=folder, fix=fix)
    grid = FinishedRun.of(folder).grid
    return _explain(folder, *grid.from_lonlat(lon, lat), f"longitude {lon}, latitude {lat}")


def _explain(folder: Path, x: float, y: float, name: str) -> Place:
    record = read_record(folder)
    grid = FinishedRun(folder, record).grid
    row, col = _cell(grid, x, y, name, folder)
    judgement = recorded_judgement(record)

    def cell(name: str) -> float:
        return float(read_cells(folder / name, np.array([row]), np.array([col]))[0])

    raw = {c.layer: cell(f"layers/{c.layer}.tif") for c in judgement.criteria}
    reasons = reasons_in(int(cell("excluded.tif")), _reasons(record))
    parts = explain_place(judgement, raw)
    centre_x, centre_y = (float(value) for value in grid.xy(row, col))
    lon, lat = (float(value) for value in grid.lonlat(centre_x, centre_y))
    score = None if reasons else cell("candidates.tif")
    rules, would = _rules(record), float(judgement.score(raw))
    return Place(
        lon, lat, centre_x, centre_y, score, reasons, rules, would, judgement, parts,
        limiting(parts),
    )  # fmt: skip


def _explain_wall(record: dict[str, Any], site: dict[str, Any], folder: Path) -> Place:
    """Explain a site on a wall by its own measures: the cells beside it are the building's."""
    try:
        wall = next(one for one in record["walls"] if one["rank"] == site["rank"])
        raw = {name: math.nan if m is None else float(m) for name, m in wall["measures"].items()}
        of = f"{wall['building']}, {wall['material']}" if wall["material"] else wall["building"]
        told = f"on a wall of {of}, facing {wall['facing_deg']:.0f}°"
    except (KeyError, StopIteration, TypeError, ValueError) as exc:
        msg = f"the record of the run does not say what its site {site['rank']} measures"
        raise ResultError(msg, where=folder / RECORD, fix="run `suitability screen` again") from exc
    judgement = recorded_judgement(record)
    parts = explain_place(judgement, raw)
    return Place(
        site["lon_deg"], site["lat_deg"], site["x_m"], site["y_m"], site["score"], (),
        _rules(record), site["score"], judgement, parts, limiting(parts), told,
    )  # fmt: skip


def _cell(grid: Grid, x: float, y: float, name: str, folder: Path) -> tuple[int, int]:
    # A projection has no numbers for the far side of the Earth.
    cell = grid.cell_of(x, y) if math.isfinite(x) and math.isfinite(y) else None
    if cell is not None:
        return cell
    west, south, east, north = grid.bounds
    lon, lat = grid.lonlat([west, east], [south, north])
    msg = f"{name} lies outside the land of this run"
    fix = (
        f"longitude {lon[0]:.5f} to {lon[1]:.5f} and latitude {lat[0]:.5f} to {lat[1]:.5f} are "
        "inside; longitude comes first"
    )
    raise ResultError(msg, where=folder, fix=fix)


def _reasons(record: dict[str, Any]) -> list[Reason]:
    """Return the reasons that a run knew, its own rules among them."""
    try:
        told = record["excluded_share"].items()
        return [Reason(entry["bit"], key, entry["words"]) for key, entry in told]
    except (AttributeError, KeyError, TypeError) as exc:
        msg = "the record of the run does not say why land is out, as every run's does"
        raise ResultError(msg, where=RECORD, fix="run `suitability screen` again") from exc


def _rules(record: dict[str, Any]) -> dict[str, Basis]:
    """Return the rules of a run by the reason that each makes."""
    try:
        bases = [Basis(**entry) for entry in record["bases"]]
    except (KeyError, TypeError) as exc:
        msg = "the record of the run does not say what its rules rest on, as every run's does"
        raise ResultError(msg, where=RECORD, fix="run `suitability screen` again") from exc
    return {basis.reason: basis for basis in bases if basis.reason is not None}
