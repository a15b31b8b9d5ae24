"""Declination against the World Magnetic Model's published values.

- The worked example that NOAA and CIRES print in the description of their own module for the model
  (PyPI wmm-calculator 1.4.4): 23.35 N, 40 E, 21 km, 6 December 2025.
- The test values that were issued with the 2020 and the 2025 models (tables of the technical
  reports), from memory; the recalled values of 2020 agree in every component to every digit.
"""

from datetime import date

import pytest

from suitability.box.bearings import bearings, declination


def test_worked_example_of_the_makers_module():
    found = declination(40, 23.35, 21_000, date(2025, 12, 6))
    assert found.degrees == pytest.approx(3.6678175, abs=1e-4)
    assert found.model == "World Magnetic Model 2025 (2025-2030)"


@pytest.mark.parametrize(
    ("day", "height_km", "lat", "lon", "printed_deg"),
    [
        (date(2020, 1, 1), 0, 80, 0, -1.28),
        (date(2020, 1, 1), 0, 0, 120, 0.16),
        (date(2020, 1, 1), 0, -80, 240, 69.36),
        (date(2020, 1, 1), 100, 80, 0, -1.70),
        (date(2020, 1, 1), 100, -80, 240, 68.78),
        (date(2022, 7, 2), 0, 80, 0, 0.01),
        (date(2022, 7, 2), 0, 0, 120, -0.06),
        (date(2022, 7, 2), 0, -80, 240, 69.13),
        (date(2025, 1, 1), 0, 80, 0, 1.28),
        (date(2025, 1, 1), 0, 0, 120, -0.16),
        (date(2025, 1, 1), 0, -80, 240, 68.78),
        (date(2027, 7, 2), 0, 80, 0, 2.59),
        (date(2027, 7, 2), 0, 0, 120, -0.24),
        (date(2027, 7, 2), 0, -80, 240, 68.49),
    ],
)
def test_values_issued_with_the_model(day, height_km, lat, lon, printed_deg):
    # 2 July is the middle of a common year but for half a day: 0.0007 degrees at most.
    found = declination(lon, lat, height_km * 1000, day)
    assert found.degrees == pytest.approx(printed_deg, abs=0.006)


def test_error_of_the_2025_model():
    # Error model of the 2025 model: sqrt(0.26^2 + (5417 / H)^2); H of the worked example 33,875 nT.
    found = declination(40, 23.35, 21_000, date(2025, 12, 6))
    assert found.error_deg == pytest.approx((0.26**2 + (5417 / 33875.4) ** 2) ** 0.5, abs=1e-4)


@pytest.mark.parametrize("day", [date(2014, 12, 31), date(2030, 1, 1)])
def test_outside_the_epochs_no_number_is_given(day):
    found = declination(-84, 40, 300, day)
    assert found.degrees is None
    assert day.isoformat() in str(found)
    assert bearings(150, 1.5, found).magnetic_deg is None


def test_near_a_magnetic_pole_no_number_is_given():
    # Near the dip pole of 2025, about 86 N, 139 E (from memory).
    found = declination(139, 86, 0, date(2025, 6, 1))
    assert found.degrees is None
    assert "no use" in found.note
