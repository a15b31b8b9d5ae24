"""Bins of a round width, and how many cells hold which measure."""

import math

import numpy as np
import pytest

from suitability.decide.histograms import Bins, bins_for, spread_of


def axis(seen, measured):
    bins = bins_for(seen, measured)
    return tuple(float(edge) for edge in bins.edges[[0, -1]]), bins


@pytest.mark.parametrize(
    ("seen", "measured", "ends", "width"),
    [
        # A curve over 3..14 h, land with 0..13 h: the axis follows the land down to 0.
        ((3, 14), (0.0, 13.0), (0.0, 15.0), 0.5),
        # Distances that go on far beyond the curve are followed one and a half times its width.
        ((402.336, 1609.344), (0.0, 9000.0), (0.0, 3500.0), 100.0),
        # Inside the canopy an edge is negative.
        ((6, 300), (-400.0, 300.0), (-400.0, 320.0), 20.0),
        ((6, 300), (-900.0, 300.0), (-440.0, 320.0), 20.0),
        # Land that fills a small part of the curve leaves the axis as it is.
        ((100, 115), (112.0, 113.0), (99.0, 116.0), 0.5),
        ((100, 115), None, (99.0, 116.0), 0.5),
        # What cannot be negative starts at zero where that is near.
        ((10, 25), (0.5, 13.0), (0.0, 26.0), 1.0),
        # A single step has no width of its own.
        ((5, 5), (0.0, 10.0), (0.0, 10.0), 0.25),
        ((20 - 2e-5, 20), (0.0, 30.0), (0.0, 30.0), 1.0),
        ((0, 0), (0.0, 0.0), (0.0, 0.05), 0.002),
        ((0, 0.4), (0.0, 1.0), (0.0, 1.0), 0.025),
    ],
)  # fmt: skip
def test_axes_by_hand(seen, measured, ends, width):
    (first, last), bins = axis(seen, measured)
    assert (first, last) == pytest.approx(ends)
    assert bins.width == pytest.approx(width)


@pytest.mark.parametrize("scale", [1e-3, 1.0, 7.3, 1e4])
@pytest.mark.parametrize("offset", [-5.0, 0.0, 100.0])
def test_axes_show_the_whole_curve_in_some_40_bins_of_a_round_width(scale, offset):
    seen = (offset * scale, (offset + 3) * scale)
    (first, last), bins = axis(seen, (seen[0] - scale, seen[1] + 100 * scale))
    assert first <= seen[0] < seen[1] <= last
    assert 15 <= bins.count <= 42
    mantissa = bins.width / 10 ** math.floor(math.log10(bins.width * (1 + 1e-9)))
    assert min(abs(mantissa - round_one) for round_one in (1, 2, 2.5, 5, 10)) < 1e-6


def test_counts_by_hand():
    bins = Bins(first=0, width=1.0, count=3)
    values = np.array([[-0.1, 0.0, 0.99, 1.0], [2.0, 3.0, 3.01, math.nan]], np.float32)
    spread = spread_of(values, bins)
    assert spread.counts.tolist() == [2, 1, 2]  # the last edge belongs to the last bin
    assert (spread.below, spread.above, spread.missing) == (1, 1, 1)
    assert spread.measured == 7


def test_counts_are_those_of_numpy():
    # The reference library's own histogram, whose last bin is closed as well.
    bins = bins_for((3, 14), (0.0, 15.0))
    values = np.random.default_rng(5).uniform(-2, 20, 10_000).round(1)
    expected, _ = np.histogram(values, bins.edges)
    spread = spread_of(values, bins)
    assert spread.counts.tolist() == expected.tolist()
    assert spread.below == (values < bins.edges[0]).sum()
    assert spread.above == (values > bins.edges[-1]).sum()


def test_parts_add_up_to_the_whole():
    bins = bins_for((3, 14), (0.0, 15.0))
    values = np.random.default_rng(6).uniform(-2, 20, (50, 40)).astype(np.float32)
    values[::7, 3] = np.nan
    parts = [spread_of(values[rows], bins) for rows in (slice(0, 7), slice(7, 50))]
    whole, total = spread_of(values, bins), parts[0] + parts[1]
    assert total.counts.tolist() == whole.counts.tolist()
    assert (total.below, total.above, total.missing) == (whole.below, whole.above, whole.missing)
    assert whole.measured + whole.missing == values.size


def test_no_land_is_no_measure():
    spread = spread_of(np.array([]), Bins(0, 1.0, 2))
    assert (spread.counts.tolist(), spread.measured, spread.missing) == ([0, 0], 0, 0)
