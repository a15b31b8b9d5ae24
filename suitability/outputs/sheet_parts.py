"""What pages about a site are made of: headings, rows, bars, the sky, a code to scan, checks.

As in `figure_parts`, each part is given its upper left corner and returns where it ends. [inch]
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import cycle

import numpy as np
import segno
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle

from suitability.outputs import colours
from suitability.outputs.figure_parts import Sheet
from suitability.outputs.sheet_content import Merit, Rows, Sky
from suitability.outputs.sky_chart import DAY_LINES, SUN, draw_sky_on

TEXT, SMALL, HEADING = 8.0, 7.5, 9.5  # points
# Of words already measured: pages of a run say much that is the same.
WIDTHS: dict[tuple[str, float, str], float] = {}
_QUIET_ZONE = 4  # modules of white that readers of the code want around it (ISO/IEC 18004)
_MODULE_PIXELS = 16
_BAR_IN = 0.5  # of a merit
_CHECK_IN = 0.11


def heading(sheet: Sheet, x: float, top: float, width: float, text: str) -> float:
    """Draw a heading over a thin line."""
    top = sheet.paragraph(text, x, top, width, size=HEADING, weight="bold") - 0.02
    sheet.axes.add_line(Line2D([x, x + width], [top, top], color=colours.QUIET_INK, linewidth=0.5))
    return top - 0.04


def rows(
    sheet: Sheet, x: float, top: float, width: float, told: Rows, label_in: float, most: int
) -> float:
    """Draw rows of a label and its text, in so many lines at most."""
    for label, text in told:
        room = width - label_in
        sheet.paragraph(label, x, top, label_in, size=TEXT, colour=colours.QUIET_INK)
        shown = sheet.cut(text, room, most, size=TEXT)
        top = sheet.paragraph(shown, x + label_in, top, room, size=TEXT) - 0.02
    return top


def rows_in_two(
    sheet: Sheet, x: float, top: float, width: float, told: Rows, label_in: float, most: int
) -> float:
    """Draw rows as `rows` does, in two columns; the first holds the first half."""
    half = (len(told) + 1) // 2
    room = width / 2 - 0.08
    return min(
        rows(sheet, x, top, room, told[:half], label_in, most),
        rows(sheet, x + width / 2 + 0.08, top, room, told[half:], label_in, most),
    )


def sentences(
    sheet: Sheet, x: float, top: float, width: float, told: Sequence[str], most: int
) -> float:
    """Draw paragraphs, each in so many lines at most."""
    for text in filter(None, told):
        shown = sheet.cut(text, width, most, size=SMALL)
        top = sheet.paragraph(shown, x, top, width, size=SMALL) - 0.025
    return top


def cut_at_sentence(sheet: Sheet, text: str, width: float, most: int, *, size: float) -> str:
    """Return whole sentences in so many lines at most; three dots tell that there are more."""
    kept = re.split(r"(?<=\.) (?=[A-Z])", text)
    if len(sheet.wrapped(text, size, width)) <= most:
        return text
    while len(kept) > 1 and len(sheet.wrapped(f"{' '.join(kept)} …", size, width)) > most:
        kept.pop()
    return sheet.cut(f"{' '.join(kept)} …", width, most, size=size)


def merits(sheet: Sheet, x: float, top: float, width: float, told: Sequence[Merit]) -> float:
    """Draw a row for each criterion: name, measure, and what it adds as a bar within its most."""
    widest = max((each.share for each in told), default=1.0) or 1.0
    told_in = max((sheet.text_width_in(each.told, SMALL) for each in told), default=0.0)
    bar_x = x + width - told_in - 0.08 - _BAR_IN
    for each in told:
        measure_in = sheet.text_width_in(each.measure, SMALL)
        name = sheet.cut(each.name, bar_x - x - measure_in - 0.2, 1, size=SMALL)
        sheet.paragraph(name, x, top, width, size=SMALL)
        sheet.paragraph(each.measure, bar_x - 0.08 - measure_in, top, width, size=SMALL)
        for share, fill in ((each.share, colours.PAPER), (each.got, "0.45")):
            place = (bar_x, top - 0.115)
            size = (_BAR_IN * share / widest, 0.09)
            sheet.axes.add_patch(Rectangle(place, *size, fc=fill, ec=colours.INK, lw=0.5))
        top = sheet.paragraph(each.told, x + width - told_in, top, told_in + 0.1, size=SMALL)
    return top - 0.02


def months(
    sheet: Sheet, x: float, top: float, width: float, height: float,
    hours: Sequence[tuple[str, float]],
) -> float:  # fmt: skip
    """Draw a bar for each month, its hours above it and its name below."""
    most = max((value for _, value in hours if np.isfinite(value)), default=0.0) or 1.0
    step = min(width / max(len(hours), 1), 0.55)
    base = top - height + 0.16
    room = height - 0.32
    for number, (name, value) in enumerate(hours):
        left = x + number * step
        tall = room * value / most if np.isfinite(value) else 0.0
        bar = Rectangle((left + 0.04, base), step - 0.08, tall, fc="0.75", ec=colours.INK, lw=0.5)
        sheet.axes.add_patch(bar)
        number_told = f"{value:.1f}" if np.isfinite(value) else "–"
        middle = left + step / 2
        sheet.axes.text(middle, base + tall + 0.03, number_told, size=7, ha="center")
        sheet.axes.text(middle, base - 0.04, name, size=7, ha="center", va="top")
    sheet.axes.add_line(
        Line2D([x, x + step * len(hours)], [base, base], color=colours.INK, linewidth=0.6)
    )
    return top - height


def sky(
    figure: Figure, sheet: Sheet, x: float, top: float, width: float, height: float, shown: Sky
) -> float:
    """Draw horizon and sun's ways, and below them what the lines are."""
    page = figure.get_size_inches()
    left, bottom = x + 0.3, top - height + 0.34
    axes = figure.add_axes(
        (left / page[0], bottom / page[1], (width - 0.42) / page[0], (top - bottom) / page[1])
    )
    draw_sky_on(
        axes, horizon_deg=shown.horizon_deg, days=shown.days, facing_deg=shown.facing_deg,
        lat=shown.lat,
    )  # fmt: skip
    axes.set_yticks(range(0, 90, 30), [f"{altitude}°" for altitude in range(0, 90, 30)])
    axes.tick_params(labelsize=7, width=0.5, length=2, pad=2, colors=colours.QUIET_INK)
    for spine in axes.spines.values():
        spine.set_linewidth(0.5)
    middle = top - height + 0.06
    for day, line in zip(shown.days, cycle(DAY_LINES), strict=False):
        ends = ([x, x + 0.26], [middle, middle])
        sheet.axes.plot(*ends, line, color=SUN, linewidth=1.5)
        x = _words_at(sheet, x + 0.31, middle, day.name)
    if shown.facing_deg is not None:
        ends = ([x + 0.05, x + 0.05], [middle - 0.06, middle + 0.06])
        sheet.axes.add_line(Line2D(*ends, color=colours.WATER, linewidth=1.3))
        _words_at(sheet, x + 0.11, middle, "box looks here")
    return top - height


def _words_at(sheet: Sheet, x: float, middle: float, text: str) -> float:
    sheet.axes.text(x, middle, text, size=7, va="center_baseline")
    return x + sheet.text_width_in(text, 7) + 0.14


def code(figure: Figure, left: float, bottom: float, size_in: float, text: str) -> None:
    """Draw a QR code, its white edge included; a phone's camera reads the text."""
    made = segno.make_qr(text, error="m")
    dark = np.array([list(row) for row in made.matrix_iter(border=_QUIET_ZONE)], dtype=np.uint8)
    page = figure.get_size_inches()
    axes = figure.add_axes((left / page[0], bottom / page[1], size_in / page[0], size_in / page[1]))
    axes.axis("off")
    # Many pixels a module: readers smooth pictures, and would blur its edges.
    axes.imshow(
        np.kron(1 - dark, np.ones((_MODULE_PIXELS, _MODULE_PIXELS), np.uint8)),
        cmap="gray",
        vmin=0,
        vmax=1,
        interpolation="none",
    )


def checks(
    sheet: Sheet, x: float, top: float, width: float, told: Sequence[str], *, size: float = TEXT
) -> float:
    """Draw a box to tick before each text."""
    for text in told:
        box = (x, top - 0.015 - _CHECK_IN)
        sheet.axes.add_patch(
            Rectangle(box, _CHECK_IN, _CHECK_IN, fc="none", ec=colours.INK, lw=0.8)
        )
        top = sheet.paragraph(text, x + 0.18, top, width - 0.18, size=size) - 0.035
    return top


def checks_height(sheet: Sheet, width: float, told: Sequence[str], *, size: float) -> float:
    """Return how high `checks` will be. [inch]."""
    return sum(sheet.height_of(text, width - 0.18, size=size) + 0.035 for text in told)


def lines_to_write_on(sheet: Sheet, x: float, top: float, width: float, bottom: float) -> None:
    """Draw lines as far apart as a pen wants them."""
    for y in np.arange(top - 0.26, bottom - 0.01, -0.26):
        sheet.axes.add_line(Line2D([x, x + width], [y, y], color="0.6", linewidth=0.4))
