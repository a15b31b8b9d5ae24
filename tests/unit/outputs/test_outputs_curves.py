"""The pages of curves: one criterion or thirty, every word on the page and none on another."""

import re

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.colors import to_rgb
from PIL import Image

from suitability.config import RunSettings
from suitability.decide import bases_of
from suitability.decide.histograms import Spread, bins_for, spread_of
from suitability.outputs import curves_page
from suitability.outputs.curves_page import CurvesContent, draw_curves
from suitability.outputs.curves_panel import CANDIDATES, LAND, Panel, percent, sentence
from suitability.outputs.figure_parts import own_style

BASES = bases_of(
    RunSettings.model_validate(
        {"inputs": {"elevation": "dem.tif", "land_cover": "cover.tif", "streams": "streams.gpkg"}}
    )
)
LONG = "Boxes with 7 h of sun and more used, under 5 h unused (a study of $9 and more); " * 2


def panel(number=0, **changes):
    values = np.random.default_rng(number).uniform(-1, 20, 4000)
    bins = bins_for((3, 14), (0.0, 13.0))
    base = {
        "layer": "direct_sun_h",
        "title": f"direct sun a day, number {number}",
        "unit": "h",
        "groups": (),
        "weight": "weight 41% of the whole",
        "evidence": "peer-reviewed",
        "basis": LONG,
        "conflict": LONG,
        "value": lambda measures: np.interp(measures, [3, 7], [0, 1]).astype(np.float32),
        "bins": bins,
        "land": spread_of(values, bins),
        "candidates": spread_of(values[values > 5], bins),
    }
    return Panel(**{**base, **changes})


def content(count, **changes):
    many = count if isinstance(count, list) else [panel(number) for number in range(count)]
    base = {
        "title": "Invented land at $5 and $6",
        "lines": ("Season 04-01 to 09-30", "Score: weighted mean of much"),
        "panels": tuple(many),
        "bases": (),
        "land": "all land, 12 ha (30 acres)",
        "candidates": "candidates, 6 ha (15 acres)",
        "caution": "Visit each site first. " * 12,
    }
    return CurvesContent(**{**base, **changes})


def figures(shown):
    """Return the pages as figures, drawn, so that their words have places."""
    with own_style():
        pages = [*curves_page._criteria_pages(shown), *curves_page._ground_pages(shown)]
        for number, page in enumerate(pages, start=1):
            curves_page._draw_foot(page.sheet, shown.caution, number, len(pages))
            page.figure.canvas.draw()
        return [page.figure for page in pages]


def words_of(figure):
    """Return every text of a page that is to be seen, and its place. [pixels]."""
    renderer = figure.canvas.get_renderer()
    texts = [text for text in figure.findobj(mpl.text.Text) if text.get_visible()]
    placed = [(text.get_text(), text.get_window_extent(renderer)) for text in texts]
    # Numbers of an axis that hides them have no place.
    return [(words, box) for words, box in placed if words.strip() and box.width > 0]


@pytest.mark.parametrize("count", [1, 5, 8, 12])
def test_up_to_twelve_criteria_keep_to_one_page_and_no_words_meet(count):
    first, *grounds = figures(content(count, bases=BASES if count == 1 else ()))
    assert all("number" not in words or "sun a day" in words for words, _ in words_of(first))
    for number in range(count):
        assert any(f"number {number}" in words for words, _ in words_of(first))
    for figure in (first, *grounds):
        placed = words_of(figure)
        page = figure.bbox
        for words, box in placed:
            assert page.x0 < box.x0 < box.x1 < page.x1, words
            assert page.y0 < box.y0 < box.y1 < page.y1, words
        for place, (words, box) in enumerate(placed):
            for other, other_box in placed[place + 1 :]:
                assert not _overlap(box, other_box), (words, other)


def _overlap(one, other):
    # The boxes of lines hold room for accents: they may share 2 pixels, at 200 to the inch.
    wide = min(one.x1, other.x1) - max(one.x0, other.x0)
    high = min(one.y1, other.y1) - max(one.y0, other.y0)
    return wide > 2 and high > 2


@pytest.mark.parametrize(("count", "pages"), [(12, 1), (13, 2), (25, 3)])
def test_more_than_twelve_go_on_further_pages_evenly_filled(count, pages):
    shown = content([panel(number, basis="why", conflict=None) for number in range(count)])
    per_page = [
        sum("number" in words for words, _ in words_of(figure)) for figure in figures(shown)[:pages]
    ]
    assert sum(per_page) == count
    assert max(per_page) - min(per_page) <= pages


def test_what_is_cut_for_want_of_room_stands_in_full_on_the_last_pages():
    ends = [panel(number, basis=f"{LONG * 3} ends{number}", conflict=None) for number in range(12)]
    first, *grounds = figures(content(ends))
    shown = " ".join(words for words, _ in words_of(first))
    full = " ".join(words for figure in grounds for words, _ in words_of(figure))
    assert "… in full on the last pages." in shown
    assert "ends3" not in shown
    assert all(f"ends{number}." in full for number in range(12))


def test_every_setting_says_what_it_rests_on():
    shown = content(1, bases=BASES)
    full = " ".join(
        words for figure in figures(shown)[1:] for words, _ in words_of(figure)
    ).replace("\n", " ")
    for basis in shown.bases:
        assert basis.key in full or basis.is_always
        assert basis.basis.split("(")[0][1:30] in full
        if basis.conflict:
            assert f"Sources conflict: {basis.conflict[:30]}" in full


def test_the_same_content_gives_the_same_bytes_without_a_date_under_any_style(tmp_path):
    first = {path.name: path.read_bytes() for path in draw_curves(tmp_path / "a", content(3))}
    with mpl.rc_context({"axes.facecolor": "red", "font.size": 30, "pdf.compression": 1}):
        again = {path.name: path.read_bytes() for path in draw_curves(tmp_path / "b", content(3))}
    assert first == again
    assert b"Date" not in first["curves.pdf"]
    assert first["curves.pdf"].startswith(b"%PDF-1.")
    # As ISO 32000 has it: a page is an object whose /Type is /Page; letter paper, in points.
    pages = re.findall(rb"/Type /Page\b", first["curves.pdf"])
    assert len(pages) == len(first) - 1
    assert first["curves.pdf"].count(b"/MediaBox [ 0 0 612 792 ]") == len(pages)


def test_pictures_of_earlier_pages_are_taken_away_and_nothing_else(tmp_path):
    many = draw_curves(tmp_path, content(13))
    (tmp_path / "curves_old.png").touch()
    few = draw_curves(tmp_path, content(1))
    assert len(many) > len(few)
    names = {path.name for path in tmp_path.iterdir()}
    assert names == {path.name for path in few} | {"curves_old.png"}


def test_land_and_candidates_are_told_apart_in_grey():
    # The weights of a grey printer: Rec. ITU-R BT.601.
    land, candidates = (np.dot(to_rgb(colour), (0.299, 0.587, 0.114)) for colour in
                        (LAND, CANDIDATES))  # fmt: skip
    assert land - candidates > 0.4
    assert 1 - land > 0.15


def test_the_histogram_shows_each_as_shares_of_itself(tmp_path):
    bins = bins_for((0, 10), (0.0, 10.0))
    low = spread_of(np.full(1000, 0.1), bins)
    one = panel(basis="why", conflict=None, bins=bins, land=low, candidates=low)
    axes = figures(content([one]))[0].axes
    curve, histogram = axes[1:3]
    assert curve.get_xlim() == histogram.get_xlim() == (bins.edges[0], bins.edges[-1])
    assert histogram.get_ylim()[1] == pytest.approx(1.25)
    assert [text.get_text() for text in histogram.get_yticklabels()] == ["0%", "100%"]
    assert histogram.get_xlabel() == "hours"
    (line,) = curve.get_lines()
    measures, values = line.get_data()
    assert values.tolist() == one.value(measures).tolist()
    (path,) = draw_curves(tmp_path, content([one]))[:1]
    with Image.open(path) as image:
        assert image.size == (1700, 2200)


def test_what_is_not_shown_is_said():
    bins = bins_for((0, 10), (0.0, 10.0))
    land = Spread(np.r_[np.full(bins.count - 1, 0), 60], below=20, above=19, missing=1)
    candidates = Spread(np.r_[np.full(bins.count - 1, 0), 10], above=30)
    told = panel(bins=bins, land=land, candidates=candidates, reach=9.0).facts
    edge = bins.edges[-1]
    assert told == (
        "Not shown: below 0 h 20% of the land, 0% of the candidates; "
        f"above {edge:.4g} h 19% of the land, 75% of the candidates.",
        "1% of the land has no measure.",
        "9 h stands for this far and further.",
    )


@pytest.mark.parametrize(
    ("layer", "unit", "label"),
    [("meadow_share", "1", "share, 0 to 1"), ("wetness_index", "1", "no unit"),
     ("roosts_per_km2", "/km²", "/km²"), ("noise_db", "dB", "dB")],
)  # fmt: skip
def test_axes_name_their_unit(layer, unit, label):
    one = panel(layer=layer, unit=unit, basis="why", conflict=None, reach=9.0)
    assert figures(content([one]))[0].axes[2].get_xlabel() == label
    assert ("9 stands for this far and further." in one.facts) == (unit == "1")


def test_land_without_a_measure_or_a_candidate_is_drawn():
    bins = bins_for((0, 10), None)
    nothing = spread_of(np.array([]), bins)
    empty = panel(bins=bins, land=nothing, candidates=nothing, groups=("one", "two"))
    assert "in one › two" in empty.head
    assert len(figures(content([empty]))) >= 2


@pytest.mark.parametrize(
    ("share", "told"),
    [(0, "0%"), (1e-9, "less than 1%"), (0.0049, "less than 1%"), (0.006, "1%"), (0.41, "41%"),
     (0.994, "99%"), (0.9999, "more than 99%"), (1, "100%")],
)  # fmt: skip
def test_shares_in_per_cent(share, told):
    assert percent(share) == told


def test_sentences():
    assert sentence("common practice") == "Common practice."
    assert sentence("Already one.") == "Already one."
