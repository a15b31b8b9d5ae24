"""What the map of a finished run shows."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from suitability.config.days import MONTH_NAMES
from suitability.config.mount import Mount
from suitability.config.units import unit_of
from suitability.finished import FinishedRun
from suitability.inputs.report import is_none_given
from suitability.outputs.cautions import short_caution
from suitability.outputs.figure_content import FigureContent
from suitability.outputs.layers_figure import LayerMap, LayersContent
from suitability.outputs.rasters import read_small, read_thinned
from suitability.showing import picture_step

_SMALL_CELLS = 700  # along the longer side of a small map
_LAYERS_CAPTION = (
    "What was measured, before it was judged. Each map has its own colours, from pale (low) to "
    "dark (high); white has no measure. Dots are the sites."
)


@dataclass(frozen=True)
class Wording:
    """What a user wants the page to say.

    Parameters
    ----------
    title, caption, caution : str, optional
        In place of the run's own; an empty one is left out. The caution never is.
    credit : str
        Added to the sources, such as who made the map and on whose data.
    has_words : bool
        Whether the page explains itself in words; else in numbers, signs and units.
    """

    title: str | None = None
    caption: str | None = None
    caution: str | None = None
    credit: str = ""
    has_words: bool = True


def map_of(run: FinishedRun, wording: Wording | None = None) -> FigureContent:
    """Return what the map of a finished run shows, its rasters no finer than it shows them.

    Parameters
    ----------
    run : FinishedRun
        The run; its record need not be written yet.
    wording : Wording, optional
        What the page says in place of the run's own words.
    """
    wanted = wording or Wording()
    score, bits, grid = run.small(picture_step(run.grid))
    relief = run.relief()
    own_title = run.title if wanted.has_words else ""
    own_caption = caption_of(run) if wanted.has_words else ""
    return FigureContent(
        title=own_title if wanted.title is None else wanted.title,
        grid=grid,
        cell=run.quantities.stated(run.grid.cell_m),
        score=score,
        excluded=bits != 0,
        sites=run.sites,
        caution=wanted.caution or run.quantities.retold(short_caution()),
        sources=sources_of(run, wanted),
        date=run.record["written_utc"][:10],
        caption=own_caption if wanted.caption is None else wanted.caption,
        warnings=run.warnings,
        hillshade=None if relief is None else relief[0],
        streams=run.features("water"),
        boundary=run.features("boundary"),
        buildings=run.features("buildings"),
        has_words=wanted.has_words,
    )


def layers_of(run: FinishedRun, wording: Wording | None = None) -> LayersContent:
    """Return what the page of small maps shows: each layer that a finished run measured.

    Parameters
    ----------
    run : FinishedRun
        The run.
    wording : Wording, optional
        What the page says in place of the run's own words.
    """
    wanted = wording or Wording()
    step = math.ceil(max(run.grid.shape) / _SMALL_CELLS)
    words = f"{run.title}: measured layers" if wanted.has_words else ""
    caption = _LAYERS_CAPTION if wanted.has_words else ""
    return LayersContent(
        title=words if wanted.title is None else wanted.title,
        grid=run.grid.coarser(step),
        layers=[_layer_map(run, name, step, wanted) for name in run.layers],
        caption=caption if wanted.caption is None else wanted.caption,
        caution=wanted.caution or run.quantities.retold(short_caution()),
        sources=f"{sources_of(run, wanted)} {run.record['written_utc'][:10]}.",
        x_m=run.sites["x_m"].to_numpy(np.float64),
        y_m=run.sites["y_m"].to_numpy(np.float64),
        boundary=run.features("boundary"),
    )


def _layer_map(run: FinishedRun, name: str, step: int, wanted: Wording) -> LayerMap:
    asked = run.settings["layers"].get(name)
    is_direction = asked is not None and asked["aspect"] is not None
    read = read_thinned if is_direction else read_small
    return LayerMap(
        title=run.layer_title(name) if wanted.has_words else name,
        values=read(run.layer_file(name), step),
        scale=run.quantities.axis(unit_of(name)),
        is_direction=is_direction,
    )


def caption_of(run: FinishedRun) -> str:
    """Return what the map shows, for which season and boxes, and how land was judged."""
    season, mount = run.settings["season"], Mount.model_validate(run.settings["mount"])
    judged = run.quantities.retold(run.judgement.in_words(run.layer_title))
    count = len(run.record["sites"])
    sites = "site" if count == 1 else "sites"
    height = run.quantities.height(mount.height)
    return (
        f"{count or 'No'} {sites} for bat boxes and the score of the land that is not ruled out. "
        f"Season {day_in_words(season['start'])} to {day_in_words(season['end'])}; boxes "
        f"{mount.in_words}, {height} above the ground. Score: {judged}."
    )


def sources_of(run: FinishedRun, wanted: Wording) -> str:
    """Return whose data the map was made of: the run's files by name, and the credit wanted."""
    paths = {report["path"] for report in run.record["inputs"]}
    files = ", ".join(sorted({Path(path).name for path in paths if not is_none_given(path)}))
    credit = wanted.credit.strip()
    if not wanted.has_words:
        return " · ".join(part for part in (credit, files) if part)
    if credit:
        credit = credit if credit.endswith((".", "!", "?")) else f"{credit}."
    return f"{credit} Data: {files}.".strip()


def day_in_words(day: str) -> str:
    """Return a day of any year, `04-01`, as `1 April`."""
    month, of_month = day.split("-")
    return f"{int(of_month)} {MONTH_NAMES[int(month) - 1]}"
