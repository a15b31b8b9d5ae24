"""The year of a box, by latitude or as a user states it."""

import pytest

from suitability.box.timing import timing
from suitability.config.box import BoxSettings

NOTHING = BoxSettings()


def test_wisconsin_has_the_agencys_months():
    # Agency guidance, Wisconsin: boxes are used from April to October.
    found = timing(44.5, NOTHING)
    assert (found.occupied.start, found.occupied.end) == ("04-01", "10-31")
    assert found.install_by == "03-31"
    assert str(found.maintain) == "11-01 to 03-31"
    assert found.occupied_ground.evidence == "agency guidance"


def test_south_is_half_a_year_later():
    found = timing(-44.5, NOTHING)
    assert (found.occupied.start, found.occupied.end) == ("10-01", "04-30")
    assert found.install_by == "09-30"


@pytest.mark.parametrize("lat", [10, -10])
def test_mild_winters_leave_no_time_without_bats(lat):
    found = timing(lat, NOTHING)
    assert found.maintain is None
    assert found.install_by == ("02-15" if lat > 0 else "08-15")
    assert "all year" in " ".join(found.in_words())


def test_own_days_win():
    own = BoxSettings(install_by="02-10", occupied={"start": "03-01", "end": "11-30"})
    found = timing(44.5, own)
    assert found.install_by == "02-10"
    assert str(found.maintain) == "12-01 to 02-28"
    assert found.install_ground.evidence == found.occupied_ground.evidence == "own"


def test_boxes_go_up_no_earlier_further_north():
    days = [timing(lat, NOTHING).install_by for lat in range(31, 70)]
    assert days == sorted(days)
