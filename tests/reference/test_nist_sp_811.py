"""Units shown, against NIST Special Publication 811 (2008), appendix B, and NIST Handbook 44.

Factors in appendix B.8 printed in bold are exact: foot 3.048 E-01 m, mile 1.609 344 E+03 m, square
foot 9.290 304 E-02 m², mile per hour 4.4704 E-01 m/s, inch 2.54 E-02 m. The acre there rests on the
US survey foot (4.046 873 E+03 m²); the international acre is 43,560 square feet, as Handbook 44,
appendix C, counts an acre, with the international foot: 4046.856 4224 m². Celsius from Fahrenheit:
t/°C = (t/°F - 32)/1.8.
"""

from fractions import Fraction

import pint
import pytest

from suitability.config.unit_definitions import DEFINITIONS
from suitability.config.units import _PINT_UNIT, _factor, quantity
from suitability.quantities import ACRE_M2, FOOT_M, INCH_M, MILE_M, Quantities

US = Quantities("us")


def test_exact_factors():
    assert (INCH_M, FOOT_M, MILE_M) == (2.54e-02, 3.048e-01, 1.609344e03)
    assert pytest.approx(43_560 * 9.290304e-02, rel=1e-15) == ACRE_M2
    # The survey acre of the table is 4 millionths more, and is not what is shown.
    assert pytest.approx(4e-6, abs=2e-7) == 4.046873e03 / ACRE_M2 - 1


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        (US.length(3.048e-01 * 100), "100 ft"),
        (US.length(1.609344e03 * 3), "3 mi"),
        (US.area(9.290304e-02 * 250), "250 sq ft"),
        (US.area(4046.8564224 * 12.5), "12.5 acres"),
        (US.speed(4.4704e-01 * 25), "25 mph"),
        (US.temperature((98.6 - 32) / 1.8), "98.6 °F"),
        (US.temperature(100.0), "212 °F"),
        (US.small(2.54e-02 * 1.5), "1 1/2 in"),
        # Handbook 44, appendix C: 640 acres to the square mile.
        (US.area(MILE_M**2), "640 acres"),
        (US.of(1.0 / 2.589988110336, "/km²"), "1 /sq mi"),
    ],
)
def test_worked_values(text, wanted):
    assert text == wanted


# NIST SP 811, appendix B.8, seven digits; in bold, that is exact: inch, foot, yard, mile.
B8 = {
    "inch": 2.54e-02, "foot": 3.048e-01, "yard": 9.144e-01, "mile": 1.609344e03,
    "us_survey_ft": 3.048006e-01, "us_survey_mile": 1.609347e03, "rod": 5.029210e00,
    "chain": 2.011684e01, "fathom": 1.828804e00, "nautical_mile": 1.852e03,
}  # fmt: skip


@pytest.mark.parametrize(("name", "metres"), B8.items())
def test_a_written_length_is_what_the_table_says(name, metres):
    assert quantity(f"1 {name}", "m") == pytest.approx(metres, rel=5e-7)


def test_written_areas_and_times_are_what_the_table_says():
    assert quantity("1 acre", "m²") == pytest.approx(4.046873e03, rel=5e-7)
    assert quantity("1 ha", "m²") == 1.0e04
    assert quantity("1 mi^2", "m²") == pytest.approx(2.589988e06, rel=5e-7)
    assert quantity("1 day", "h") == 24


def test_units_are_those_of_the_whole_list_of_pint():
    """A unit that both know is the same; `ch` there is a hundredth of an hour."""
    whole = pint.UnitRegistry(cache_folder=None, non_int_type=Fraction)
    names = {
        word.strip()
        for line in DEFINITIONS.splitlines()
        for word in line.split("=")[:1] + line.split("=")[2:]
        if "=" in line and not word.strip().endswith("-")
    }
    own = {unit: {name: _factor(name, unit) for name in names} for unit in _PINT_UNIT}
    checked = 0
    for name in sorted(names - {"ch"}):
        try:
            theirs = whole.Quantity(Fraction(1), name)
        except pint.UndefinedUnitError:
            continue
        unit, factor = next((u, f[name]) for u, f in own.items() if f[name] is not None)
        assert theirs.to(_PINT_UNIT[unit]).magnitude == factor, name
        checked += 1
    assert checked >= 45
