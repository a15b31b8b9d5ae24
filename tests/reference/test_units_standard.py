"""Feet, miles and degrees against the standards that define them.

Sources
-------
NIST Special Publication 811 (2008), Guide for the Use of the International System of Units,
Appendix B.8: the foot is 0.3048 m exactly, the yard 0.9144 m, the mile 1609.344 m exactly (bold
there), and the degree pi/180 rad; footnote on the US survey foot, 1200/3937 m exactly.
NIST and NOAA, Federal Register 85 FR 62698 (5 October 2020), "Deprecation of the United States
(U.S.) Survey Foot": the same two definitions of the foot.
Both are quoted from memory; the 1.22 m is computed from them.
"""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from suitability.config.units import quantity


@pytest.mark.parametrize(
    ("written", "metres"),
    [
        ("1 ft", Fraction(3048, 10_000)),
        ("1 foot", Fraction(3048, 10_000)),
        ("1 yd", Fraction(9144, 10_000)),
        ("1 in", Fraction(254, 10_000)),
        ("1 mile", Fraction(1_609_344, 1000)),
        ("1 mi", Fraction(1_609_344, 1000)),
        ("1 us_survey_ft", Fraction(1200, 3937)),
        ("1 survey_foot", Fraction(1200, 3937)),
    ],
)
def test_lengths_are_exact(written: str, metres: Fraction) -> None:
    assert quantity(written, "m") == float(metres)


def test_the_two_feet_differ_by_two_parts_in_a_million() -> None:
    """A northing of 2,000,000 ft read with the wrong foot lies 1.22 m off (computed)."""
    apart = quantity("2000000 us_survey_ft", "m") - quantity("2000000 ft", "m")
    exactly = 2_000_000 * (Fraction(1200, 3937) - Fraction(3048, 10_000))
    assert apart == pytest.approx(float(exactly), rel=1e-9)
    assert round(apart, 2) == 1.22


@pytest.mark.parametrize(
    ("written", "unit", "expected"),
    [
        ("1 h", "min", 60.0),
        ("1 d", "h", 24.0),
        ("1 rad", "deg", 180 / math.pi),
        ("1 arcminute", "deg", 1 / 60),
    ],
)
def test_times_and_angles(written: str, unit: str, expected: float) -> None:
    assert quantity(written, unit) == pytest.approx(expected, rel=1e-15)
