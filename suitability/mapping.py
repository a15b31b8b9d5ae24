"""What the map of a finished run shows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from suitability.config.mount import Mount
from suitability.finished import FinishedRun
from suitability.outputs.cautions import short_caution
from suitability.outputs.figure_content import FigureContent
from suitability.showing import picture_step


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
        caution=wanted.caution or short_caution(),
        sources=sources_of(run, wanted),
        date=run.record["written_utc"][:10],
        caption=own_caption if wanted.caption is None else wanted.caption,
        warnings=tuple(run.record["warnings"]),
        hillshade=None if relief is None else relief[0],
        streams=run.features("water"),
        boundary=run.features("boundary"),
        buildings=run.features("buildings"),
        has_words=wanted.has_words,
    )


def caption_of(run: FinishedRun) -> str:
    """Return what the map shows, for which season and boxes, and how land was judged."""
    season, mount = run.settings["season"], Mount.model_validate(run.settings["mount"])
    judged = run.judgement.in_words(run.layer_title)
    count = len(run.record["sites"])
    sites = "site" if count == 1 else "sites"
    height = run.quantities.stated(mount.height)
    return (
        f"{count or 'No'} {sites} for bat boxes and the score of the land that is not ruled out. "
        f"Season {day_in_words(season['start'])} to {day_in_words(season['end'])}; boxes "
        f"{mount.in_words}, {height} above the ground. Score: {judged}."
    )


def sources_of(run: FinishedRun, wanted: Wording) -> str:
    """Return whose data the map was made of: the run's files by name, and the credit wanted."""
    files = ", ".join(sorted({Path(report["path"]).name for report in run.record["inputs"]}))
    data = f"Data: {files}." if wanted.has_words else f"{files}."
    return " ".join(part for part in (wanted.credit.strip(), data) if part)


def day_in_words(day: str) -> str:
    """Return a day of any year, `04-01`, as `1 April`."""
    any_day = date.fromisoformat(f"2024-{day}")  # a leap year has them all
    return f"{any_day.day} {any_day:%B}"
