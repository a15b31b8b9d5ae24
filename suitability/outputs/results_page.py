"""The page that tells funders and neighbours who moved in: shares in use, and how long boxes wait.

The same content as a page to print (PDF or PNG) and as one to read on a screen (HTML).
"""

from __future__ import annotations

import base64
import os
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from matplotlib.axes import Axes

from suitability.grid import Float64
from suitability.outputs import colours
from suitability.outputs.atomic import write_text
from suitability.outputs.paper import SIZES_IN
from suitability.outputs.picture_page import (
    MARGIN_IN,
    ROOM_IN,
    Page,
    Words,
    page,
    percent,
    room_of,
    share_axis,
)

_ROW_IN = 0.21
_NAME_IN = 2.35
_COUNT_IN = 0.95
_CURVE_IN = 1.75
_SEASON_IN = 0.17
_LEAST_ROW_IN = 0.13
LETTER_IN = SIZES_IN["letter"][1]
_BAR = colours.SCORE_COLOURS[6]


@dataclass(frozen=True)
class ShareRow:
    """Boxes that are alike in one thing, as a row.

    Parameters
    ----------
    by, name : str
        In what, and how; rows with the same `by` stand together.
    used, boxes : int
        In use, of so many.
    low, high : float
        Ends of the interval of the share.
    """

    by: str
    name: str
    used: int
    boxes: int
    low: float
    high: float


@dataclass(frozen=True)
class FirstSeen:
    """How long boxes wait, counted by the days on which bats were first seen.

    Parameters
    ----------
    months, unused : numpy.ndarray
        (n,) since putting up, and the share of boxes still without bats from then on.
    low, high : numpy.ndarray
        (n,) ends of its interval.
    """

    months: Float64
    unused: Float64
    low: Float64
    high: Float64


@dataclass(frozen=True)
class ResultsContent:
    """What the page tells.

    Parameters
    ----------
    words : Words
        Title, what was counted and how; what to heed.
    rows : sequence of ShareRow
        From the top down; the first is that of all boxes.
    months, unused : numpy.ndarray
        (n,) since putting up, and the share of boxes still without bats from then on, as visits
        bracket it.
    seen : FirstSeen
        The same by the days of the visits.
    until_months : float
        How far boxes were watched.
    seasons : sequence of (str, str, str, str)
        Year, first and last day with bats, visits.
    """

    words: Words
    rows: Sequence[ShareRow]
    months: Float64
    unused: Float64
    seen: FirstSeen
    until_months: float
    seasons: Sequence[tuple[str, str, str, str]]


def write_results(folder: str | os.PathLike[str], content: ResultsContent) -> tuple[Path, ...]:
    """Write `results.pdf`, `results.png` and `results.html`; return where they lie.

    Parameters
    ----------
    folder : path
        Where to.
    content : ResultsContent
        What they tell.
    """
    paths = tuple(Path(folder) / f"results.{suffix}" for suffix in ("pdf", "png", "html"))
    for path in paths[:2]:
        _draw(path, content)
    with TemporaryDirectory() as scratch:
        picture = Path(scratch) / "results.png"
        bare = ResultsContent(**{**vars(content), "words": Words("", ())})
        _draw(picture, bare, paper_in=None)
        write_text(paths[2], _html(content, picture.read_bytes()))
    return paths


def _draw(path: Path, content: ResultsContent, *, paper_in: float | None = LETTER_IN) -> None:
    """Draw all on one page of the paper's height, or as high as it is without paper.

    Many groups make rows narrow; where they would be too narrow to read, the page is longer.
    """
    heads = len({row.by for row in content.rows})
    lines = len(content.rows) + heads
    seasons_in = (len(content.seasons) + 1) * _SEASON_IN + 0.3 if content.seasons else 0.0
    below_in = 0.55 + _CURVE_IN + 0.5 + seasons_in
    room_in = 0.0 if paper_in is None else room_of(content.words, paper_in)
    row_in = _ROW_IN if paper_in is None else (room_in - below_in) / lines
    row_in = min(max(row_in, _LEAST_ROW_IN), _ROW_IN)
    with page(path, content.words, max(room_in, below_in + lines * row_in)) as sheet:
        top = _draw_rows(sheet, sheet.top, content.rows, row_in)
        top = _draw_waiting(sheet, top - 0.3, content)
        if content.seasons:
            _draw_seasons(sheet, top - 0.3, content.seasons)


def _draw_rows(sheet: Page, top: float, rows: Sequence[ShareRow], row_in: float) -> float:
    """Draw the shares; return where they end. [inch]."""
    left, width = MARGIN_IN + _NAME_IN + _COUNT_IN, ROOM_IN - _NAME_IN - _COUNT_IN - 0.15
    places, y, last = [], top - 0.1, None
    size = min(8.0, row_in * 72 * 0.7)
    for row in rows:
        if row.by != last:
            sheet.text(MARGIN_IN, y, row.by, size=size + 0.5, weight="bold")
            y -= row_in
            last = row.by
        places.append((y, row))
        y -= row_in
    bottom = y + row_in / 2
    axes = sheet.axes(left, bottom, width, top - bottom)
    axes.set_ylim(bottom, top)
    for y, row in places:
        sheet.text(MARGIN_IN + 0.15, y, row.name, size=size)
        count = f"{row.used} of {row.boxes}"
        sheet.text(left - 0.15, y, count, size=size, ha="right", color=colours.QUIET_INK)
        share = row.used / row.boxes if row.boxes else 0.0
        axes.barh(y, share, height=row_in * 0.6, color=_BAR, lw=0, zorder=2)
        axes.plot([row.low, row.high], [y, y], color=colours.INK, lw=1.2, zorder=3)
        for end in (row.low, row.high):
            axes.plot([end, end], [y - 0.045, y + 0.045], color=colours.INK, lw=1.2, zorder=3)
    axes.grid(axis="x", color="#dddddd", lw=0.5, zorder=0)
    axes.set_yticks([])
    share_axis(axes, "boxes in use, of those looked at; lines: 95% interval")
    return bottom - 0.4


def _draw_waiting(sheet: Page, top: float, content: ResultsContent) -> float:
    sheet.text(MARGIN_IN, top, "How long boxes wait", size=8.5, weight="bold")
    bottom = top - _CURVE_IN
    axes = sheet.axes(MARGIN_IN + 0.55, bottom + 0.35, ROOM_IN - 0.7, _CURVE_IN - 0.55)
    end = max(content.until_months, 24.0)
    last = content.until_months
    axes.step(
        *used_by(content.months, content.unused, last), where="post", color=_BAR, lw=1.8, zorder=3,
        label="between two visits (Turnbull)",
    )  # fmt: skip
    seen = content.seen
    if seen.months.size:
        months, least = used_by(seen.months, seen.high, last)
        _, most = used_by(seen.months, seen.low, last)
        axes.fill_between(months, least, most, step="post", color=colours.INK, alpha=0.12, lw=0)
        axes.step(
            *used_by(seen.months, seen.unused, last), where="post", color=colours.INK, lw=0.9,
            ls=(0, (4, 2)), zorder=4, label="by the day first seen (Kaplan–Meier), band: 95%",
        )  # fmt: skip
        axes.legend(
            loc="lower right", bbox_to_anchor=(1, 1), ncols=2, fontsize=7, frameon=False,
            borderaxespad=0.2, handlelength=2.2,
        )  # fmt: skip
    axes.set(xlim=(0, end), ylim=(0, 1))
    _month_ticks(axes, end)
    axes.set_yticks([0, 0.5, 1], ["0%", "50%", "100%"])
    axes.set_xlabel("months since a box was put up", size=7.5, labelpad=2, color=colours.QUIET_INK)
    axes.set_ylabel("boxes used by then", size=7.5, color=colours.QUIET_INK)
    axes.grid(color="#dddddd", lw=0.5, zorder=0)
    axes.tick_params(labelsize=7, width=0.5, length=3, colors=colours.QUIET_INK)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    return bottom


def used_by(months: Float64, unused: Float64, until: float) -> tuple[Float64, Float64]:
    """Return months since putting up and the share used by then, no further than was watched."""
    from_start = np.concatenate([[0.0], months])
    used = 1 - np.concatenate([[1.0], unused])
    last = max(until, from_start[-1])
    return np.append(from_start, last), np.append(used, used[-1])


def _month_ticks(axes: Axes, end: float) -> None:
    step = next(step for step in (6, 12, 24, 60, 120) if end / step <= 10)
    axes.set_xticks(np.arange(0, end + 0.1, step))


def _draw_seasons(sheet: Page, top: float, seasons: Sequence[tuple[str, str, str, str]]) -> None:
    columns = (0.0, 1.0, 2.6, 4.2)
    heads = ("Year", "First with bats", "Last with bats", "Visits that told something")
    for number, row in enumerate((heads, *seasons)):
        for at, word in zip(columns, row, strict=True):
            weight = "bold" if number == 0 else "normal"
            sheet.text(MARGIN_IN + at, top - number * _SEASON_IN, word, size=8, weight=weight)


_STYLE = """
:root { color-scheme: light dark; }
body { font: 16px/1.45 system-ui, sans-serif; max-width: 46rem; margin: 1.5rem auto;
  padding: 0 1rem; color: #1a1a1a; background: #fff; }
h1 { font-size: 1.5rem; } h2 { font-size: 1.15rem; }
table { border-collapse: collapse; width: 100%; margin-bottom: 1.2rem; }
th, td { text-align: left; padding: .3rem .6rem .3rem 0; border-bottom: 1px solid #bbb; }
td.number, th.number { text-align: right; font-variant-numeric: tabular-nums; }
img { max-width: 100%; height: auto; background: #fff; }
@media (prefers-color-scheme: dark) { body { color: #eee; background: #161616; } }
@media print { body { max-width: none; } }
"""


def _html(content: ResultsContent, picture: bytes) -> str:
    encoded = base64.b64encode(picture).decode("ascii")
    lines = "".join(f"<p>{escape(line)}</p>\n" for line in content.words.lines)
    foot = "".join(f"<p><small>{escape(line)}</small></p>\n" for line in content.words.foot)
    rows = "".join(
        f"<tr><td>{escape(row.by)}</td><td>{escape(row.name)}</td>"
        f'<td class="number">{row.used} of {row.boxes}</td>'
        f'<td class="number">{_share(row)}</td><td class="number">{_interval(row)}</td></tr>\n'
        for row in content.rows
    )
    seasons = "".join(
        "<tr>" + "".join(f"<td>{escape(word)}</td>" for word in row) + "</tr>\n"
        for row in content.seasons
    )
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy"
 content="default-src 'none'; img-src data:; style-src 'unsafe-inline'">
<title>{escape(content.words.title)}</title>
<style>{_STYLE}</style>
</head>
<body>
<h1>{escape(content.words.title)}</h1>
{lines}<img alt="Shares of boxes in use, and how long boxes waited; the tables hold the numbers"
 src="data:image/png;base64,{encoded}">
<h2>Boxes in use</h2>
<table>
<tr><th>By</th><th>Boxes</th><th class="number">In use</th><th class="number">Share</th>
<th class="number">95% interval</th></tr>
{rows}</table>
<h2>Days with bats</h2>
<table>
<tr><th>Year</th><th>First</th><th>Last</th><th>Visits that told something</th></tr>
{seasons}</table>
{foot}</body>
</html>
"""


def _share(row: ShareRow) -> str:
    return percent(row.used / row.boxes) if row.boxes else "–"


def _interval(row: ShareRow) -> str:
    return f"{row.low:.0%} to {row.high:.0%}" if row.boxes else "–"
