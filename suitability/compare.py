"""What changed between two runs of one piece of land: settings, scores and sites."""

from __future__ import annotations

import math
import os
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import rasterio
from numpy.typing import NDArray

from suitability.decide.compared import (
    ScoreChange,
    SitePair,
    block_counts,
    match_sites,
)
from suitability.errors import InputError, ResultError
from suitability.finished import FinishedRun
from suitability.grid import Float64, Grid, Window
from suitability.outputs.atomic import write_text
from suitability.outputs.cautions import short_caution
from suitability.outputs.change_figure import ChangeMap, draw_change, majority
from suitability.outputs.comparison import (
    Comparison,
    comparison_record,
    walls_in_words,
)
from suitability.outputs.comparison_settings import setting_changes
from suitability.outputs.picture_page import Words
from suitability.outputs.rasters import (
    CACHE_BYTES,
    assemble_raster,
    read_small,
    write_part,
)
from suitability.outputs.record import write_record
from suitability.quantities import Units

FILES = ("score_change.tif", "score_change.png", "sites_compared.csv", "comparison.json")
_WINDOW = 1024  # cells along the windows that are compared
_MAP_CELLS = 1600  # along the map's longer side: finer is not printed


def compare_runs(
    first: str | os.PathLike[str],
    second: str | os.PathLike[str],
    out: str | os.PathLike[str] | None = None,
    *,
    units: Units | None = None,
) -> tuple[Comparison, Path]:
    """Compare two finished runs and write what differs; return it and the folder it lies in.

    Parameters
    ----------
    first, second : path
        The runs' folders; changes lead from the first to the second.
    out : path, optional
        Where to; left out, `compared_with_NAME` in the second run's folder.
    units : {"metric", "us"}, optional
        To tell measures in; left out, those of the second run.

    Raises
    ------
    InputError
        If a folder holds no finished run, or the other cannot be written into.
    ResultError
        If the runs do not lie on the same lattice of cells, or have no land in common.
    """
    old, new = FinishedRun.of(first), FinishedRun.of(second, units)
    in_old, in_new = common_windows(old.grid, new.grid)
    folder = Path(out) if out else new.folder / f"compared_with_{old.folder.resolve().name}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with rasterio.Env(GDAL_CACHEMAX=CACHE_BYTES):
            land, coarse = _compare_land(old, new, in_old, in_new, folder)
    except OSError as exc:
        msg = f"this cannot be written: {exc.strerror or exc}"
        raise InputError(msg, where=folder, fix="choose another folder with --out") from exc
    cells = in_old.rows * in_old.cols
    found = Comparison(
        names=(str(first), str(second)),
        settings=setting_changes(old.record, new.record),
        land=land,
        common_share=(cells / _cells(old), cells / _cells(new)),
        sites=_site_changes(old, new),
        walls=walls_in_words(old.record, new.record),
    )
    grid = old.grid.window(in_old)
    draw_change(
        folder / "score_change.png", _words(old, new, found), _map(grid, coarse, found, folder)
    )
    table = found.sites.assign(caution=short_caution())
    write_text(folder / "sites_compared.csv", table.to_csv(index=False, lineterminator="\r\n"))
    write_record(folder / "comparison.json", comparison_record(found))
    return found, folder


def common_windows(old: Grid, new: Grid) -> tuple[Window, Window]:
    """Return the land that two grids have in common, as a window of each.

    Raises
    ------
    ResultError
        If their cells do not coincide, or none is common.
    """
    fix = "screen both with the same inputs.elevation or grid section, then compare again"
    if not old.crs.equals(new.crs) or old.cell_m != new.cell_m:
        msg = (
            f"the runs have different grids: {old.label}, cells of {old.cell_m:g} m, and "
            f"{new.label}, cells of {new.cell_m:g} m"
        )
        raise ResultError(msg, where="suitability compare", fix=fix)
    down = (old.north - new.north) / old.cell_m
    across = (new.west - old.west) / old.cell_m
    if max(abs(down - round(down)), abs(across - round(across))) > 1e-6:
        part = f"{abs(across - round(across)):.2g} and {abs(down - round(down)):.2g} of a cell"
        msg = f"the cells of the runs do not coincide: they lie {part} apart, east and north"
        raise ResultError(msg, where="suitability compare", fix=fix)
    row, col = max(round(down), 0), max(round(across), 0)
    rows = min(old.rows, round(down) + new.rows) - row
    cols = min(old.cols, round(across) + new.cols) - col
    if rows <= 0 or cols <= 0:
        msg = "the runs have no land in common"
        raise ResultError(msg, where="suitability compare", fix="compare runs of the same land")
    in_old = Window(row, col, rows, cols)
    return in_old, Window(row - round(down), col - round(across), rows, cols)


def _compare_land(
    old: FinishedRun, new: FinishedRun, in_old: Window, in_new: Window, folder: Path
) -> tuple[ScoreChange, list[NDArray[np.int64]]]:
    """Sum how scores moved, write the raster, and count cells for the map, window by window."""
    grid = old.grid.window(in_old)
    step = _map_step(grid)
    side = max(_WINDOW // step, 1) * step
    land, parts = ScoreChange(), folder / ".parts"
    coarse = [np.zeros(grid.coarser(step).shape, np.int64) for _ in range(3)]
    files = {}
    try:
        for window in grid.tiles(side):
            before = old.window(_shifted(window, in_old))
            after = new.window(_shifted(window, in_new))
            moved = land.add(before, after, (old.reasons, new.reasons))
            was, is_now = np.isfinite(before[0]), np.isfinite(after[0])
            top, left = window.row // step, window.col // step
            for counted, mask in zip(
                coarse, (was & is_now, is_now & ~was, was & ~is_now), strict=True
            ):
                block = block_counts(mask, step)
                counted[top : top + block.shape[0], left : left + block.shape[1]] = block
            files[window] = parts / f"{window.row}_{window.col}.tif"
            write_part(files[window], moved)
        assemble_raster(
            folder / "score_change.tif",
            files,
            grid,
            name="score_change",
            unit="1",
            description="score of the second run less that of the first, where both have one",
            tags={"FIRST": old.folder.name, "SECOND": new.folder.name},
        )
    finally:
        shutil.rmtree(parts, ignore_errors=True)
    return land, coarse


def _map_step(grid: Grid) -> int:
    return math.ceil(max(grid.shape) / _MAP_CELLS)


def _cells(run: FinishedRun) -> int:
    return run.grid.rows * run.grid.cols


def _places(run: FinishedRun) -> Float64:
    """Return x and y of the sites, (n, 2), by rank. [m]."""
    sites = [(site["x_m"], site["y_m"]) for site in run.record["sites"]]
    return np.array(sites, np.float64).reshape(-1, 2)


def _kinds(run: FinishedRun) -> list[str]:
    """Return what the sites hang on, by rank."""
    return [site.get("kind", "pole") for site in run.record["sites"]]


def _match_within_m(run: FinishedRun) -> float:
    """Return half the distance that sites keep: within it a site has one counterpart at most."""
    wanted = run.settings["sites"]
    groups = wanted.get("groups")
    return float(wanted["spacing"] if groups is None else groups["apart"]) / 2


def _shifted(window: Window, by: Window) -> Window:
    return Window(window.row + by.row, window.col + by.col, window.rows, window.cols)


def _site_changes(old: FinishedRun, new: FinishedRun) -> pd.DataFrame:
    """Return the sites of both runs, paired where they stand for each other."""
    within_m = min(_match_within_m(old), _match_within_m(new))
    kinds = _kinds(old), _kinds(new)
    pairs = match_sites(_places(old), _places(new), within_m, kinds)
    has_walls = any("kind" in site for run in (old, new) for site in run.record["sites"])
    return pd.DataFrame(
        [_site_row(pair, old, new) for pair in pairs],
        columns=["change", *(["kind"] if has_walls else []), "old_rank", "new_rank", "old_score",
                 "new_score", "apart_m", "x_m", "y_m", "lon_deg", "lat_deg"],
    ).astype({"old_rank": "Int64", "new_rank": "Int64"})  # fmt: skip


def _site_row(pair: SitePair, old: FinishedRun, new: FinishedRun) -> dict[str, Any]:
    before = {} if pair.old is None else old.record["sites"][pair.old]
    after = {} if pair.new is None else new.record["sites"][pair.new]
    if before and after:
        change = "stayed" if pair.apart_m < new.grid.cell_m / 2 else "moved"
    else:
        change = "came" if after else "went"
    here = after or before
    return {
        "change": change,
        "kind": here.get("kind", "pole"),
        "old_rank": before.get("rank"),
        "new_rank": after.get("rank"),
        "old_score": _rounded(before.get("score"), 4),
        "new_score": _rounded(after.get("score"), 4),
        "apart_m": _rounded(pair.apart_m, 2),
        "x_m": here["x_m"],
        "y_m": here["y_m"],
        "lon_deg": _rounded(here["lon_deg"], 6),
        "lat_deg": _rounded(here["lat_deg"], 6),
    }


def _rounded(value: float | None, digits: int) -> float:
    return math.nan if value is None else round(value, digits)


def _map(grid: Grid, coarse: list[NDArray[np.int64]], found: Comparison, folder: Path) -> ChangeMap:
    step = _map_step(grid)
    came_in, went_out = majority(coarse)
    sites = found.sites
    listed = sites[sites["new_rank"].notna()].sort_values("new_rank")
    old = sites[sites["change"].isin(["went"])]
    return ChangeMap(
        grid=grid.coarser(step),
        moved=np.where(came_in | went_out, np.float32(np.nan), read_small(folder / FILES[0], step)),
        came_in=came_in,
        went_out=went_out,
        ranks=tuple(listed["new_rank"].astype(int)),
        x_m=listed["x_m"].to_numpy(np.float64),
        y_m=listed["y_m"].to_numpy(np.float64),
        gone_x_m=old["x_m"].to_numpy(np.float64),
        gone_y_m=old["y_m"].to_numpy(np.float64),
    )


def _words(old: FinishedRun, new: FinishedRun, found: Comparison) -> Words:
    tell = new.quantities.retold
    return Words(
        title=f"{new.record['title']}: what changed",
        lines=(
            f"First run: {old.dated_name}. Second run: {new.dated_name}. Colours show by how much "
            "the score moved from the first to the second.",
            *map(tell, found.in_words),
        ),
        foot=(tell(short_caution()),),
    )
