"""Quantities with units: what is taken, what is refused, and how it is told."""

from __future__ import annotations

import pytest

from suitability.config.unfit import UnfitValueError, shown
from suitability.config.units import InUnit, quantity, unit_of


@pytest.mark.parametrize(
    ("written", "unit", "expected"),
    [
        ("20 ft", "m", 6.096),
        ("20ft", "m", 6.096),
        (" 20  ft ", "m", 6.096),
        ("20 FT", "m", 6.096),
        ("2 Miles", "m", 3218.688),
        ("3 yd", "m", 2.7432),
        (".5 km", "m", 500.0),
        ("-5 m", "m", -5.0),
        ("1e3 m", "m", 1000.0),
        (7, "m", 7.0),
        (7.5, "m", 7.5),
        ("90 min", "h", 1.5),
        ("4 hrs", "h", 4.0),
        ("4 H", "h", 4.0),
        ("0.5 h", "min", 30.0),
        ("3°", "deg", 3.0),
        ("0.25 turn", "deg", 90.0),
        ("40 %", "1", 0.4),
        ("0.4", "1", 0.4),
        ("120 W/m^2", "W/m²", 120.0),
        ("120 W/m2", "W/m²", 120.0),
        ("0.12 kW/m²", "W/m²", 120.0),
    ],
)
def test_quantities_come_in_the_programs_unit(written: object, unit: str, expected: float) -> None:
    assert quantity(written, unit) == pytest.approx(expected, rel=1e-15)


@pytest.mark.parametrize(
    ("written", "unit", "what"),
    [
        ("20", "m", "'20' has no unit"),
        ("", "m", "'' is not a number with a unit"),
        ("a lot", "m", "'a lot' is not a number with a unit"),
        ("4 h", "m", "'4 h' is not a length"),
        ("4 fathomz", "m", "'4 fathomz' is not a length"),
        ("5 degC", "m", "'5 degC' is not a length"),
        ("3 dBm", "m", "'3 dBm' is not a length"),
        ("20 ft", "h", "'20 ft' is not a time"),
        ("3 h/day", "h", "'3 h/day' is not a time"),
        ("40 %", "m", "'40 %' is not a length"),
        ("30 deg", "1", "'30 deg' is not a share"),
        ("0.3 count", "deg", "'0.3 count' is not an angle"),
        ("9**9**9", "m", "'9**9**9' is not a number with a unit"),
        ("__import__('os') m", "m", "is not a number with a unit"),
        ("6' 3", "m", "is not a number with a unit"),
        ("nan m", "m", "'nan m' is not a number with a unit"),
        ("1e999 m", "m", "'1e999 m' is not a finite number"),
        (float("nan"), "m", "nan is not a finite number"),
        (float("-inf"), "m", "-inf is not a finite number"),
        (10**400, "m", "a number of very many digits is not a finite number"),
        pytest.param(10**5000, "m", "a number of very many digits is not a", id="5000 digits"),
        (True, "m", "true is not a length"),
        (None, "m", "nothing (null) is not a length"),
        ([3], "h", "a list is not a time"),
        ({"m": 3}, "deg", "a section of keys is not an angle"),
    ],
)
def test_what_is_no_such_quantity_is_refused(written: object, unit: str, what: str) -> None:
    with pytest.raises(UnfitValueError) as caught:
        quantity(written, unit)
    assert what in caught.value.what
    assert caught.value.fix


def test_the_remedy_shows_how_to_write_it() -> None:
    with pytest.raises(UnfitValueError) as caught:
        quantity("1/4 mile", "m")
    assert '"0.25 mile"' in caught.value.fix
    assert "no fractions" in caught.value.fix


def test_a_grade_is_not_taken_for_an_angle() -> None:
    # 100 % is a rise of 1 in 1: 45 degrees, not 1 radian.
    with pytest.raises(UnfitValueError, match="grade") as caught:
        quantity("100 %", "deg")
    assert '"45.0 deg"' in caught.value.fix


@pytest.mark.parametrize(
    ("name", "unit"),
    [("direct_sun_h", "h"), ("water_distance_m", "m"), ("slope_deg", "deg"), ("open_share", "1")],
)
def test_a_layers_name_ends_in_its_unit(name: str, unit: str) -> None:
    assert unit_of(name) == unit


def test_a_name_without_a_unit_is_refused() -> None:
    with pytest.raises(UnfitValueError, match="'sun' is not the name of a layer"):
        unit_of("sun")


def test_bounds_are_told_in_the_unit_and_hold_at_their_edge() -> None:
    height = InUnit("m", above=0, at_most=30)
    assert height.check("30 m") == 30
    assert height.check(0.001) == 0.001
    with pytest.raises(UnfitValueError) as caught:
        height.check("200 ft")
    assert caught.value.what == "'200 ft' (60.96 m) is out of range"
    assert caught.value.fix == "give a length of more than 0 m and at most 30 m"
    with pytest.raises(UnfitValueError, match="0 m is out of range"):
        height.check(0)
    assert InUnit("m", at_least=0).check(0) == 0
    with pytest.raises(UnfitValueError, match=r"-0\.1 m is out of range"):
        InUnit("m", at_least=0).check(-0.1)


def test_long_texts_are_cut_when_shown() -> None:
    assert len(shown("x" * 10_000)) < 50
    assert shown("short") == "'short'"
