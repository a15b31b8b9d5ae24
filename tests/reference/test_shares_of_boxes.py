"""Wilson intervals against published tables and a reference library."""

import math

import pytest
from statsmodels.stats.proportion import proportion_confint

from suitability.follow_up.shares import share_of

# Newcombe (1998), Statistics in Medicine 17:857-872, Table I, method 3 (score, no correction).
NEWCOMBE = [
    (81, 263, 0.2553, 0.3662),
    (15, 148, 0.0624, 0.1605),
    (0, 20, 0.0, 0.1611),
    (1, 29, 0.0061, 0.1718),
]


@pytest.mark.parametrize(("used", "boxes", "low", "high"), NEWCOMBE)
def test_published_rows(used, boxes, low, high):
    found = share_of(used, boxes)
    assert found.low == pytest.approx(low, abs=5e-5)
    assert found.high == pytest.approx(high, abs=5e-5)
    assert found.share == used / boxes


@pytest.mark.parametrize("confidence", [0.8, 0.95, 0.99])
@pytest.mark.parametrize(("used", "boxes"), [(29, 29), (141, 186), (90, 186), (5, 9), (0, 5)])
def test_reference_library(used, boxes, confidence):
    """The library is statsmodels, `proportion_confint`."""
    found = share_of(used, boxes, confidence)
    wanted = proportion_confint(used, boxes, alpha=1 - confidence, method="wilson")
    assert (found.low, found.high) == pytest.approx(wanted, abs=1e-12)


def test_no_boxes_have_no_share():
    found = share_of(0, 0)
    assert math.isnan(found.share)
    assert math.isnan(found.low)
    assert math.isnan(found.high)


def test_more_used_than_there_are_is_a_mistake():
    with pytest.raises(ValueError, match="k"):
        share_of(3, 2)
