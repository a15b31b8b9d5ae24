"""Pages about a site, drawn from invented contents: all of it is there, and nothing collides."""

import dataclasses

import pypdf
import pytest
import site_pages
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.patches import Rectangle
from paper import overlapping, texts_on

from suitability.outputs.figure_parts import own_style
from suitability.outputs.landowner_sheet import landowner_page
from suitability.outputs.paper import SIZES_IN, write_book
from suitability.outputs.site_sheet import field_page

BARE = {
    "bearings": (),
    "sky": None,
    "months": (),
    "sun": "",
    "map": site_pages.square(facing_deg=None),
    "missing": ("The run keeps no horizon of this site.",),
}
NO_RASTERS = site_pages.square()
NO_RASTERS = dataclasses.replace(
    NO_RASTERS, score=NO_RASTERS.score[:0, :0], excluded=NO_RASTERS.excluded[:0, :0], light=None
)
PAGES = {
    "plain": (field_page, site_pages.field()),
    "awkward": (field_page, site_pages.awkward_field()),
    "bare": (field_page, site_pages.field(**BARE)),
    "much to heed": (field_page, site_pages.field(here=(site_pages.LONG,) * 4)),
    "landowner": (landowner_page, site_pages.landowner()),
    "awkward landowner": (landowner_page, site_pages.awkward_landowner()),
    "landowner without a relief": (landowner_page, site_pages.landowner(wide=NO_RASTERS)),
}


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("name", PAGES)
def test_nothing_collides_or_leaves_the_paper_and_all_can_be_read(name, paper):
    draw, content = PAGES[name]
    with own_style():
        page = draw(content, paper)
        assert tuple(page.get_size_inches()) == pytest.approx(SIZES_IN[paper])
        found = texts_on(page)
        assert overlapping(found) == []
        width, height = page.canvas.get_width_height()
        edge = 0.25 * page.dpi  # what most printers leave white
        for text, box, size in found:
            assert size >= 7, text
            assert box.x0 > edge, text
            assert box.x1 < width - edge, text
            assert box.y0 > edge, text
            assert box.y1 < height - edge, text


@pytest.mark.parametrize("name", PAGES)
def test_no_text_crosses_a_frame_or_a_map(name):
    """Words of the sheet stand within frames or outside, and never on maps, charts and codes."""
    draw, content = PAGES[name]
    with own_style():
        page = draw(content, "letter")
        sheet, *others = page.axes
        page.draw_without_rendering()
        renderer = FigureCanvasAgg(page).get_renderer()
        texts = [(each.get_text(), each.get_window_extent(renderer)) for each in sheet.texts]
        frames = [patch.get_window_extent(renderer) for patch in sheet.patches
                  if isinstance(patch, Rectangle) and patch.get_height() > 0.3
                  and patch.get_width() > 3]  # fmt: skip
        assert frames
        for text, box in texts:
            for axes in others:
                area = axes.get_window_extent(renderer)
                across = min(area.x1, box.x1) - max(area.x0, box.x0)
                up = min(area.y1, box.y1) - max(area.y0, box.y0)
                assert across <= 1 or up <= 1, text
            for frame in frames:
                is_in = frame.y0 < (box.y0 + box.y1) / 2 < frame.y1
                assert (frame.y0 <= box.y0 + 1 and box.y1 - 1 <= frame.y1) == is_in, text


def test_what_applies_here_comes_before_what_holds_everywhere():
    with own_style():
        page = field_page(site_pages.field(here=("An overhead line is 12 m away.",)), "letter")
        at = {text: box.y0 for text, box, _ in texts_on(page)}
    (rest,) = [y for text, y in at.items() if "At every site:" in text]
    assert at["An overhead line is 12 m away."] > rest


def test_what_there_is_no_room_for_is_counted():
    with own_style():
        texts = [text for text, _, _ in texts_on(field_page(site_pages.awkward_field(), "letter"))]
    told = sum(text.startswith("an old tannery") and text.endswith("…") for text in texts)
    (more,) = [text for text in texts if text.startswith("And ")]
    assert 0 < int(more.split()[1]) < 12
    assert told > 0


def test_what_to_heed_ends_with_a_sentence():
    heed = "Call before you dig. " + "Have lines marked by those who know where they lie. " * 12
    with own_style():
        texts = [text for text, _, _ in texts_on(field_page(site_pages.field(here=(heed,))))]
    (ends,) = [text for text in texts if text.endswith("…") and "lines marked" in text]
    assert ends.endswith("they lie. …")


def test_pages_are_text_with_their_fonts_in_the_file_and_the_same_bytes_each_time(tmp_path):
    def written(name):
        with own_style():
            pages = (draw(content, "a4") for draw, content in
                     (PAGES["plain"], PAGES["landowner"]))  # fmt: skip
            write_book(tmp_path / name, pages, title="Invented land")
        return (tmp_path / name).read_bytes()

    assert written("one.pdf") == written("two.pdf")
    book = pypdf.PdfReader(tmp_path / "one.pdf")
    assert len(book.pages) == 2
    assert dict(book.metadata) == {"/Title": "Invented land"}
    assert "16TGK2952353331" in book.pages[0].extract_text()
    assert "Never touch a bat." in book.pages[1].extract_text()
    for page in book.pages:
        for font in page["/Resources"]["/Font"].values():
            (inner,) = font.get_object().get("/DescendantFonts", [font])
            assert "/FontFile2" in inner.get_object()["/FontDescriptor"].get_object()
