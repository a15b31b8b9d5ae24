"""The year of a box, by latitude or as a user states it."""

import pytest

from suitability.box.timing import timing
from suitability.config.box import BoxSettings
from suitability.config.days import days_of

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
    words = " ".join(found.in_words())
    assert "all year" in words
    assert "return" not in words, "bats that never leave do not return"
    assert "half a year" not in found.occupied_ground.basis


def test_own_days_win():
    own = BoxSettings(install_by="02-10", occupied={"start": "03-01", "end": "11-30"})
    found = timing(44.5, own)
    assert found.install_by == "02-10"
    assert str(found.maintain) == "12-01 to 02-28"
    assert found.install_ground.evidence == found.occupied_ground.evidence == "own"


def test_boxes_go_up_no_earlier_further_north():
    years = [timing(lat, NOTHING) for lat in range(31, 90)]
    days = [year.install_by for year in years]
    assert days == sorted(days)
    ends = [year.occupied.end for year in years]
    assert ends == sorted(ends, reverse=True)


@pytest.mark.parametrize("lat", [0, 23.4, -23.4, 30, -30, 59.9, 60, 66.6, -55, 89.9])
def test_work_never_falls_into_the_time_of_bats(lat):
    found = timing(lat, NOTHING)
    bats = days_of(found.occupied.start, found.occupied.end)
    if found.maintain is None:
        assert len(bats) == 365
        return
    work = days_of(found.maintain.start, found.maintain.end)
    assert not bats & work
    assert len(bats) + len(work) == 365
    assert found.install_by in work
    midsummer, midwinter = ("06-21", "12-21") if lat >= 0 else ("12-21", "06-21")
    assert midsummer in bats
    assert midwinter in work


def test_the_far_north_has_a_shorter_season():
    assert str(timing(61, NOTHING).occupied) == "05-01 to 09-30"
    assert timing(61, NOTHING).occupied_ground.evidence == "common practice"


def test_a_day_of_ones_own_after_bats_are_back_is_told():
    late = timing(44.5, BoxSettings(install_by="05-20"))
    assert "05-20 (month-day), though bats may be back from 04-01 on" in late.in_words()[0]
