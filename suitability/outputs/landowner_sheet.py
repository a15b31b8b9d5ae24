"""The page about one site for a landowner: plain words, two maps, what to do before anything."""

from __future__ import annotations

from dataclasses import replace

from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from suitability.outputs import colours, sheet_parts
from suitability.outputs.figure_parts import Sheet, legend, scale_bar
from suitability.outputs.paper import SIZES_IN, Paper, blank_page
from suitability.outputs.sheet_content import LandownerSheet
from suitability.outputs.sheet_map import draw_sheet_map

MARGIN_IN = 0.55
_GAP_IN = 0.3
_CODE_IN = 1.0
_MAP_IN = 2.55
_SENTENCE_IN, _PART_IN = 0.03, 0.06  # below each
# Points, and lines of a text: the first that fits.
_SIZES = (
    *((size, 9) for size in (11.0, 10.5, 10.0, 9.5, 9.0, 8.5)),
    *((8.0, most) for most in (9, 3, 2, 1)),
)
# Sign and name of what maps show.
_NAMES = {
    "water": ("streams", "Water"),
    "buildings": ("buildings", "Building"),
    "boundary": ("boundary", "Boundary"),
    "wires": ("wires", "Overhead line"),
}


def landowner_page(content: LandownerSheet, paper: Paper = "letter") -> Figure:
    """Return the page, not yet written; to be called within `figure_parts.own_style`."""
    page = SIZES_IN[paper]
    figure, fresh = blank_page(*page)
    blank = replace(fresh, widths=sheet_parts.WIDTHS)
    room = page[0] - 2 * MARGIN_IN
    width = (room - _GAP_IN) / 2
    right = MARGIN_IN + width + _GAP_IN
    foot = blank.cut(content.foot, room, 3, size=8)
    bottom = 0.35 + blank.height_of(foot, room, size=8)
    scratch = replace(blank_page(1, 1)[1], widths=sheet_parts.WIDTHS)  # to measure on
    top = _draw_head(figure, blank, content, page[1] - MARGIN_IN + 0.1, room)
    top = _draw_maps(figure, blank, content, (MARGIN_IN, right), top, width)
    fits = ((size, most) for size, most in _SIZES
            if _draw_words(scratch, content, size, most, top, room) >= bottom + 0.08)  # fmt: skip
    size, most = next(fits, _SIZES[-1])
    _draw_words(blank, content, size, most, top, room)
    blank.paragraph(foot, MARGIN_IN, bottom, room, size=8, colour=colours.QUIET_INK)
    return figure


def _draw_head(
    figure: Figure, sheet: Sheet, content: LandownerSheet, top: float, room: float
) -> float:
    sheet_parts.code(figure, MARGIN_IN + room - _CODE_IN, top - _CODE_IN, _CODE_IN, content.geo)
    width = room - _CODE_IN - 0.2
    ends = sheet.paragraph(content.title, MARGIN_IN, top, width, size=20, weight="bold") - 0.03
    land = sheet.cut(content.land, width, 2, size=11)
    sheet.paragraph(land, MARGIN_IN, ends, width, size=11, colour=colours.QUIET_INK)
    told = "Scan this with a phone to find the spot"
    left = MARGIN_IN + width - sheet.text_width_in(told, 8)
    sheet.axes.text(left, top - _CODE_IN + 0.12, told, size=8, color=colours.QUIET_INK)
    return top - _CODE_IN - 0.02


def _draw_maps(
    figure: Figure, sheet: Sheet, content: LandownerSheet, lefts: tuple[float, float],
    top: float, width: float,
) -> float:  # fmt: skip
    """Draw the land, and the spot from near, with scales and signs; return where they end."""
    titles = ("Where it is on the land", "The spot from near")
    maps = (content.wide, content.near)
    kinds = [kind for kind in _NAMES if any(kind in shown.shapes for shown in maps)]
    ends = []
    for number, (x, title, shown) in enumerate(zip(lefts, titles, maps, strict=True)):
        below = sheet.paragraph(title, x, top, width, size=11, weight="bold") - 0.04
        draw_sheet_map(figure, x, below - _MAP_IN, _MAP_IN, _MAP_IN, shown, has_others=False)
        in_per_true_m = _MAP_IN / shown.side_m * shown.scale_factor
        low = below - _MAP_IN - 0.05
        ends.append(scale_bar(sheet, x, low, 2.2, in_per_true_m))
        named = dict(_NAMES[kind] for kind in kinds[2 * number : 2 * number + 2])
        ends.append(legend(sheet, x + 2.35, low - 0.08, width - 2.35, named))
    return min(ends) - 0.02


def _draw_words(
    sheet: Sheet, content: LandownerSheet, size: float, most: int, top: float, room: float
) -> float:
    """Draw both columns and, framed, what comes before the work; return where they end."""
    width = (room - _GAP_IN) / 2
    parts = [(title, tuple(sheet.cut(text, width, most, size=size) for text in told))
             for title, told in content.parts]  # fmt: skip
    heights = [_part_in(sheet, part, size, width) for part in parts]
    # Where the longer column is shortest.
    in_left = min(range(len(parts) + 1), key=lambda n: max(sum(heights[:n]), sum(heights[n:])))
    ends = [top]
    for x, those in ((MARGIN_IN, parts[:in_left]), (MARGIN_IN + width + _GAP_IN, parts[in_left:])):
        at = top
        for title, told in those:
            at = sheet.paragraph(title, x, at, width, size=size + 1.5, weight="bold") - 0.02
            for text in told:
                at = sheet.paragraph(text, x, at, width, size=size) - _SENTENCE_IN
            at -= _PART_IN
        ends.append(at)
    frame_top = min(ends) - 0.02
    at = frame_top - 0.08
    inner = room - 0.24
    at = sheet.paragraph(
        "Before anyone digs or climbs", MARGIN_IN + 0.12, at, inner, size=size + 1.5, weight="bold"
    )
    first = [sheet.cut(text, inner - 0.18, most, size=size) for text in content.first]
    at = sheet_parts.checks(sheet, MARGIN_IN + 0.12, at - 0.04, inner, first, size=size)
    at -= 0.04
    frame = Rectangle((MARGIN_IN, at), room, frame_top - at, fc="none", ec=colours.INK, lw=1.2)
    sheet.axes.add_patch(frame)
    return at


def _part_in(sheet: Sheet, part: tuple[str, tuple[str, ...]], size: float, width: float) -> float:
    """Return how high a heading with its sentences will be. [inch]."""
    title, told = part
    words = sum(sheet.height_of(text, width, size=size) + _SENTENCE_IN for text in told)
    return sheet.height_of(title, width, size=size + 1.5) + 0.02 + words + _PART_IN
