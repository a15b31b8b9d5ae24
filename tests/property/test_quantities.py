"""A quantity told in either system is the quantity, to half of the last digit that is shown."""

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from suitability.config.units import quantity
from suitability.quantities import Quantities

SYSTEMS = st.sampled_from([Quantities("metric"), Quantities("us")])
LENGTHS = st.floats(min_value=-1e5, max_value=1e6)
# Exact, and not the program's own: of NIST Special Publication 811, appendix B.
INSIDE = {
    "m": (1, 0), "km": (1000, 0), "ft": (Fraction("0.3048"), 0), "mi": (Fraction("1609.344"), 0),
    "m²": (1, 0), "ha": (10_000, 0), "sq ft": (Fraction("0.09290304"), 0),
    "acres": (Fraction("4046.8564224"), 0),
    "°C": (1, 0), "°F": (Fraction(5, 9), Fraction(-160, 9)),
    "m/s": (1, 0), "mph": (Fraction("0.44704"), 0), "mm": (Fraction("0.001"), 0),
}  # fmt: skip


def holds(text: str, inside: float) -> bool:
    """Return whether a text tells a value to half of its last digit."""
    shown, unit = re.fullmatch(r"(-?[\d,]+(?:\.\d+)?) (.+)", text).groups()
    shown = shown.replace(",", "")
    # Zeros at the end are left out, so the last digit shown is the coarsest that it can be.
    digit = Fraction(1, 10 ** len(shown.partition(".")[2]))
    factor, offset = INSIDE[unit]
    told = Fraction(shown) * factor + offset
    return abs(told - Fraction(inside)) <= digit * factor * Fraction(5001, 10_000)


@pytest.mark.parametrize("kind", ["length", "height", "stated"])
@given(SYSTEMS, LENGTHS)
def test_lengths(kind, how, metres):
    assert holds(getattr(how, kind)(metres), metres)


@given(SYSTEMS, st.floats(min_value=0, max_value=1e10))
def test_areas(how, area_m2):
    assert holds(how.area(area_m2), area_m2)


@given(SYSTEMS, st.floats(min_value=-90, max_value=90))
def test_temperatures(how, celsius):
    assert holds(how.temperature(celsius), celsius)


@given(SYSTEMS, st.floats(min_value=0, max_value=100))
def test_speeds(how, metres_per_second):
    assert holds(how.speed(metres_per_second), metres_per_second)


@given(SYSTEMS, st.floats(min_value=-1e4, max_value=1e5), st.sampled_from(["m", "m²", "°C"]))
def test_measures_of_layers(how, measure, unit):
    assert holds(how.of(measure, unit), measure)


@given(st.floats(min_value=0, max_value=5))
def test_sizes_in_inches(metres):
    text = Quantities("us").small(metres).removesuffix(" in")
    told = sum(Fraction(part) for part in text.split()) * Fraction("0.0254")
    assert abs(told - Fraction(metres)) <= Fraction("0.0254") / 32 * Fraction(10_001, 10_000)
    assert holds(Quantities("metric").small(metres), metres)


@given(st.floats(min_value=0.01, max_value=1e6))
def test_a_stated_length_that_is_told_can_be_stated_again(metres):
    """What is shown is read by the run file's own parser as nearly the same, and reads the same."""
    how = Quantities("us")
    shown = how.stated(metres)
    again = quantity(shown.replace(",", ""), "m")
    assert again == pytest.approx(metres, rel=5e-3)
    assert how.stated(again) == shown
