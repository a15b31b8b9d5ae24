"""A finished run as one page for a browser: map, sites, and weights that can be moved."""

from __future__ import annotations

import os
from dataclasses import asdict
from pathlib import Path
from typing import Any

from suitability.finished import FinishedRun
from suitability.outputs import colours
from suitability.outputs.cautions import short_caution
from suitability.outputs.change_figure import CHANGE_COLOURS, CHANGE_SCALES, CHANGE_STEPS
from suitability.outputs.figure_map import first_class_from
from suitability.outputs.web_page import write_web_page
from suitability.web_map.judging import title_of, tree_of
from suitability.web_map.land import RELIEF_SHADES, PageLand, land_of_page
from suitability.web_map.place import fitted
from suitability.web_map.shapes import shapes_of
from suitability.web_map.sites import sites_of, suns_of

MAP = "map.html"
MOST_CELLS = 1_500_000


def write_web_map(
    folder: str | os.PathLike[str],
    path: str | os.PathLike[str] | None = None,
    *,
    cells: int = MOST_CELLS,
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

    Raises
    ------
    InputError
        If the folder holds no finished run.
    """
    target = Path(folder) / MAP if path is None else Path(path)
    page_of_run(FinishedRun.of(folder), target, cells=cells)
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
    write_web_page(path, title=run.title, facts=_facts(run, land), blocks=land.blocks)


def _facts(run: FinishedRun, land: PageLand) -> dict[str, Any]:
    grid, season, mount = land.grid, run.settings["season"], run.settings["mount"]
    sites = sites_of(run)
    height_m = float(mount["height"])
    return {
        "title": run.title,
        "run": run.dated_name,
        "subtitle": [
            f"Season {season['start']} to {season['end']}",
            f"boxes {height_m:.1f} m above the ground",
        ],
        "judged": run.judgement.in_words(lambda name: title_of(run, name)),
        "warnings": run.record["warnings"],
        "cautions": run.record["cautions"],
        "caution": short_caution(),
        "grid": {
            "crs": grid.label,
            "rows": grid.rows,
            "cols": grid.cols,
            "cell_m": grid.cell_m,
            "width_m": run.grid.cols * run.grid.cell_m,
            "height_m": run.grid.rows * run.grid.cell_m,
            "run_cell_m": run.grid.cell_m,
            "west_m": grid.west,
            "south_m": run.grid.bounds[1],
            "convergence_deg": run.grid.convergence_deg(),
        },
        "lonlat": asdict(fitted(run.grid)),
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
        "timing": _boxes(run).get("timing"),
        "bats": _boxes(run).get("bats", {}).get("title"),
        "spacing_m": run.settings["sites"]["spacing"],
        "shapes": shapes_of(run, grid.cell_m / 4),
    }


def _boxes(run: FinishedRun) -> dict[str, Any]:
    return run.record.get("boxes") or {}
