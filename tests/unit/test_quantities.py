"""Quantities in words: worked by hand from 1 ft = 0.3048 m, 1 mi = 1609.344 m."""

import math

import pytest

from suitability.config import RunSettings
from suitability.quantities import Quantities, inches, millimetres, number, workshop

METRIC, US = Quantities(), Quantities("us")
INPUTS = {"elevation": "dem.tif", "land_cover": "cover.tif", "streams": "streams.gpkg"}


@pytest.mark.parametrize(
    ("metres", "metric", "us"),
    [
        (0.0, "0 m", "0 ft"),
        (0.61, "0.6 m", "2 ft"),
        (3.7, "3.7 m", "12 ft"),
        (3.0, "3 m", "9.8 ft"),
        (9.96, "10 m", "33 ft"),
        (121.6, "122 m", "399 ft"),
        (394.0, "394 m", "1,293 ft"),
        (402.0, "402 m", "0.25 mi"),
        (999.4, "999 m", "0.62 mi"),
        (999.6, "1 km", "0.62 mi"),
        (1609.344, "1.61 km", "1 mi"),
        (12_345.0, "12.3 km", "7.67 mi"),
        (1_609_344.0, "1,609 km", "1,000 mi"),
        (-3.7, "-3.7 m", "-12 ft"),
    ],
)
def test_distances_are_rounded_by_their_size(metres, metric, us):
    assert (METRIC.length(metres), US.length(metres)) == (metric, us)


@pytest.mark.parametrize(
    ("metres", "metric", "us"),
    [
        (6.096, "6.096 m", "20 ft"),
        (2.0, "2 m", "6.56 ft"),
        (45.72, "45.72 m", "150 ft"),
        (500.0, "500 m", "1,640 ft"),
        (402.336, "402.3 m", "0.25 mi"),
        (804.672, "804.7 m", "0.5 mi"),
        (1609.344, "1,609 m", "1 mi"),
        (5000.0, "5,000 m", "3.11 mi"),
    ],
)
def test_what_was_stated_reads_as_it_was_stated(metres, metric, us):
    assert (METRIC.stated(metres), US.stated(metres)) == (metric, us)


def test_heights_are_never_kilometres_or_miles():
    assert [METRIC.height(h) for h in (4.572, 4.0, 1234.5)] == ["4.6 m", "4 m", "1,234 m"]
    assert [US.height(h) for h in (4.572, 1.0, 1234.5)] == ["15 ft", "3.3 ft", "4,050 ft"]


def test_spans_keep_to_one_unit():
    assert METRIC.heights(3.6576, 6.096) == "3.7 to 6.1 m"
    assert US.heights(3.6576, 6.096) == "12 to 20 ft"
    assert METRIC.lengths(500.0, 1500.0) == "0.5 to 1.5 km"
    assert US.lengths(100.0, 200.0) == "328 to 656 ft"
    assert US.temperatures(26.6667, 37.7778) == "80 to 100 °F"


def test_sizes_of_boards():
    assert [US.small(m) for m in (0.01905, 0.142875, 0.6096, 0.0)] == [
        "3/4 in", "5 5/8 in", "24 in", "0 in",
    ]  # fmt: skip
    assert METRIC.small(0.01905) == millimetres(0.01905) == "19 mm"
    assert inches(0.0254) == "1 in"
    assert workshop(0.01905) == "3/4 in (19 mm)"


def test_areas():
    assert [METRIC.area(a) for a in (12.34, 999.0, 1000.0, 123_456.0, 0.0)] == [
        "12.3 m²", "999 m²", "0.1 ha", "12.3 ha", "0 m²",
    ]  # fmt: skip
    acre = 4046.8564224
    assert [US.area(a) for a in (9.290304, acre / 20, acre / 10, 50 * acre, 12_345 * acre)] == [
        "100 sq ft", "2,178 sq ft", "0.1 acres", "50 acres", "12,345 acres",
    ]  # fmt: skip


def test_temperatures_and_their_differences_are_not_the_same():
    assert [US.temperature(c) for c in (40.0, -40.0, 0.0, 29.44)] == [
        "104 °F", "-40 °F", "32 °F", "85 °F",
    ]  # fmt: skip
    assert METRIC.temperature(-0.04) == "0 °C"
    assert [US.temperature_difference(k) for k in (1.0, 10.0)] == ["1.8 °F", "18 °F"]
    assert METRIC.temperature_difference(3.0) == "3 K"


def test_speeds():
    assert (METRIC.speed(4.4704), US.speed(4.4704)) == ("4.5 m/s", "10 mph")


@pytest.mark.parametrize(
    ("measure", "unit", "metric", "us"),
    [
        (412.34, "m", "412.3 m", "1,353 ft"),
        (6.75, "h", "6.75 h", "6.75 h"),
        (12.5, "deg", "12.5 deg", "12.5 deg"),
        (0.4, "1", "0.4", "0.4"),
        (20.0, "°C", "20 °C", "68 °F"),
        (10.0, "/km²", "10 /km²", "25.9 /sq mi"),
        (1.0, "m²", "1 m²", "10.76 sq ft"),
        (55.0, "dB", "55 dB", "55 dB"),
        (math.nan, "m", "–", "–"),
    ],
)
def test_a_layers_measure_goes_by_its_unit(measure, unit, metric, us):
    assert (METRIC.of(measure, unit), US.of(measure, unit)) == (metric, us)
    if math.isfinite(measure):
        axis = US.axis(unit)
        drawn = float(us.split()[0].replace(",", ""))
        assert axis.of(measure) == pytest.approx(drawn, rel=5e-4)
        assert axis.unit == us.partition(" ")[2]


@pytest.mark.parametrize(
    ("text", "us"),
    [
        ("a pole wants 10 ft (3 m) of air", "a pole wants 10 ft of air"),
        ("says 4 m (13 ft) and more", "says 13 ft and more"),
        ("26.7 to 37.8 °C (80 to 100 °F) for mothers", "80 to 100 °F for mothers"),
        ("10 ft (3 m), better 12 to 20 ft (3.7 to 6.1 m)", "10 ft, better 12 to 20 ft"),
        ("at 22 to 40 °C", "at 71.6 to 104 °F"),
        ("within 500 m of water", "within 1,640 ft of water"),
        ("Heights of 2 to 9.5 m made", "Heights of 7 to 31 ft made"),
        ("chambers of 3/4 in (19 mm) and 1 1/2 in (38 mm)", "chambers of 3/4 in and 1 1/2 in"),
        ("streams that gather 50 ha", "streams that gather 124 acres"),
        ("120 W/m2 in Wisconsin, 30 minutes", "120 W/m2 in Wisconsin, 30 minutes"),
        ("heights in 1/1024 m, wind in 3 m/s", "heights in 1/1024 m, wind in 3 m/s"),
        ("holds 900 m² each; above 10 /km²", "holds 0.222 acres each; above 25.9 /sq mi"),
        ("cells of 30.9 × 23.1 m onto 2 m", "cells of 101 × 75.8 ft onto 6.56 ft"),
        ("5.1 × 4.2 km of land", "3.17 × 2.61 mi of land"),
        ("245.1 to 1280.5 m seen", "804 to 4,201 ft seen"),
        ("Denver, 1609 m, UTC-7", "Denver, 5,279 ft, UTC-7"),
        ("above -12.5 °C", "above 9.5 °F"),
    ],
)  # fmt: skip
def test_texts_from_data(text, us):
    assert METRIC.retold(text) == text
    assert US.retold(text) == us


def test_numbers_have_commas_a_hyphen_and_no_idle_zeros():
    assert [number(v, 2) for v in (1319.0, 0.25, 100.0, -3.5, -0.001)] == [
        "1,319", "0.25", "100", "-3.5", "0",
    ]  # fmt: skip


def test_the_run_file_says_which():
    assert RunSettings.model_validate({"inputs": INPUTS}).quantities == METRIC
    assert RunSettings.model_validate({"inputs": INPUTS, "units": "us"}).quantities == US
    with pytest.raises(ValueError, match="units"):
        RunSettings.model_validate({"inputs": INPUTS, "units": "imperial"})
