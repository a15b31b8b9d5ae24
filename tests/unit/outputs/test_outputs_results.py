"""The page of results: numbers as they came, on paper and on a screen, and nothing executes."""

import re
from dataclasses import replace

import numpy as np
import pytest
from pypdf import PdfReader

from suitability.outputs.picture_page import Words
from suitability.outputs.results_page import (
    FirstSeen,
    ResultsContent,
    ShareRow,
    used_by,
    write_results,
)

HOSTILE = "<script>alert(1)</script>"
CONTENT = ResultsContent(
    words=Words(f"Fen {HOSTILE}", ("22 boxes were looked at.",), ("Keep away from bats.",)),
    rows=[
        ShareRow("all", "all boxes", 13, 22, 0.387, 0.767),
        ShareRow("kind", HOSTILE, 0, 3, 0.0, 0.561),
        ShareRow("kind", "none yet", 0, 0, float("nan"), float("nan")),
    ],
    months=np.array([4.0, 14.0]),
    unused=np.array([0.9, 0.4]),
    seen=FirstSeen(*np.array([[5.0, 15.0], [0.9, 0.4], [0.7, 0.2], [0.97, 0.6]])),
    until_months=30.0,
    seasons=[("2022", "05-12", "08-20", "31")],
)


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    return write_results(tmp_path_factory.mktemp("results"), CONTENT)


def test_the_page_is_one_and_its_text_is_text(written):
    (page,) = PdfReader(written[0]).pages
    text = page.extract_text()
    for words in ("13 of 22", "0 of 3", "How long boxes wait", "05-12", "Keep away from bats."):
        assert words in text
    assert page.mediabox.width == pytest.approx(8.5 * 72)
    assert page.mediabox.height == pytest.approx(11 * 72)


@pytest.mark.parametrize("groups", [1, 7, 30])
def test_it_is_a_letter_page_unless_rows_would_be_too_narrow(tmp_path, groups):
    names = [(f"by {n}", f"row {n} {k}") for n in range(groups) for k in "ab"]
    rows = [ShareRow(*name, 1, 4, 0.05, 0.7) for name in names]
    found = replace(CONTENT, rows=rows, seasons=CONTENT.seasons * 6)
    (page,) = PdfReader(write_results(tmp_path, found)[0]).pages
    height_in = float(page.mediabox.height) / 72
    assert height_in > 15 if groups == 30 else height_in == pytest.approx(11)
    assert all(name in page.extract_text() for _, name in names)


def test_fonts_are_embedded(written):
    (page,) = PdfReader(written[0]).pages
    fonts = page["/Resources"]["/Font"].values()
    assert fonts
    for font in fonts:
        for part in font.get_object()["/DescendantFonts"]:
            assert "/FontFile2" in part.get_object()["/FontDescriptor"]


def test_the_screen_has_the_numbers_and_runs_nothing(written):
    html = written[2].read_text("utf-8")
    assert "13 of 22" in html
    assert "39% to 77%" in html
    assert "<script" not in html
    assert "&lt;script&gt;" in html
    assert not re.search(r'(src|href)="(?!data:)', html)


def test_the_same_results_are_the_same_bytes(written, tmp_path):
    for first, again in zip(written, write_results(tmp_path, CONTENT), strict=True):
        assert first.read_bytes() == again.read_bytes()


def test_the_curve_of_waiting_ends_where_watching_did():
    months, used = used_by(CONTENT.months, CONTENT.unused, CONTENT.until_months)
    assert months.tolist() == [0, 4, 14, 30]
    np.testing.assert_allclose(used, [0, 0.1, 0.6, 0.6])


def test_nothing_found_yet_is_drawn(tmp_path):
    empty = ResultsContent(
        Words("Fen", ()), CONTENT.rows[2:], np.empty(0), np.empty(0),
        FirstSeen(*np.empty((4, 0))), until_months=1.0, seasons=(),
    )  # fmt: skip
    assert all(path.stat().st_size > 1000 for path in write_results(tmp_path, empty))
