"""The page about one site for the field: where, what, why, what to heed, room to write."""

from __future__ import annotations

from dataclasses import replace

from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from suitability.outputs import colours, sheet_parts
from suitability.outputs.figure_parts import Sheet, legend, scale_bar, score_key
from suitability.outputs.paper import SIZES_IN, Paper, blank_page
from suitability.outputs.sheet_content import FieldSheet, Rows
from suitability.outputs.sheet_map import draw_sheet_map
from suitability.outputs.sheet_parts import SMALL, TEXT

MARGIN_IN = 0.45
_GAP_IN = 0.25
_CODE_IN = 1.02
_KEY_IN = 2.25  # width of the score's key: its numbers want it
_LEAST_MAP_IN = 1.6
_SKY_IN, _MONTHS_IN = 1.28, 0.68
_LABEL_IN = 0.82
_FULLNESS = ((2, 8), (1, 8), (1, 5), (1, 3))  # lines of a text, and criteria
_MOST_HEEDED = 3  # lines of one thing to heed
_MOST_OF_REASON = 4


def field_page(content: FieldSheet, paper: Paper = "letter") -> Figure:
    """Return the page, not yet written; to be called within `figure_parts.own_style`.

    What is below is measured first; the map takes what height is left.
    """
    page = SIZES_IN[paper]
    figure, blank = blank_page(*page)
    sheet = replace(blank, widths=sheet_parts.WIDTHS)
    room = page[0] - 2 * MARGIN_IN
    width = (room - _GAP_IN) / 2
    right = MARGIN_IN + width + _GAP_IN
    top = _draw_head(figure, sheet, content, page[1] - MARGIN_IN + 0.1, room)
    foot_top = _draw_foot(sheet, content, room)
    checks_in = sheet_parts.checks_height(sheet, width, content.checks, size=SMALL)
    checks_top = foot_top + checks_in + 0.3
    _, scratch = blank_page(1, 1)  # to measure on: what is drawn beyond it counts as well
    scratch = replace(scratch, widths=sheet_parts.WIDTHS)
    below_map_in = -_draw_below_map(figure, scratch, content, MARGIN_IN, 0.0, width, is_drawn=False)
    lowest_heed_top = top - below_map_in - _LEAST_MAP_IN
    heed_top = checks_top - _draw_heed(scratch, content, 0.0, room, checks_top - lowest_heed_top)
    map_in = min(top - below_map_in - heed_top, width)
    draw_sheet_map(
        figure, MARGIN_IN, top - map_in, width, map_in, content.map, lowest=content.lowest
    )
    _draw_below_map(figure, sheet, content, MARGIN_IN, top - map_in, width)
    _draw_facts(sheet, scratch, content, right, top, width, heed_top)
    _draw_heed(sheet, content, heed_top, room, checks_top)
    _draw_notes(sheet, right, checks_top, width, foot_top)
    ends = sheet_parts.heading(sheet, MARGIN_IN, checks_top, width, "Before digging or climbing")
    sheet_parts.checks(sheet, MARGIN_IN, ends, width, content.checks, size=SMALL)
    return figure


def _draw_head(figure: Figure, sheet: Sheet, content: FieldSheet, top: float, room: float) -> float:
    """Draw title and code; return where they end."""
    code_x, code_y = MARGIN_IN + room - _CODE_IN, top - _CODE_IN
    sheet_parts.code(figure, code_x, code_y, _CODE_IN, content.geo)
    width = room - _CODE_IN - 0.15
    ends = sheet.paragraph(content.site, MARGIN_IN, top, width, size=20, weight="bold")
    land = sheet.cut(content.land, width, 2, size=10)
    ends = sheet.paragraph(land, MARGIN_IN, ends, width, size=10) - 0.03
    summary = sheet.cut(content.summary, width, 1, size=TEXT)
    sheet.paragraph(summary, MARGIN_IN, ends, width, size=TEXT, colour=colours.QUIET_INK)
    told = f"Scan for the place: {content.geo}"
    left = MARGIN_IN + width - sheet.text_width_in(told, 7)
    sheet.axes.text(left, code_y + 0.03, told, size=7, color=colours.QUIET_INK)
    return code_y - 0.02


def _draw_below_map(
    figure: Figure, sheet: Sheet, content: FieldSheet, x: float, top: float, width: float, *,
    is_drawn: bool = True,
) -> float:  # fmt: skip
    """Draw scale, keys, sky and months; return where they end."""
    top -= 0.06
    in_per_true_m = width / content.map.side_m * content.map.scale_factor
    ends = scale_bar(sheet, x, top, _KEY_IN, in_per_true_m)
    ends = score_key(sheet, x, ends - 0.04, _KEY_IN, content.lowest, "Score (0 to 1)")
    left = x + _KEY_IN + 0.1
    beside = legend(sheet, left, top - 0.03, x + width - left, _signs(content))
    top = min(ends, beside) - 0.02
    if content.sky is not None:
        top = sheet_parts.heading(sheet, x, top, width, "Horizon and the sun's paths")
        if is_drawn:
            sheet_parts.sky(figure, sheet, x, top, width, _SKY_IN, content.sky)
        top -= _SKY_IN + 0.06
    if content.months:
        top = sheet_parts.heading(sheet, x, top, width, "Direct sun, hours a day")
        top = sheet_parts.months(sheet, x, top - 0.02, width, _MONTHS_IN, content.months)
    return sheet.paragraph(content.sun, x, top, width, size=SMALL) - 0.08


def _signs(content: FieldSheet) -> dict[str, str]:
    """Return what the map's signs mean: what is on this map, and nothing else."""
    shapes = content.map.shapes
    names = {
        "excluded": "Ruled out" if content.map.excluded.any() else "",
        "streams": "Water's edge" if "water" in shapes else "",
        "boundary": "Boundary" if "boundary" in shapes else "",
        "buildings": "Building" if "buildings" in shapes else "",
        "wires": "Overhead line" if "wires" in shapes else "",
    }
    return {sign: name for sign, name in names.items() if name}


def _draw_facts(
    sheet: Sheet, scratch: Sheet, content: FieldSheet, x: float, top: float, width: float,
    bottom: float,
) -> None:  # fmt: skip
    """Draw the column of words beside the map: as much as there is room for."""
    ways = (way for way in _FULLNESS if _draw_sure(scratch, content, x, top, width, *way) >= bottom)
    top = _draw_sure(sheet, content, x, top, width, *next(ways, _FULLNESS[-1]))
    _draw_reasons(sheet, content.why, x, top, width, bottom)


def _draw_sure(
    sheet: Sheet, content: FieldSheet, x: float, top: float, width: float, most: int, count: int
) -> float:
    """Draw what every page says; return where it ends.

    Each text takes so many lines at most, and so many criteria are shown, the heaviest.
    """

    def part(title: str, told: Rows, top: float) -> float:
        top = sheet_parts.heading(sheet, x, top, width, title)
        return sheet_parts.rows(sheet, x, top, width, told, _LABEL_IN, most) - 0.05

    top = part("Place", content.place, top)
    top = part("What to put up", content.put_up, top)
    if content.bearings:
        top = part("Which way it looks", content.bearings, top) + 0.05
        top = sheet_parts.sentences(sheet, x, top, width, (content.needle,), most) - 0.05
    top = part("When", content.when, top)
    top = sheet_parts.heading(sheet, x, top, width, "How far it is")
    top = sheet_parts.rows_in_two(sheet, x, top, width, content.distances, 0.98, most) - 0.05
    top = sheet_parts.heading(sheet, x, top, width, "Why here")
    top = sheet_parts.merits(sheet, x, top, width, content.merits[:count])
    more = len(content.merits) - count
    how = f"{more} more: `suitability explain`. {content.how}" if more > 0 else content.how
    return sheet_parts.sentences(sheet, x, top, width, (how,), most) - 0.05


def _draw_reasons(
    sheet: Sheet, texts: tuple[str, ...], x: float, top: float, width: float, bottom: float
) -> None:
    """Draw the first of them as far as they fit as a whole; the very first is cut if need be."""
    room = top - bottom - 0.24
    shown: list[str] = []
    for text in texts:
        height = sheet.height_of(text, width, size=SMALL) + 0.025
        if height > room or len(sheet.wrapped(text, SMALL, width)) > _MOST_OF_REASON:
            break  # what comes after it may say what else would do
        shown.append(text)
        room -= height
    line = sheet.height_of("x", width, size=SMALL)
    if texts and not shown and room >= line + 0.025:
        shown = [sheet.cut(texts[0], width, int((room - 0.025) / line), size=SMALL)]
    if shown:
        top = sheet_parts.heading(sheet, x, top, width, "Why this box, and what else would do")
        sheet_parts.sentences(sheet, x, top, width, shown, _MOST_OF_REASON)


def _draw_heed(sheet: Sheet, content: FieldSheet, top: float, room: float, bottom: float) -> float:
    """Draw in a frame what applies here, then the titles of the rest; return where it ends.

    Of what applies here so much is said as there is room for above `bottom`; how much is not, is.
    """
    x, width = MARGIN_IN + 0.1, room - 0.2
    frame_top = top
    top = sheet.paragraph("Heed", x, top - 0.06, width, size=9.5, weight="bold") - 0.02
    unknown = f"{' '.join(content.missing)} " if content.missing else ""
    unknown = sheet.cut(unknown, width, 2, size=SMALL)
    rest = f"{unknown} At every site: {'; '.join(content.everywhere)}."
    left_in = top - bottom - sheet.height_of(rest, width, size=SMALL) - 0.15
    for text in _fitting(sheet, content.here, width, left_in):
        top = sheet.paragraph(text, x, top, width, size=SMALL) - 0.025
    top = sheet.paragraph(rest, x, top, width, size=SMALL) - 0.05
    frame = Rectangle((MARGIN_IN, top), room, frame_top - top, fc="none", ec=colours.INK, lw=0.9)
    sheet.axes.add_patch(frame)
    return top - 0.1


def _fitting(sheet: Sheet, texts: tuple[str, ...], width: float, height: float) -> tuple[str, ...]:
    """Return texts, cut alike so that they fit; the first of them where a line each is too much."""
    for most in range(_MOST_HEEDED, 0, -1):
        shown = tuple(
            sheet_parts.cut_at_sentence(sheet, text, width, most, size=SMALL) for text in texts
        )
        needs = sum(sheet.height_of(text, width, size=SMALL) + 0.025 for text in shown)
        if needs <= height + 1e-6:
            return shown
    line = sheet.height_of("x", width, size=SMALL) + 0.025
    kept = max(int(height / line + 1e-6) - 1, 0)
    return (*shown[:kept], f"And {len(texts) - kept} more: `heed` of this site in sites.csv.")


def _draw_notes(sheet: Sheet, x: float, top: float, width: float, bottom: float) -> None:
    top = sheet_parts.heading(sheet, x, top, width, "Notes")
    sheet_parts.lines_to_write_on(sheet, x, top, width, bottom)


def _draw_foot(sheet: Sheet, content: FieldSheet, room: float) -> float:
    """Draw the foot from the page's lower end up; return where it begins."""
    foot = sheet.cut(content.foot, room, 3, size=7)
    begins = 0.3 + sheet.height_of(foot, room, size=7)
    sheet.paragraph(foot, MARGIN_IN, begins, room, size=7, colour=colours.QUIET_INK)
    return begins + 0.06
