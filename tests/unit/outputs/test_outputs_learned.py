"""The picture of what boxes have taught: its numbers are on it, and it is the same each time."""

import pytest
from pypdf import PdfReader

from suitability.outputs.learned_picture import MovedWeight, UseByScore, draw_learned
from suitability.outputs.picture_page import MARGIN_IN, Words

WORDS = Words("Fen: what boxes have taught", ("24 boxes watched.",), ("Scores are no chances.",))
CLASSES = [
    UseByScore(0.3, 0.5, 0.42, 1, 6, 0.03, 0.56),
    UseByScore(0.86, 1.0, 0.95, 6, 6, 0.61, 1.0),
]
WEIGHTS = [
    MovedWeight("direct_sun_h", 0.6, 0.7, 0.55, 0.8),
    MovedWeight("slope_deg", 0.4, 0.3, 0.2, 0.45),
]


@pytest.mark.parametrize(("classes", "weights"), [(CLASSES, WEIGHTS), (CLASSES, []), ([], [])])
def test_numbers_and_names_are_on_the_page(classes, weights, tmp_path):
    path = tmp_path / "learned.pdf"
    draw_learned(path, WORDS, classes, weights)
    (page,) = PdfReader(path).pages
    text = page.extract_text()
    assert "Scores are no chances." in text
    for each in classes:
        assert f"{each.used} of {each.boxes}" in text
    for each in weights:
        assert each.name in text
    assert ("proposed" in text) == bool(weights)


def test_the_same_picture_is_the_same_bytes(tmp_path):
    first, again = tmp_path / "a.png", tmp_path / "b.png"
    for path in (first, again):
        draw_learned(path, WORDS, CLASSES, WEIGHTS)
    assert first.read_bytes() == again.read_bytes()


def test_no_label_runs_past_its_place(tmp_path):
    path, starts = tmp_path / "learned.pdf", {}
    long = MovedWeight("a criterion of one's own with a name as long as a sentence", 1, 1, 1, 1)
    draw_learned(path, WORDS, CLASSES, [long])
    (page,) = PdfReader(path).pages

    def note(text, page_matrix, text_matrix, *_):
        starts[text.strip()] = page_matrix[4] + text_matrix[4]

    page.extract_text(visitor_text=note)
    right = 72 * (float(page.mediabox.width) / 72 - MARGIN_IN)
    wide = 7 * 0.55 * len("6 of 6")  # points, by the size of its letters
    assert starts["6 of 6"] + wide <= right
    assert starts["6 of 6"] > starts["1 of 6"]
    assert "…" in page.extract_text()
    assert "as long as a sentence" not in page.extract_text()
