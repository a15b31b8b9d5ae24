"""The page of curves: every criterion of a run on one page, and what the numbers rest on."""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from suitability.decide.bases import Basis
from suitability.outputs import colours
from suitability.outputs.atomic import remove, written
from suitability.outputs.curves_panel import (
    CANDIDATES,
    LAND,
    LEAST_PLOT_IN,
    MOST_PLOT_IN,
    Panel,
    Room,
    draw_panel,
    head_height,
    line_in,
    lines_below,
    sentence,
)
from suitability.outputs.figure_parts import Sheet, own_style

PAGE = "curves.png"  # the first; the others are numbered
DPI = 200
WIDTH_IN, HEIGHT_IN = 8.5, 11.0
MOST_ON_A_PAGE = 12
_MARGIN_IN, _GUTTER_IN, _ROW_GAP_IN = 0.5, 0.28, 0.16
_FOOT_IN = 0.62
_ROOM_IN = WIDTH_IN - 2 * _MARGIN_IN
# No date: the same curves on the same land are the same page.
_NO_DATE = {"CreationDate": None, "ModDate": None, "Creator": None, "Producer": None}


@dataclass(frozen=True)
class CurvesContent:
    """All that the pages show.

    Parameters
    ----------
    title : str
        What land.
    lines : tuple of str
        How the criteria combine, season, mount: a paragraph each.
    panels : tuple of Panel
        The criteria.
    bases : tuple of Basis
        What the run's other settings rest on.
    land, candidates : str
        What the two are, with their areas.
    caution : str
        What to heed.
    """

    title: str
    lines: tuple[str, ...]
    panels: tuple[Panel, ...]
    bases: tuple[Basis, ...]
    land: str
    candidates: str
    caution: str


@dataclass(frozen=True)
class _Page:
    """A page to draw on."""

    figure: Figure
    sheet: Sheet

    @classmethod
    def blank(cls) -> _Page:
        figure = Figure(figsize=(WIDTH_IN, HEIGHT_IN), dpi=DPI)
        canvas: Any = FigureCanvasAgg(figure)  # its methods carry no types
        axes = figure.add_axes((0, 0, 1, 1))
        axes.set(xlim=(0, WIDTH_IN), ylim=(0, HEIGHT_IN))
        axes.axis("off")
        return cls(figure, Sheet(axes, canvas.get_renderer(), DPI))

    def axes_at(self, left: float, bottom: float, width: float, height: float) -> Axes:
        """Return axes over a part of the page. [inch]."""
        return self.figure.add_axes(
            (left / WIDTH_IN, bottom / HEIGHT_IN, width / WIDTH_IN, height / HEIGHT_IN)
        )


def draw_curves(folder: str | os.PathLike[str], content: CurvesContent) -> tuple[Path, ...]:
    """Write the pages as `curves.pdf`, and one PNG a page: `curves.png`, `curves_2.png`, ….

    Parameters
    ----------
    folder : path
        Where to.
    content : CurvesContent
        What to show.

    Returns
    -------
    tuple of pathlib.Path
        The files, the PDF last; pictures of further pages that stood there are taken away.
    """
    folder = Path(folder)
    with own_style():
        pages = [*_criteria_pages(content), *_ground_pages(content)]
        for number, page in enumerate(pages, start=1):
            _draw_foot(page.sheet, content.caution, number, len(pages))
        pictures = [_picture(folder, number) for number in range(1, len(pages) + 1)]
        for path, page in zip(pictures, pages, strict=True):
            with written(path) as temporary:
                page.figure.savefig(temporary, format="png", metadata={"Software": None})
        with written(folder / "curves.pdf") as temporary:
            _write_pdf(temporary, [page.figure for page in pages])
    for path in set(folder.glob("curves_[0-9]*.png")) - set(pictures):
        remove(path)
    return (*pictures, folder / "curves.pdf")


def _write_pdf(path: Path, figures: Sequence[Figure]) -> None:
    from matplotlib.backends.backend_pdf import PdfPages  # noqa: PLC0415 - slow, seldom needed

    with PdfPages(path, metadata=_NO_DATE) as pdf:
        for figure in figures:
            pdf.savefig(figure)


def _picture(folder: Path, number: int) -> Path:
    return folder / (PAGE if number == 1 else f"curves_{number}.png")


def _criteria_pages(content: CurvesContent) -> Iterator[_Page]:
    """Yield pages of panels, as evenly filled as can be."""
    pages = math.ceil(len(content.panels) / MOST_ON_A_PAGE)
    each = math.ceil(len(content.panels) / pages)
    for start in range(0, len(content.panels), each):
        page = _Page.blank()
        top = _draw_head(page.sheet, f"{content.title}: how measures become values", content.lines)
        top = _draw_key(page.sheet, top, content)
        _draw_panels(page, top, content.panels[start : start + each])
        yield page


def _draw_panels(page: _Page, top: float, panels: Sequence[Panel]) -> None:
    columns = 2 if len(panels) <= 8 else 3
    size = 7.0 if columns == 2 else 6.5
    width = (_ROOM_IN - (columns - 1) * _GUTTER_IN) / columns
    rows = [panels[start : start + columns] for start in range(0, len(panels), columns)]
    room = top - _MARGIN_IN - _FOOT_IN - len(rows) * _ROW_GAP_IN
    heads = [max(head_height(page.sheet, panel, width, size) for panel in row) for row in rows]
    words = [[lines_below(page.sheet, panel, width, size) for panel in row] for row in rows]
    words = _fitted(words, room - sum(heads) - len(rows) * LEAST_PLOT_IN, line_in(size))
    heights = [max(map(len, row)) * line_in(size) for row in words]
    plot = min((room - sum(heads) - sum(heights)) / len(rows), MOST_PLOT_IN)
    for row, head, below, height in zip(rows, heads, words, heights, strict=True):
        for number, (panel, lines) in enumerate(zip(row, below, strict=True)):
            left = _MARGIN_IN + number * (width + _GUTTER_IN)
            place = Room(left, top, width, head, plot, size)
            draw_panel(page.sheet, page.axes_at, panel, place, lines)
        top -= head + plot + height + _ROW_GAP_IN


def _fitted(words: list[list[list[str]]], room: float, line: float) -> list[list[list[str]]]:
    """Return the lines of each row's panels, the longest cut until all rows fit their room."""
    most = max(len(lines) for row in words for lines in row)
    while most > 1 and sum(min(max(map(len, row)), most) for row in words) * line > room:
        most -= 1
    return [[_cut(lines, most) for lines in row] for row in words]


def _cut(lines: list[str], most: int) -> list[str]:
    """Return as many lines as there is room for, the last one saying where the rest is."""
    if len(lines) <= most:
        return lines
    return [*lines[: most - 1], "… in full on the last pages."]


def _ground_pages(content: CurvesContent) -> Iterator[_Page]:
    """Yield pages that say of every criterion and setting what it rests on."""
    entries = [*map(_of_criterion, content.panels), *map(_of_setting, content.bases)]
    title = f"{content.title}: what the numbers rest on"
    intro = (
        "Peer-reviewed: a published study. Agency guidance: a public body says so. Common "
        "practice: practitioners do so, no study was found. Own: stated in the run file. Weights "
        "are judgements: no study that was found gives any.",
    )
    page = _Page.blank()
    top = _draw_head(page.sheet, title, intro) - 0.05
    for name, texts in entries:
        if top - _entry_height(page.sheet, name, texts) < _MARGIN_IN + _FOOT_IN:
            yield page
            page = _Page.blank()
            top = _draw_head(page.sheet, title, ()) - 0.05
        top = _draw_entry(page.sheet, top, name, texts)
    yield page


def _of_criterion(panel: Panel) -> tuple[str, tuple[str, ...]]:
    within = f" in {' › '.join(panel.groups)}" if panel.groups else ""
    name = f"{panel.title}{within}: {panel.weight} ({panel.evidence})"
    return sentence(name)[:-1], panel.grounds


def _of_setting(basis: Basis) -> tuple[str, tuple[str, ...]]:
    setting = "always" if basis.is_always else f"{basis.key} {basis.shown}"
    name = f"{basis.words}: {setting} ({basis.evidence})"
    conflict = () if basis.conflict is None else (f"Sources conflict: {basis.conflict}",)
    return sentence(name)[:-1], (sentence(basis.basis), *map(sentence, conflict))


def _entry_height(sheet: Sheet, name: str, texts: Sequence[str]) -> float:
    heights = [sheet.height_of(text, _ROOM_IN - 0.15, size=7.5) for text in texts]
    title = len(sheet.wrapped(name, 8, _ROOM_IN, "bold")) * line_in(8)
    return title + sum(heights) + 0.07


def _draw_entry(sheet: Sheet, top: float, name: str, texts: Sequence[str]) -> float:
    top = sheet.paragraph(name, _MARGIN_IN, top, _ROOM_IN, size=8, weight="bold")
    for text in texts:
        top = sheet.paragraph(text, _MARGIN_IN + 0.15, top, _ROOM_IN - 0.15, size=7.5)
    return top - 0.07


def _draw_head(sheet: Sheet, title: str, lines: Sequence[str]) -> float:
    top = HEIGHT_IN - _MARGIN_IN + 0.05
    top = sheet.paragraph(title, _MARGIN_IN, top, _ROOM_IN, size=15, weight="bold")
    for line in lines:
        top = sheet.paragraph(line, _MARGIN_IN, top, _ROOM_IN, size=8, colour=colours.QUIET_INK)
    return top


def _draw_key(sheet: Sheet, top: float, content: CurvesContent) -> float:
    """Explain the two plots; return where the panels may begin."""
    top -= 0.04
    how = (
        "Above, the value of each measure, 0 (no use) to 1 (as good as it gets). Below, which "
        "share of the land has which measure; all land and the candidates each add up to 100%."
    )
    top = sheet.paragraph(how, _MARGIN_IN, top, _ROOM_IN, size=8) - 0.02
    x, middle = _MARGIN_IN, top - 0.08
    signs: tuple[tuple[str, Callable[[float], object]], ...] = (
        (content.land, lambda x: sheet.axes.add_patch(
            Rectangle((x, middle - 0.06), 0.26, 0.12, fc=LAND, ec="none"))),
        (content.candidates, lambda x: sheet.axes.plot(
            [x, x + 0.26], [middle, middle], color=CANDIDATES, linewidth=1.1)),
    )  # fmt: skip
    for name, draw in signs:
        draw(x)
        sheet.axes.text(x + 0.34, middle, name, size=8, va="center_baseline", color=colours.INK)
        x += 0.34 + sheet.text_width_in(name, 8) + 0.3
    return top - 0.3


def _draw_foot(sheet: Sheet, caution: str, number: int, pages: int) -> None:
    top = _MARGIN_IN - 0.15 + sheet.height_of(caution, _ROOM_IN - 0.8, size=7)
    sheet.paragraph(caution, _MARGIN_IN, top, _ROOM_IN - 0.8, size=7, colour=colours.QUIET_INK)
    sheet.axes.text(
        WIDTH_IN - _MARGIN_IN, _MARGIN_IN - 0.12, f"page {number} of {pages}", size=7,
        ha="right", color=colours.QUIET_INK,
    )  # fmt: skip
