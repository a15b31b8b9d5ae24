import re

import pytest

from suitability.outputs.box_sheet import SheetContent, View, write_box_sheet

LONG = "Keep people, ladders and poles far from lines. " * 8


@pytest.mark.parametrize(("paragraphs", "pages"), [(1, 1), (14, 2)])
def test_what_to_heed_gets_a_page_of_its_own_where_it_is_much(tmp_path, paragraphs, pages):
    view = View("from the front", [(0, 0, 0.4, 0.7)], 0.4, 0.7, "wide", "tall")
    items = [("part", "size", "a note")] * 10
    content = SheetContent("A box", ["Where it goes."], items, [view], [LONG] * paragraphs)
    write_box_sheet(tmp_path / "sheet.pdf", content)
    found = re.findall(rb"/Type /Page\b", (tmp_path / "sheet.pdf").read_bytes())
    assert len(found) == pages
