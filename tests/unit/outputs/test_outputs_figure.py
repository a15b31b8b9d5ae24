import dataclasses

import geopandas
import matplotlib as mpl
import numpy as np
import pandas as pd
import pyproj
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle, Wedge
from PIL import Image
from shapely import LineString, Point, box

from suitability.grid import Grid
from suitability.outputs import colours
from suitability.outputs.figure import draw_figure
from suitability.outputs.figure_content import FigureContent
from suitability.outputs.figure_map import (
    block_mean,
    first_class_from,
    hatching,
    paint,
    round_length,
)
from suitability.outputs.figure_parts import ROW_IN, Sheet, legend, norths, scale_bar
from suitability.outputs.figure_sites import DISC_RADIUS_IN, draw_sites, place_discs
from suitability.outputs.paper import DPI
from suitability.outputs.points import add_coordinates
from suitability.quantities import FOOT_M

UTM = pyproj.CRS.from_epsg(32616)
GRID = Grid(UTM, 728_000.0, 4_454_000.0, 5.0, 80, 120)


def content(**changes):
    rows, cols = np.indices(GRID.shape)
    score = (cols / GRID.cols).astype(np.float32)
    excluded = rows < 30
    score[excluded] = np.nan
    score[70:] = np.nan
    plain = pd.DataFrame(
        {"rank": [1, 2, 12], "x_m": [728_100.0, 728_110.0, 728_500.0], "y_m": [4_453_700.0] * 3}
    )
    base = FigureContent(
        title="Invented land at $5 and $6",
        grid=GRID,
        cell="5 m",
        score=score,
        excluded=excluded,
        sites=add_coordinates(plain, GRID),
        caution="Visit each site first.",
        sources="invented",
        date="2025-03-01",
        caption="Season 1 April to 31 October.",
        warnings=("Heights are assumed.",),
        hillshade=np.full(GRID.shape, 0.7, np.float32),
        streams=geopandas.GeoDataFrame(
            geometry=[LineString([(728_000, 4_453_900), (728_600, 4_453_650)]), None, Point()],
            crs=UTM,
        ),
        boundary=geopandas.GeoDataFrame(
            geometry=[box(728_050, 4_453_620, 728_550, 4_453_990)], crs=UTM
        ),
        buildings=geopandas.GeoDataFrame(
            geometry=[
                box(728_300, 4_453_800, 728_400, 4_453_900)
                - box(728_330, 4_453_830, 728_370, 4_453_870)
            ],
            crs=UTM,
        ),
    )  # fmt: skip
    return dataclasses.replace(base, **changes)


def drawn(path, **changes):
    draw_figure(path, content(**changes))
    with Image.open(path) as image:
        # Every third pixel each way says the same, sooner.
        return np.asarray(image.convert("RGB"))[::3, ::3].astype(np.int16), image.size


def is_of(pixels, colour):
    return np.abs(pixels - np.round(255 * np.array(to_rgb(colour)))).max(axis=2) <= 5


def share_of(pixels, colour):
    return is_of(pixels, colour).mean()


def test_a_letter_page_lies_for_wide_land_and_stands_for_tall(tmp_path):
    _, size = drawn(tmp_path / "wide.png")
    assert size == (11 * DPI, 8.5 * DPI)
    tall = Grid(UTM, 728_000.0, 4_454_000.0, 5.0, 120, 80)
    turned = {
        "grid": tall, "score": content().score.T, "excluded": content().excluded.T,
        "hillshade": None,
    }  # fmt: skip
    _, size = drawn(tmp_path / "tall.png", **turned)
    assert size == (8.5 * DPI, 11 * DPI)


def test_the_same_content_gives_the_same_bytes_under_any_style(tmp_path):
    draw_figure(tmp_path / "a.png", content())
    with mpl.rc_context({"font.size": 30, "lines.linewidth": 9, "savefig.dpi": 40}):
        draw_figure(tmp_path / "b.png", content())
        assert mpl.rcParams["font.size"] == 30
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()
    with Image.open(tmp_path / "a.png") as image:
        assert not {"Software", "Date", "Creation Time"} & set(image.info)
        assert image.info["dpi"] == pytest.approx((DPI, DPI), abs=0.1)


def test_what_the_map_shows_is_on_the_paper(tmp_path):
    pixels, _ = drawn(tmp_path / "a.png")
    bare, _ = drawn(
        tmp_path / "b.png", streams=None, buildings=None, boundary=None, sites=content().sites[:0]
    )
    assert share_of(pixels, colours.WATER) > 5 * max(share_of(bare, colours.WATER), 1e-5)
    assert share_of(pixels, colours.BUILDING) > 2 * share_of(bare, colours.BUILDING)
    for colour in colours.SCORE_COLOURS[1:-1]:
        assert share_of(pixels, colour) > 0.005


def test_a_court_inside_a_building_stays_open(tmp_path):
    pixels, _ = drawn(tmp_path / "a.png")
    dark = is_of(pixels, colours.BUILDING)
    rows, cols = np.nonzero(dark[:, : 7 * DPI // 3])
    assert not dark[int(rows.mean()), int(cols.mean())]


def test_no_sites_and_no_score_make_a_figure_still(tmp_path):
    nothing = np.full(GRID.shape, np.nan, np.float32)
    everywhere = np.ones(GRID.shape, np.bool_)
    pixels, _ = drawn(
        tmp_path / "a.png", score=nothing, excluded=everywhere, sites=content().sites[:0]
    )
    height, width, _ = pixels.shape
    shown = pixels[DPI // 3 : height // 2, width // 6 : width // 2]  # map alone, no key
    assert share_of(shown, colours.SCORE_COLOURS[5]) == 0


def test_block_means_leave_out_what_is_unknown():
    values = np.array([[1, 3, 5], [np.nan, 2, 7], [np.nan, np.nan, np.nan]], np.float32)
    expected = np.array([[2, 6], [np.nan, np.nan]], np.float32)
    np.testing.assert_array_equal(block_mean(values, 2), expected)
    assert block_mean(values, 1) is values


def test_a_raster_of_any_size_becomes_a_picture_of_at_most_2000_pixels():
    score = np.full((4100, 30), 0.55, np.float32)
    picture = paint(score, np.zeros(score.shape, np.bool_), None)
    assert picture.shape == (1367, 10, 3)
    np.testing.assert_allclose(picture[0, 0], to_rgb(colours.SCORE_COLOURS[5]), atol=1e-6)


@pytest.mark.parametrize(("score", "number"), [(0, 0), (0.0999, 0), (0.1, 1), (0.95, 9), (1, 9)])
def test_a_score_has_the_colour_of_its_class(score, number):
    picture = paint(np.full((2, 2), score, np.float32), np.zeros((2, 2), np.bool_), None)
    np.testing.assert_allclose(picture[0, 0], to_rgb(colours.SCORE_COLOURS[number]), atol=1e-6)


def test_excluded_land_is_grey_even_where_a_score_is_given():
    picture = paint(np.ones((2, 2), np.float32), np.ones((2, 2), np.bool_), None)
    assert np.ptp(picture[0, 0]) == 0


def test_hatching_lies_on_excluded_land_only():
    excluded = np.zeros((10, 20), np.bool_)
    excluded[:, :10] = True
    lines = hatching(excluded, 100, 200, 200)
    assert lines.shape == (100, 200)
    assert 0.1 < lines[:, :100].mean() < 0.2
    assert not lines[:, 100:].any()


def test_numbers_keep_off_each_other_and_inside_the_map():
    rng = np.random.default_rng(5)
    x, y = rng.uniform(0, 6, 30), rng.uniform(0, 5, 30)
    x[:3], y[:3] = (0.01, 5.99, 3), (0.01, 4.99, 0.0)  # at corners and edges
    discs = place_discs(x, y, 6, 5)
    apart = np.hypot(*(discs[:, None] - discs[None]).transpose(2, 0, 1))
    np.fill_diagonal(apart, np.inf)
    assert apart.min() > 2 * DISC_RADIUS_IN
    assert discs.min() > DISC_RADIUS_IN
    assert (discs < np.array([6, 5]) - DISC_RADIUS_IN).all()
    from_sites = np.hypot(*(discs[:, None] - np.column_stack([x, y])[None]).transpose(2, 0, 1))
    assert from_sites.min() > DISC_RADIUS_IN


def test_more_sites_than_there_is_room_for_are_numbered_all_the_same():
    discs = place_discs(np.full(200, 0.5), np.full(200, 0.5), 1, 1)
    assert discs.shape == (200, 2)
    assert np.isfinite(discs).all()


@pytest.mark.parametrize(
    ("longest", "expected"), [(1, 1), (1.99, 1), (2, 2), (7.3, 5), (0.4, 0.2), (4999, 2000)]
)
def test_round_lengths(longest, expected):
    assert round_length(longest) == pytest.approx(expected)


def a_sheet():
    figure = Figure(figsize=(4, 4), dpi=DPI)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set(xlim=(0, 4), ylim=(0, 4))
    return Sheet(axes, FigureCanvasAgg(figure).get_renderer(), DPI)


@pytest.mark.parametrize("in_per_m", [0.0005, 0.0032, 0.01, 0.27])
def test_both_scale_bars_are_as_long_as_they_say(in_per_m):
    sheet = a_sheet()
    scale_bar(sheet, 0.3, 3, 2.5, in_per_m)
    bars = [patch for patch in sheet.axes.patches if isinstance(patch, Rectangle)]
    for unit, unit_m, height in (("m", 1, max), ("ft", FOOT_M, min)):
        level = height(bar.get_y() for bar in bars)
        length_in = sum(bar.get_width() for bar in bars if bar.get_y() == level)
        said = next(
            text.get_text() for text in sheet.axes.texts if text.get_text().endswith(f" {unit}")
        )
        number = float(said.removesuffix(unit).replace(",", ""))
        assert length_in == pytest.approx(number * unit_m * in_per_m)
        assert 0.3 < length_in <= 2.1


@pytest.mark.parametrize(
    ("code", "x", "y"),
    [
        (32616, 728_000, 4_454_000),
        (32616, 300_000, 4_454_000),
        (28355, 273_741, 5_796_489),
        (5070, 1.8e6, 1.9e6),
    ],
)
def test_the_star_stands_where_the_meridian_leads(code, x, y):
    grid = Grid(pyproj.CRS.from_epsg(code), x, y, 1.0, 10, 10)
    # Go north along the meridian and see where that is on the grid: no convergence involved.
    start_x, start_y = grid.centre
    lon, lat = grid.lonlat(start_x, start_y)
    end_x, end_y = grid.from_lonlat(float(lon), float(lat) + 1e-4)
    bearing = np.arctan2(end_x - start_x, end_y - start_y)
    sheet = a_sheet()
    norths(sheet, 1, 3, 2.5, grid.convergence_deg())
    star = next(text for text in sheet.axes.texts if text.get_text() == "★").get_position()
    foot = sheet.axes.lines[0].get_xydata()[0]
    assert np.arctan2(star[0] - foot[0], star[1] - foot[1]) == pytest.approx(bearing, abs=1e-5)
    words = next(
        text.get_text() for text in sheet.axes.texts if "True north (TN)" in text.get_text()
    )
    said = " ".join(text.get_text() for text in sheet.axes.texts)
    assert words
    assert f"{np.degrees(abs(bearing)):.2f}° {'east' if bearing > 0 else 'west'} of" in said


def test_text_is_wrapped_to_its_width_and_no_word_is_lost():
    sheet = a_sheet()
    text = "Some words and one " + "extremely" * 12 + " long one at the end"
    lines = sheet.wrapped(text, 8, 1.5)
    assert max(sheet.text_width_in(line, 8) for line in lines) <= 1.5
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert sheet.wrapped("extremely" * 12, 8, 1.5)[0].startswith("extremely")


@pytest.mark.parametrize(
    ("scores", "start"),
    [([0.1, 0.4, 0.9], 0.0), ([0.55, 0.9], 0.5), ([0.85, 0.88, 1.0], 0.8), ([0.93, 1.0], 0.9)],
)
def test_classes_start_where_the_land_starts(scores, start):
    assert first_class_from(np.array([[*scores, np.nan]], np.float32)) == start


def test_good_land_is_told_apart():
    score = np.array([[0.81, 0.99]], np.float32)
    picture = paint(score, np.zeros((1, 2), bool), None, lowest=0.8)
    np.testing.assert_allclose(picture[0, 0], to_rgb(colours.SCORE_COLOURS[0]), atol=1e-6)
    np.testing.assert_allclose(picture[0, 1], to_rgb(colours.SCORE_COLOURS[9]), atol=1e-6)


def test_boxes_of_a_group_are_joined_and_told_apart_by_their_ink():
    axes = Figure().add_axes((0, 0, 1, 1))
    axes.set(xlim=(0, 4), ylim=(0, 3))
    x, y = np.array([1.0, 1.2, 3.0, 3.2]), np.array([1.0, 1.0, 2.0, 2.0])
    draw_sites(axes, [1, 2, 3, 4], x, y, groups=[1, 1, 2, 2], roles=[(0, 2), (1, 2)] * 2)
    joins = {tuple(line.get_xdata()) for line in axes.lines}
    assert {(1.0, 1.2), (3.0, 3.2)} <= joins
    assert (1.2, 3.0) not in joins
    inked = [patch for patch in axes.patches if isinstance(patch, Wedge)]
    assert [(patch.center, patch.theta1, patch.theta2) for patch in inked] == [
        ((1.2, 1.0), -90, 90),
        ((3.2, 2.0), -90, 90),
    ]
    assert [text.get_text() for text in axes.texts] == ["1", "2", "3", "4"]


def test_the_legend_names_the_boxes_of_a_group_after_the_sites():
    sheet = a_sheet()
    alone = legend(sheet, 0, 5, 2, {"sites": "Site", "boundary": "Boundary"})
    ends = legend(sheet, 0, 5, 2, {"sites": "Site", "boundary": "Boundary"}, ["sunny", "half sun"])
    assert alone - ends == pytest.approx(2 * ROW_IN)
    names = [text.get_text() for text in sheet.axes.texts if text.get_text() != "1"]
    assert names[2:] == ["Site", "sunny", "half sun", "Boundary"]
