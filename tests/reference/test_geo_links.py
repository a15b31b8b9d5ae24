"""The link on a site's page against RFC 5870, and its QR code as zxing-cpp reads it.

The grammar is that of RFC 5870, section 3.3: `geo:` lat "," lon, numbers without an exponent or a
plus sign; WGS 84 where no `crs` is named. The white edge of four modules is that of ISO/IEC 18004
(from memory).
"""

import re

import numpy as np
import pytest
import site_pages
import zxingcpp
from matplotlib.backends.backend_agg import FigureCanvasAgg

from suitability.outputs.figure_parts import own_style
from suitability.outputs.landowner_sheet import landowner_page
from suitability.outputs.paper import blank_page
from suitability.outputs.sheet_parts import code
from suitability.outputs.site_sheet import field_page
from suitability.sheets.site import SheetSite

GEO = re.compile(r"geo:(?P<lat>-?\d+(\.\d+)?),(?P<lon>-?\d+(\.\d+)?)")


def link(lat, lon):
    return SheetSite(None, None, {"lat_deg": lat, "lon_deg": lon}).geo


def read(figure, dpi):
    figure.set_dpi(dpi)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    grey = np.asarray(canvas.buffer_rgba())[..., :3].mean(axis=2).astype(np.uint8)
    return [found.text for found in zxingcpp.read_barcodes(np.ascontiguousarray(grey))]


@pytest.mark.parametrize(
    ("lat", "lon"),
    [(40.198989, -84.303432), (-33.9, 18.4), (0.0, 0.0), (1e-7, -1e-7), (-89.999999, 179.999999)],
)
def test_links_follow_the_grammar_and_give_the_place_back(lat, lon):
    found = GEO.fullmatch(link(lat, lon))
    assert float(found["lat"]) == pytest.approx(lat, abs=5.1e-7)
    assert float(found["lon"]) == pytest.approx(lon, abs=5.1e-7)
    assert -90 <= float(found["lat"]) <= 90


@pytest.mark.parametrize("lat", [40.198989, -89.999999])
def test_a_code_as_small_as_on_the_page_is_read_as_its_link(lat):
    figure, _ = blank_page(1.4, 1.4)
    code(figure, 0.2, 0.2, 1.0, link(lat, -179.123456))
    assert read(figure, 150) == [link(lat, -179.123456)]


@pytest.mark.parametrize(
    ("draw", "content"),
    [(field_page, site_pages.field()), (landowner_page, site_pages.landowner())],
)
def test_the_only_code_on_a_page_is_that_of_its_site(draw, content):
    with own_style():
        assert read(draw(content, "letter"), 150) == [content.geo]
