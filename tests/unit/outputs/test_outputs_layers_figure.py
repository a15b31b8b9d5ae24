"""Small maps of layers: keys that tell the truth, pages that hold them."""

import dataclasses
import math

import matplotlib as mpl
import numpy as np
import pypdf
import pyproj
import pytest
from paper import overlapping, texts_on

from suitability.grid import Grid
from suitability.outputs import colours, figure_parts
from suitability.outputs.layers_figure import (
    LayerMap,
    LayersContent,
    draw_layers,
    key_ends,
    key_labels,
    layer_pages,
)
from suitability.quantities import Quantities

UTM = pyproj.CRS.from_epsg(32616)
METRIC, US = Quantities("metric"), Quantities("us")


def layer(values, unit="m", units=METRIC, **changes):
    array = np.asarray(values, np.float32)
    return LayerMap("distance to water", array, units.axis(unit), **changes)


def pages_of(count, rows=50, cols=60, **changes):
    grid = Grid(UTM, 728_000.0, 4_454_000.0, 5.0, rows, cols)
    ramp = np.linspace(0, 100, rows * cols, dtype=np.float32).reshape(rows, cols)
    content = LayersContent(
        title="Invented land: measured layers",
        grid=grid,
        layers=[
            dataclasses.replace(layer(ramp), title=f"what number {number} measures on this land")
            for number in range(count)
        ],
        caption="What was measured. " * 4,
        caution="Visit each site first. " * 8,
        sources="Data: invented.tif. " * 3,
        x_m=np.array([728_100.0]),
        y_m=np.array([4_453_900.0]),
    )
    return dataclasses.replace(content, **changes)


@pytest.mark.parametrize(
    ("count", "rows", "cols"), [(1, 50, 60), (8, 40, 200), (11, 200, 40), (23, 50, 60)]
)
def test_every_layer_has_a_map_and_no_text_runs_into_another(count, rows, cols):
    with figure_parts.own_style():
        pages = layer_pages(pages_of(count, rows, cols))
        found = [texts_on(page) for page in pages]
    told = [text for page in found for text, *_ in page if "number" in text]
    assert len(told) == count
    for page in found:
        assert overlapping(page) == []
        assert min(size for *_, size in page) >= 7
    assert sum(len(page.axes) - 1 for page in pages) == count


def test_a_pdf_holds_all_pages_and_pictures_are_numbered(tmp_path):
    content = pages_of(14)
    (pdf,) = draw_layers(tmp_path / "layers.pdf", content, paper="a4")
    count = len(pypdf.PdfReader(pdf).pages)
    assert count > 1
    files = draw_layers(tmp_path / "layers.svg", content)
    expected = ["layers.svg", *(f"layers_{number}.svg" for number in range(2, len(files) + 1))]
    assert [file.name for file in files] == expected
    assert all(file.stat().st_size > 0 for file in files)


def test_a_key_leaves_out_the_outermost_hundredths_and_says_so():
    values = np.append(np.linspace(10, 20, 1000), [500, np.nan]).reshape(2, 501)
    one = layer(values)
    low, high = key_ends(one)
    assert low == pytest.approx(10.1, abs=0.05)
    assert high == pytest.approx(19.9, abs=0.05)
    first, middle, last = key_labels(one, low, high, 10, 500)
    assert last.startswith("≥ ")
    assert float(middle) == pytest.approx(15, abs=0.05)
    assert key_labels(one, 10, 20, 10, 20) == ("10", "15", "20")
    assert first.startswith("≤ ") == (low - 10 > 0.01 * (high - low))


def test_a_key_is_told_in_the_runs_units():
    assert key_labels(layer([[0]], units=US), 0, 30.48, 0, 30.48) == ("0", "50", "100")
    assert key_labels(layer([[0]], "h", US), 0, 13, 0, 13) == ("0", "6.5", "13")


def test_land_that_measures_the_same_all_over_and_none_at_all_have_a_key():
    assert key_ends(layer([[3, 3]])) == (3, 3)
    assert key_ends(layer([[0] * 999 + [7]])) == (0, 7)
    assert key_ends(layer([[math.nan]])) == (0, 0)
    with figure_parts.own_style():
        flat = np.full((50, 60), 3, np.float32)
        empty = np.full((50, 60), np.nan, np.float32)
        pages = layer_pages(pages_of(2, layers=[layer(flat), layer(empty)]))
        words = [text for text, *_ in texts_on(pages[0])]
    assert "3 m" in words
    assert "–" in words


def test_directions_come_full_circle():
    one = layer([[0, 90, 359.9]], "deg", is_direction=True)
    assert key_ends(one) == (0, 360)
    ramp = mpl.colormaps[colours.DIRECTIONS]
    assert ramp(0.0) == pytest.approx(ramp(1.0), abs=0.01)
    assert key_labels(one, 0, 360, 0, 359.9) == ("0 N", "180 S", "360 N")
