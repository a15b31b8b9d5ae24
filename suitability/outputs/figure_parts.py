"""What stands around the map: text, legend, scale bar and the two norths.

All is drawn on one sheet whose unit is the inch; each part is given its upper left corner and
width and returns where it ends, so that parts can be stacked.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import accumulate
from typing import Any

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.font_manager import FontProperties
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, Rectangle

from suitability.outputs import colours
from suitability.outputs.figure_map import round_length
from suitability.outputs.figure_sites import DISC_RADIUS_IN, draw_ring, draw_tick
from suitability.outputs.lettering import printable
from suitability.quantities import FOOT_M

_LINE_SPACING = 1.28
_POINT_IN = 1 / 72
_LETTER_WIDTH = 0.55  # of its height, on average
ROW_IN = 0.2  # of the legend
_SWATCH_IN = 0.26


@contextmanager
def own_style() -> Iterator[None]:
    """Draw by the library's own defaults, whatever style file the machine has."""
    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams["text.parse_math"] = False  # a dollar sign in a title is a dollar sign
        # Fitted to pixels, letters as they are measured were up to 2 % narrower than in a PDF.
        mpl.rcParams["text.hinting"] = "none"
        mpl.rcParams["pdf.fonttype"] = 42  # TrueType: text can be searched and copied
        # As outlines: SVG holds no fonts, and in another font than the one that it was measured
        # in, text would run into other text. Who wants text to search takes the PDF.
        mpl.rcParams["svg.fonttype"] = "path"
        mpl.rcParams["svg.hashsalt"] = "page"  # the same page gets the same bytes
        yield


@dataclass(frozen=True)
class Sheet:
    """The page to draw on.

    Parameters
    ----------
    axes : matplotlib.axes.Axes
        As large as the page; its unit is the inch.
    renderer : matplotlib.backends.backend_agg.RendererAgg
        Measures text.
    dpi : int
        Dots an inch of the renderer.
    is_kept : bool
        Whether the page is to be seen; else parts are drawn on it to learn how high they are.
    """

    axes: Axes
    renderer: Any
    dpi: int
    is_kept: bool = True
    # A line is measured when its height is asked for and when it is drawn, which takes most of the
    # time of a page of text.
    widths: dict[tuple[str, float, str], float] = field(default_factory=dict, repr=False)

    def text_width_in(self, text: str, size: float, weight: str = "normal") -> float:
        """Return how wide a line of text is. [inch]."""
        if (text, size, weight) not in self.widths:
            font, shown = FontProperties(size=size, weight=weight), printable(text)
            width, _, _ = self.renderer.get_text_width_height_descent(shown, font, ismath=False)
            self.widths[text, size, weight] = float(width) / self.dpi
        return self.widths[text, size, weight]

    def wrapped(self, text: str, size: float, width_in: float, weight: str = "normal") -> list[str]:
        """Return text in lines that fit; a word that is too long for a line is cut."""
        lines, words = [], printable(text).split()
        while words:
            count = self._words_that_fit(words, size, width_in, weight)
            if count == 0:
                *cut, rest = self._pieces(words[0], size, width_in, weight)
                lines += cut
                words[0] = rest
                if cut:
                    continue
            lines.append(" ".join(words[: max(count, 1)]))
            del words[: max(count, 1)]
        return lines or [""]

    def paragraph(
        self,
        text: str,
        x: float,
        top: float,
        width_in: float,
        *,
        size: float = 7.5,
        weight: str = "normal",
        colour: str = colours.INK,
    ) -> float:
        """Draw text in lines that fit; return where it ends. [inch]."""
        step = size * _POINT_IN * _LINE_SPACING
        lines = self.wrapped(text, size, width_in, weight)
        for number, line in enumerate(lines):
            baseline = top - size * _POINT_IN - number * step
            self.axes.text(x, baseline, line, size=size, weight=weight, color=colour)
        return top - len(lines) * step

    def height_of(self, text: str, width_in: float, *, size: float = 7.5) -> float:
        """Return how high a paragraph will be. [inch]."""
        return len(self.wrapped(text, size, width_in)) * size * _POINT_IN * _LINE_SPACING

    def cut(
        self, text: str, width_in: float, most: int, *, size: float, weight: str = "normal"
    ) -> str:
        """Return text in so many lines at most; what is left out is told by three dots."""
        if len(self.wrapped(text, size, width_in, weight)) <= most:
            return text
        kept = " ".join(self.wrapped(text, size, width_in, weight)[:most])
        while kept and len(self.wrapped(f"{kept}…", size, width_in, weight)) > most:
            kept = kept[:-1].rstrip()
        return f"{kept}…"

    def _words_that_fit(
        self, words: Sequence[str], size: float, width_in: float, weight: str
    ) -> int:
        """Return how many words go into a line: guessed by letters first, as measuring is slow."""
        ends = list(accumulate(len(word) + 1 for word in words))
        count = bisect_right(ends, width_in / (size * _POINT_IN * _LETTER_WIDTH))

        def fits(count: int) -> bool:
            return self.text_width_in(" ".join(words[:count]), size, weight) <= width_in

        while count < len(words) and fits(count + 1):
            count += 1
        while count and not fits(count):
            count -= 1
        return count

    def _pieces(self, word: str, size: float, width_in: float, weight: str) -> list[str]:
        pieces = [""]
        for letter in word:
            if pieces[-1] and self.text_width_in(pieces[-1] + letter, size, weight) > width_in:
                pieces.append("")
            pieces[-1] += letter
        return pieces


def score_key(
    sheet: Sheet, x: float, top: float, width_in: float, lowest: float, title: str
) -> float:
    """Draw the ten classes of the score with their limits, the first from `lowest`."""
    top = sheet.paragraph(title, x, top, width_in, weight="bold")
    top -= 0.05
    count = len(colours.SCORE_COLOURS)
    step = min(width_in, 2.4) / count
    for number, colour in enumerate(colours.SCORE_COLOURS):
        place = (x + number * step, top - 0.17)
        sheet.axes.add_patch(Rectangle(place, step, 0.17, fc=colour, ec="none"))
    outline = Rectangle((x, top - 0.17), step * count, 0.17, fc="none", ec=colours.INK, lw=0.5)
    sheet.axes.add_patch(outline)
    for number in range(0, count + 1, 2):
        align = {0: "left", count: "right"}.get(number, "center")
        label = f"{lowest + (1 - lowest) * number / count:g}"
        label = f"≤ {label}" if number == 0 and lowest > 0 else label
        sheet.axes.text(x + number * step, top - 0.2, label, size=7, ha=align, va="top")
    return top - 0.4


def legend(
    sheet: Sheet,
    x: float,
    top: float,
    width_in: float,
    entries: dict[str, str],
    roles: Sequence[str] = (),
) -> float:
    """Draw a row for each kind of thing on the map: its sign and its name.

    Parameters
    ----------
    sheet : Sheet
        Where to draw.
    x, top : float
        Upper left corner. [inch]
    width_in : float
        Room for signs and names. [inch]
    entries : dict of str to str
        Names by sign.
    roles : sequence of str
        Names of the boxes of a group.
    """
    rows = [(_SIGNS[sign], name) for sign, name in entries.items()]
    boxes = [(_box_sign(number, len(roles)), name) for number, name in enumerate(roles)]
    first = 1 if "sites" in entries else 0
    for draw_sign, name in (*rows[:first], *boxes, *rows[first:]):
        middle = top - ROW_IN / 2
        draw_sign(sheet.axes, x, middle)
        left = x + _SWATCH_IN + 0.1
        height = sheet.height_of(name, width_in - _SWATCH_IN - 0.1)
        first_line = middle + 0.055
        sheet.paragraph(name, left, first_line + 0.005, width_in - _SWATCH_IN - 0.1)
        top -= max(ROW_IN, height + 0.06)
    return top


def _line_sign(colour: str, width: float, style: Any) -> Any:
    def draw(axes: Axes, x: float, y: float) -> None:
        ends = ([x, x + _SWATCH_IN], [y, y])
        axes.add_line(Line2D(*ends, color=colour, linewidth=width, linestyle=style))

    return draw


def _excluded_sign(axes: Axes, x: float, y: float) -> None:
    _no_score_sign(axes, x, y)
    box = Rectangle((x, y - 0.065), _SWATCH_IN, 0.13, fc="none", ec="none")
    axes.add_patch(box)
    for start in (-0.09, -0.02, 0.05, 0.12, 0.19):
        ends = ([x + start, x + start + 0.13], [y - 0.065, y + 0.065])
        line = Line2D(*ends, color=str(colours.HATCH), linewidth=0.7, alpha=0.4)
        axes.add_line(line)
        line.set_clip_path(box)


def _no_score_sign(axes: Axes, x: float, y: float) -> None:
    place = (x, y - 0.065)
    axes.add_patch(Rectangle(place, _SWATCH_IN, 0.13, fc="0.87", ec=colours.INK, lw=0.4))


def _site_sign(axes: Axes, x: float, y: float) -> None:
    axes.plot([x + 0.04, x + 0.18], [y, y], color=colours.INK, linewidth=0.9)
    draw_ring(axes, x + 0.04, y)
    disc = Circle((x + 0.18, y), DISC_RADIUS_IN, fc=colours.PAPER, ec=colours.INK, lw=1)
    axes.add_patch(disc)
    axes.text(x + 0.18, y, "1", size=7, weight="bold", ha="center", va="center_baseline")


def _wall_sign(axes: Axes, x: float, y: float) -> None:
    draw_tick(axes, x + 0.1, y, 90)
    draw_ring(axes, x + 0.1, y)


def _box_sign(number: int, of: int) -> Any:
    def draw(axes: Axes, x: float, y: float) -> None:
        draw_ring(axes, x + 0.04, y, number, of)

    return draw


def _building_sign(axes: Axes, x: float, y: float) -> None:
    place = (x + 0.06, y - 0.06)
    axes.add_patch(Rectangle(place, 0.14, 0.12, fc=colours.BUILDING, ec=colours.PAPER, lw=0.5))


BOUNDARY_STYLE = (0, (6, 2, 1.5, 2))
WIRE_STYLE = (0, (1.2, 1.6))
_SIGNS = {
    "sites": _site_sign,
    "walls": _wall_sign,
    "excluded": _excluded_sign,
    "no_score": _no_score_sign,
    "streams": _line_sign(colours.WATER, 1.2, "solid"),
    "boundary": _line_sign(colours.INK, 1.3, BOUNDARY_STYLE),
    "buildings": _building_sign,
    "wires": _line_sign(colours.INK, 1.1, WIRE_STYLE),
}


def scale_bar(sheet: Sheet, x: float, top: float, width_in: float, in_per_m: float) -> float:
    """Draw two bars on one base, metres above and feet below.

    Parameters
    ----------
    sheet : Sheet
        Where to draw.
    x, top : float
        Upper left corner. [inch]
    width_in : float
        Room for bar and labels. [inch]
    in_per_m : float
        Inches of paper for a metre on the ground.
    """
    longest_m = (width_in - 0.4) / in_per_m
    base = top - 0.24
    for unit, unit_m, side in (("m", 1.0, 1), ("ft", FOOT_M, -1)):
        length = round_length(longest_m / unit_m)
        length_in = length * unit_m * in_per_m
        for part in range(4):
            place = (x + part * length_in / 4, base if side > 0 else base - 0.07)
            fill = colours.INK if part % 2 == (side < 0) else colours.PAPER
            sheet.axes.add_patch(
                Rectangle(place, length_in / 4, 0.07, fc=fill, ec=colours.INK, lw=0.6)
            )
        for part, align in ((0, "left"), (2, "center"), (4, "center")):
            label = f"{length * part / 4:,g}" + (f" {unit}" if part == 4 else "")
            height = base + side * 0.1
            sheet.axes.text(
                x + part * length_in / 4, height, label, size=7, ha=align,
                va="bottom" if side > 0 else "top",
            )  # fmt: skip
    return base - 0.3


def norths(
    sheet: Sheet,
    x: float,
    top: float,
    width_in: float,
    convergence_deg: float,
    *,
    has_words: bool = True,
) -> float:
    """Draw grid north, which is up, and true north at its angle, and say the angle.

    Parameters
    ----------
    sheet : Sheet
        Where to draw.
    x, top : float
        Upper left corner. [inch]
    width_in : float
        Room for arrows and words. [inch]
    convergence_deg : float
        Meridian convergence by PROJ's sign: true north stands at minus this, clockwise from
        grid north. [degrees]
    has_words : bool
        Whether the angle is told in words; else by its number.
    """
    turn = math.radians(-convergence_deg)
    side = 1 if turn >= 0 else -1
    foot = (x + 0.42, top - 0.78)
    tip = (foot[0] + 0.6 * math.sin(turn), foot[1] + 0.6 * math.cos(turn))
    grid_tip = (foot[0], foot[1] + 0.5)
    arrow = {
        "arrowstyle": "-|>",
        "color": colours.INK,
        "linewidth": 0.9,
        "shrinkA": 0,
        "shrinkB": 0,
    }
    sheet.axes.annotate("", grid_tip, foot, arrowprops=arrow)
    sheet.axes.add_line(Line2D(*zip(foot, tip, strict=True), color=colours.INK, linewidth=0.9))
    sheet.axes.text(*tip, "★", size=9, ha="center", va="center")
    grid_end, true_end = ("right", "left") if side > 0 else ("left", "right")
    sheet.axes.text(
        foot[0] - side * 0.09, grid_tip[1] - 0.08, "GN", size=7, ha=grid_end, va="center"
    )
    sheet.axes.text(tip[0] + side * 0.09, tip[1], "TN", size=7, ha=true_end, va="center")
    lowest = min(foot[1], tip[1] - 0.08)
    words_x = x + 0.95
    words = north_words(convergence_deg) if has_words else f"★ {-convergence_deg:+.2f}°"
    ends = sheet.paragraph(words, words_x, top - 0.1, width_in - 0.95)
    return min(lowest - 0.05, ends)


def north_words(convergence_deg: float) -> str:
    """Return where true north (★) lies from grid north, in words."""
    size = abs(convergence_deg)
    if size < 0.005:
        return "★ True north is grid north (GN) at the centre of the map."
    direction = "west" if convergence_deg > 0 else "east"
    return f"★ True north (TN) is {size:.2f}° {direction} of grid north (GN) at the map's centre."
