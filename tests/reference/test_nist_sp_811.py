"""Units shown, against NIST Special Publication 811 (2008), appendix B, and NIST Handbook 44.

Factors in appendix B.8 printed in bold are exact: foot 3.048 E-01 m, mile 1.609 344 E+03 m, square
foot 9.290 304 E-02 m², mile per hour 4.4704 E-01 m/s, inch 2.54 E-02 m. The acre there rests on the
US survey foot (4.046 873 E+03 m²); the international acre is 43,560 square feet, as Handbook 44,
appendix C, counts an acre, with the international foot: 4046.856 4224 m². Celsius from Fahrenheit:
t/°C = (t/°F - 32)/1.8.
"""

import pytest

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
