"""What the pictures of a ranking's robustness say."""

import numpy as np
import pytest
from PIL import Image
from scipy.ndimage import label

from suitability.grid import Grid
from suitability.outputs import colours
from suitability.outputs.picture_page import DPI, Words, percent
from suitability.outputs.robustness_figure_correlation import draw_correlation, signed
from suitability.outputs.robustness_figure_map import StabilityMap, draw_stability, paint
from suitability.outputs.robustness_figure_ranks import (
    RankedPlace,
    draw_acceptability,
    rank_classes,
)
from suitability.outputs.robustness_figure_swings import SwungWeight, draw_swings

WORDS = Words("Land: a title with $5 in it", ("How to read it.",), ("A caution.",))


def rgb(colour):
    return tuple(int(colour[k : k + 2], 16) for k in (1, 3, 5))


def pixels(path, colour):
    with Image.open(path) as picture:
        return (np.asarray(picture.convert("RGB")) == rgb(colour)).all(axis=2)


def width_of(found):
    """Return how wide the largest patch of true pixels is."""
    patches, count = label(found)
    sizes = np.bincount(patches.ravel())[1:]
    assert count
    cols = np.flatnonzero((patches == sizes.argmax() + 1).any(axis=0))
    return np.ptp(cols) + 1


@pytest.mark.parametrize(
    ("share", "told"),
    [(0, "0%"), (0.001, "< 0.5%"), (0.006, "1%"), (0.5, "50%"), (0.994, "99%"),
     (0.9999, "> 99.5%"), (1, "100%")],
)  # fmt: skip
def test_only_never_and_always_read_so(share, told):
    assert percent(share) == told


@pytest.mark.parametrize(
    ("coefficient", "told"),
    [(0.754, "+0.75"), (-0.7, "−0.70"), (0.001, "0.00"), (-0.004, "0.00"), (np.nan, "–")],
)
def test_coefficients_bear_their_sign(coefficient, told):
    assert signed(coefficient) == told


@pytest.mark.parametrize(
    ("listed", "ends"), [(1, (1,)), (2, (1, 2)), (3, (1, 3)), (5, (1, 2, 5)), (12, (1, 3, 12))]
)
def test_classes_of_ranks_end_with_the_list(listed, ends):
    assert rank_classes(listed) == ends


def test_bars_are_as_long_as_shares(tmp_path):
    # One site: first in a fifth, within ranks 2 to 3 in two fifths, beyond the list in the rest.
    shares = np.zeros(20)
    shares[[0, 2, 15]] = 0.2, 0.4, 0.4
    path = tmp_path / "ranks.png"
    draw_acceptability(path, WORDS, [RankedPlace("site 1", 0.2, shares, is_listed=True)], 12)
    dark, middle = (width_of(pixels(path, colours.SCORE_COLOURS[k])) for k in (9, 5))
    # The key has patches of these colours as well, but none as large as the bars.
    assert middle / dark == pytest.approx(2, rel=0.01)
    assert dark == pytest.approx(0.2 * (8.5 - 0.9 - 0.75 - 1.75) * DPI, abs=3)


def test_the_stretch_in_which_the_best_stays_is_as_wide_as_told(tmp_path):
    shares = np.linspace(0, 1, 11)
    path = tmp_path / "swings.png"
    row = SwungWeight("direct_sun_h", 0.4, shares, np.zeros(11), (0.25, 0.75), (0.3, 0.5))
    draw_swings(path, WORDS, [row])
    # Lines at the weight as given, and at its half and double, cut it into pieces.
    grey = pixels(path, "#d9d9d9")
    cols = np.flatnonzero(grey.sum(axis=0) > 60)
    assert np.ptp(cols) == pytest.approx(0.5 * (8.5 - 0.9 - 1.95 - 0.1) * DPI, abs=4)


def test_strong_pairs_are_dark(tmp_path):
    path = tmp_path / "pairs.png"
    spearman = np.array([[1, 0.95, np.nan], [0.95, 1, -0.35], [np.nan, -0.35, 1]])
    draw_correlation(path, WORDS, ["direct_sun_h", "morning_sun_h", "slope_deg"], spearman,
                     spearman, 0.7)  # fmt: skip
    strong = pixels(path, colours.SCORE_COLOURS[9])
    weak = pixels(path, colours.SCORE_COLOURS[3])
    assert strong.sum() > 5000
    assert weak.sum() > 10_000
    # Row 1 is above row 2, the pair with nothing to tell stays white.
    assert np.flatnonzero(strong.any(axis=1)).max() < np.flatnonzero(weak.any(axis=1)).min()
    assert not pixels(path, colours.SCORE_COLOURS[0]).any()


def test_land_is_coloured_by_classes_whose_ends_are_stable():
    share = np.array([[0, 0.05, 0.0501, 0.34, 0.35, 0.65, 0.9499, 0.95, 1, np.nan]], np.float32)
    found = paint(share)[0]
    kinds = [found[k].tolist() for k in range(10)]
    assert kinds[0] == kinds[1] != kinds[2]
    assert kinds[2] == kinds[3] != kinds[4]
    assert kinds[4] != kinds[5] == kinds[6] != kinds[7] == kinds[8]
    assert kinds[9] == [1, 1, 1]
    # In grey each class is darker than the one before.
    grey = [np.dot(kinds[k], [0.299, 0.587, 0.114]) for k in (0, 2, 4, 5, 7)]
    assert (np.diff(grey) < -0.05).all()


def test_a_map_of_any_shape_is_drawn_the_same_twice(tmp_path):
    for rows, cols in ((30, 200), (200, 30)):
        grid = Grid.covering(_utm(), (500_000, 4_400_000, 500_000 + cols * 5,
                                      4_400_000 + rows * 5), 5)  # fmt: skip
        share = np.linspace(0, 1, rows * cols, dtype=np.float32).reshape(rows, cols)
        content = StabilityMap(grid, share, (1,), np.array([500_050.0]), np.array([4_400_060.0]))
        for name in ("one.png", "two.png"):
            draw_stability(tmp_path / name, WORDS, content)
        assert (tmp_path / "one.png").read_bytes() == (tmp_path / "two.png").read_bytes()
        with Image.open(tmp_path / "one.png") as picture:
            assert picture.width == 8.5 * DPI
            assert picture.height < 11.5 * DPI


def _utm():
    import pyproj

    return pyproj.CRS.from_epsg(32616)
