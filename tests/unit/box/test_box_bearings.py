"""One direction by three norths."""

from datetime import date

import pytest

from suitability.box.bearings import Declination, bearings

DAY = date(2026, 3, 1)


def needle(degrees):
    return Declination(degrees, 0.4, "model", DAY)


def test_needle_to_the_west_adds_to_a_bearing():
    # With 5 degrees west, a compass shows 155 where the map's true bearing is 150.
    assert bearings(150, 0, needle(-5)).magnetic_deg == pytest.approx(155)


def test_grid_bearing_is_less_by_the_convergence():
    assert bearings(150, 1.5, needle(0)).grid_deg == pytest.approx(148.5)


def test_bearings_stay_within_the_circle():
    found = bearings(2, 5, needle(10))
    assert (found.grid_deg, found.magnetic_deg) == (357, 352)
    assert bearings(360, 0, needle(0)).true_deg == 0


def test_declination_in_words():
    words = str(needle(-5.23))
    assert words == "5.2° west of true north on 2026-03-01 (model, standard error 0.4°)"
