"""A finished run as one page for a browser: map, sites, and weights that can be moved."""

from __future__ import annotations

import os
from dataclasses import asdict
from pathlib import Path
from typing import Any

from suitability.config.mount import Mount
from suitability.finished import FinishedRun
from suitability.mapping import caption_of, day_in_words
from suitability.outputs import colours
from suitability.outputs.cautions import short_caution
from suitability.outputs.change_figure import CHANGE_COLOURS, CHANGE_SCALES, CHANGE_STEPS
from suitability.outputs.figure_map import first_class_from
from suitability.outputs.web_page import write_web_page
from suitability.quantities import Units
from suitability.web_map.judging import tree_of
from suitability.web_map.land import RELIEF_SHADES, PageLand, land_of_page
from suitability.web_map.place import fitted
from suitability.web_map.shapes import shapes_of
from suitability.web_map.sites import sites_of, suns_of

MAP = "map.html"
MOST_CELLS = 1_500_000
FEWEST_CELLS = 10_000
MOST_BYTES = 10_000_000  # of rasters: a page of 12 MB still goes by mail and opens on phones


def write_web_map(
    folder: str | os.PathLike[str],
    path: str | os.PathLike[str] | None = None,
    *,
    cells: int = MOST_CELLS,
    units: Units | None = None,
) -> Path:
    """Write the page of a finished run; return where it lies.

    Parameters
    ----------
    folder : path
        The run's folder.
    path : path, optional
        Where to; left out, `map.html` in the run's folder.
    cells : int
        At most, on the page; wider land is shown in coarser ones.
    units : {"metric", "us"}, optional
        To tell measures in; left out, those of the run.

    Raises
    ------
    InputError
        If the folder holds no finished run.
    """
    target = Path(folder) / MAP if path is None else Path(path)
    page_of_run(FinishedRun.of(folder, units), target, cells=cells)
    return target


def page_of_run(run: FinishedRun, path: Path, *, cells: int = MOST_CELLS) -> None:
    """Write the page of a run whose files lie in its folder.

    Parameters
    ----------
    run : FinishedRun
        The run; its record need not be written yet.
    path : pathlib.Path
        Where to.
    cells : int
        At most, on the page.
    """
    land = land_of_page(run, cells)
    while sum(map(len, land.blocks.values())) > MOST_BYTES and cells > FEWEST_CELLS:
        cells //= 2  # rough land, or many criteria
        land = land_of_page(run, cells)
    write_web_page(path, title=run.title, facts=_facts(run, land), blocks=land.blocks)


def _facts(run: FinishedRun, land: PageLand) -> dict[str, Any]:
    grid, tell = land.grid, run.quantities
    sites, texts = sites_of(run)
    away = fitted(run.grid)
    return {
        "title": run.title,
        "run": f"{run.record['run_file']}, {run.record['written_utc'][:10]}",
        "subtitle": _season_and_mount(run),
        "caption": caption_of(run),
        "warnings": run.warnings,
        "cautions": [tell.retold(caution) for caution in run.record["cautions"]],
        "texts": texts,
        "caution": tell.retold(short_caution()),
        "grid": {
            "crs": grid.label,
            "rows": grid.rows,
            "cols": grid.cols,
            "cell_m": grid.cell_m,
            "width_m": run.grid.cols * run.grid.cell_m,
            "height_m": run.grid.rows * run.grid.cell_m,
            "step": round(grid.cell_m / run.grid.cell_m),
            "cell": tell.stated(grid.cell_m),
            "convergence_deg": run.grid.convergence_deg(),
        },
        "lonlat": {**asdict(away), "error": tell.length(max(away.error_m, 0.1))},
        "tree": tree_of(run.judgement),
        "stated": run.judgement.stated.in_numbers().model_dump(mode="json", exclude_none=True),
        "leaves": land.leaves,
        "reasons": land.reasons,
        "sums": land.sums,
        "lowest": first_class_from(land.score),
        "colours": {
            "score": colours.SCORE_COLOURS,
            "change": CHANGE_COLOURS,
            "change_scales": CHANGE_SCALES,
            "change_steps": CHANGE_STEPS,
            "water": colours.WATER,
            "building": colours.BUILDING,
            "relief_darkest": colours.RELIEF_DARKEST,
            "relief_shades": RELIEF_SHADES,
        },
        "sites": sites,
        "suns": suns_of(run, sites),
        "timing": (run.record.get("boxes") or {}).get("timing"),
        "shapes": shapes_of(run, grid.cell_m / 4),
    }


def _season_and_mount(run: FinishedRun) -> str:
    season, mount = run.settings["season"], Mount.model_validate(run.settings["mount"])
    days = f"{day_in_words(season['start'])} to {day_in_words(season['end'])}"
    return f"{days}; {mount.in_words}, {run.quantities.height(mount.height)} above the ground"
