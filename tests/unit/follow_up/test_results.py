"""Results of boxes worked by hand: five boxes, a few visits."""

import numpy as np
import pytest
from watched_boxes import PLACEMENTS, VISITS

from suitability.follow_up import results
from suitability.quantities import Quantities

METRIC = Quantities()


@pytest.fixture
def told():
    return results.watched(PLACEMENTS, VISITS)


def test_what_visits_tell_of_each_box(told):
    assert told["looks"].tolist() == [3, 2, 1, 0, 1]
    assert told["first_look_days"].tolist()[:3] == [100, 100, 130]
    assert told["used"].tolist() == [True, False, True, False, True]
    assert told["after_days"].tolist() == [100, 465, 0, 0, 0]
    assert told["until_days"].tolist() == [130, np.inf, 130, np.inf, 80]


def test_the_share_leaves_out_boxes_that_nobody_looked_at(told):
    share = results.overall(told)
    assert (share.used, share.boxes) == (3, 4)


def test_waiting_is_that_of_the_intervals(told):
    """(100, 130], (0, 130], (0, 80] and never: p1 = (1 + p1 / (p1 + p2)) / 4, p1 + p2 = 3/4."""
    found = results.waiting(told)
    assert found.time.tolist() == [80, 130]
    np.testing.assert_allclose(found.share, [1 - 3 / 8, 1 / 4], atol=1e-6)


def test_waiting_by_the_day_first_seen_is_that_of_days(told):
    """Bats at 80, 130 and 130 days, none by 465: by hand 3/4, then 1/4 of 4 boxes."""
    found = results.waiting_seen(told)
    assert found.time.tolist() == [80, 130]
    np.testing.assert_allclose(found.share, [3 / 4, 1 / 4])
    late = told.assign(first_look_days=[10, 20, 400, np.nan, 30])
    np.testing.assert_allclose(results.waiting_seen(late).share, [2 / 3, 1 / 3])
    all_used = results.waiting_seen(told[told["used"]])
    assert all_used.share[-1] == 0
    assert np.isnan(all_used.high[-1])
    assert (found.low < found.share).all()
    assert (found.share < found.high).all()


def test_groups_by_hand(told):
    found = {(g.by, g.name): (g.share.used, g.share.boxes) for g in results.groups(told, METRIC)}
    assert found == {
        ("kind", "pole"): (2, 3),
        ("kind", "wall"): (1, 1),
        ("facing", "north"): (1, 1),
        ("facing", "south-east"): (0, 1),
        ("facing", "south"): (2, 2),
        ("direct sun a day", "under 5 h"): (0, 1),
        ("direct sun a day", "7 to 10 h"): (2, 2),
        ("direct sun a day", "10 h and more"): (1, 1),
        ("distance to water", "under 402 m"): (2, 3),
        ("distance to water", "402 m to 805 m"): (1, 1),
    }


def test_lengths_are_told_in_the_units_that_are_wanted(told):
    names = [g.name for g in results.groups(told, Quantities("us")) if g.by == "distance to water"]
    assert names == ["under 0.25 mi", "0.25 mi to 0.5 mi"]


def test_how_soon_boxes_with_bats_had_them(told):
    assert results.used_within(told, 100) == pytest.approx(1 / 3)
    assert results.used_within(told, 182) == 1
    assert np.isnan(results.used_within(told[~told["used"]], 182))


def test_days_with_bats_by_year():
    found = results.season_seen(VISITS)
    assert found["year"].tolist() == [2022, 2023]
    assert found["first"].dt.strftime("%m-%d").tolist() == ["07-09", "05-20"]
    assert found["last"].dt.strftime("%m-%d").tolist() == ["07-09", "05-20"]
    assert found["visits"].tolist() == [5, 2]


def test_without_visits_nothing_is_told():
    told = results.watched(PLACEMENTS, VISITS.iloc[:0])
    assert not told["used"].any()
    assert results.overall(told).boxes == 0
    assert list(results.groups(told, METRIC)) == []
    assert results.waiting(told).time.size == 0
    assert results.season_seen(VISITS.iloc[:0]).empty
