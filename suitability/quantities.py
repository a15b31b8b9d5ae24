"""Quantities as a person reads them, in metric or in US customary units, by one setting.

Inside and in files for machines everything is metric (m, m², h, degrees, °C). Here it becomes
words: thousands parted by commas, no zeros at the end, a hyphen for minus, a blank before the unit.
How many digits are shown goes by the size of the number, alike in every text.

A foot is 0.3048 m and a mile 1609.344 m exactly, an acre 4046.8564224 m² (NIST Special
Publication 811, appendix B). The US survey foot and acre, 2 and 4 millionths longer, are read in
inputs and never shown.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Literal, TypeVar

if TYPE_CHECKING:  # config imports this room, and `--help` does not wait for numpy
    import numpy as np
    from numpy.typing import NDArray

Units = Literal["metric", "us"]
Measure = TypeVar("Measure", float, "NDArray[np.float64]")

INCH_M = 0.0254
FOOT_M = 0.3048
MILE_M = 1609.344
ACRE_M2 = 4046.8564224
HECTARE_M2 = 10_000.0
_SIXTEENTHS = 16
_MOST_DECIMALS = 6
_MPH_M_S = MILE_M / 3600
# From here on a length is told in km or miles, an area in ha or acres.
_KM_FROM_M, _MILES_FROM = 1000.0, 0.25
_HECTARES_FROM, _ACRES_FROM = 0.1, 0.1


@dataclass(frozen=True)
class Scale:
    """A unit to show a measure in: shown = measure * factor + offset.

    Parameters
    ----------
    factor, offset : float
        From the inside unit to the shown one.
    unit : str
        As it stands behind a number; empty for a share.
    """

    factor: float
    offset: float
    unit: str

    def of(self, measure: Measure) -> Measure:
        """Return a measure, or an array of them, in this unit."""
        return measure * self.factor + self.offset

    def tell(self, measure: float, decimals: int) -> str:
        """Return a measure with its unit, to so many decimals at most."""
        return f"{number(self.of(measure), decimals)} {self.unit}".rstrip()

    def tell_digits(self, measure: float, digits: int) -> str:
        """Return a measure with its unit, to so many digits; whole numbers keep all of theirs."""
        return self.tell(measure, _decimals(self.of(measure), digits))


_METRES, _FEET = Scale(1.0, 0.0, "m"), Scale(1 / FOOT_M, 0.0, "ft")
_KILOMETRES, _MILES = Scale(0.001, 0.0, "km"), Scale(1 / MILE_M, 0.0, "mi")
_METRIC = {
    "m": _METRES,
    "m²": Scale(1.0, 0.0, "m²"),
    "/km²": Scale(1.0, 0.0, "/km²"),
    "°C": Scale(1.0, 0.0, "°C"),
    "1": Scale(1.0, 0.0, ""),
}
_US = {
    "m": _FEET,
    "m²": Scale(1 / FOOT_M**2, 0.0, "sq ft"),
    "/km²": Scale(MILE_M**2 / 1e6, 0.0, "/sq mi"),
    "°C": Scale(1.8, 32.0, "°F"),
    "1": Scale(1.0, 0.0, ""),
}


def number(value: float, decimals: int) -> str:
    """Return a number as text: `1,319`, `0.25`, `-3`.

    Parameters
    ----------
    value : float
        Finite.
    decimals : int
        At most; zeros at the end are left out.
    """
    text = f"{value:,.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def inches(metres: float) -> str:
    """Return a length in inches to the nearest sixteenth, such as `5 5/8 in`."""
    whole, part = divmod(round(metres / INCH_M * _SIXTEENTHS), _SIXTEENTHS)
    fraction = str(Fraction(part, _SIXTEENTHS)) if part else ""
    return f"{' '.join(text for text in (str(whole) if whole else '', fraction) if text) or 0} in"


def millimetres(metres: float) -> str:
    """Return a length in whole millimetres."""
    return f"{metres * 1000:,.0f} mm"


def workshop(metres: float) -> str:
    """Return a small length in both, for boards are sold by either: `3/4 in (19 mm)`."""
    return f"{inches(metres)} ({millimetres(metres)})"


@dataclass(frozen=True)
class Quantities:
    """How quantities are told.

    Parameters
    ----------
    units : {"metric", "us"}
        What the run file's `units` says.
    """

    units: Units = "metric"

    @property
    def is_us(self) -> bool:
        """Whether US customary units are wanted."""
        return self.units == "us"

    @property
    def other(self) -> Quantities:
        """The other units."""
        return Quantities("metric" if self.is_us else "us")

    def length(self, metres: float) -> str:
        """Return a measured distance: m or km, ft or (from a quarter of a mile on) mi. [m].

        A tenth below 10, whole m or ft above; 3 digits or whole numbers of km and mi.
        """
        scale = self._length_scale(metres)
        return scale.tell(metres, _length_decimals(scale, metres))

    def lengths(self, low: float, high: float) -> str:
        """Return a span of distances in the unit of the greater one: `12 to 20 ft`. [m]."""
        scale = self._length_scale(high)
        return _span(scale, low, high, _length_decimals(scale, high))

    def stated(self, metres: float) -> str:
        """Return a distance that somebody has set, not rounded more than its unit makes needful.

        Four digits in m, three in ft: what was written as 20 ft or 6 m reads so. Miles where they
        come out even, as 0.25 mi, or from 1 mile on. [m]
        """
        if not self.is_us:
            return _METRES.tell_digits(metres, 4)
        miles = metres / MILE_M
        is_even = abs(miles * 100 - round(miles * 100)) < 1e-6
        in_miles = miles >= _MILES_FROM and (is_even or miles >= 1)
        return (_MILES if in_miles else _FEET).tell_digits(metres, 3)

    def height(self, metres: float) -> str:
        """Return a height, never in km or mi: to a tenth of a metre, or to a foot from 10 ft. [m].

        Metres are whole from 100 m on, where heights are those of the land.
        """
        return self._height_scale.tell(metres, self._height_decimals(metres))

    def heights(self, low: float, high: float) -> str:
        """Return a span of heights: `3.7 to 6.1 m`. [m]."""
        return _span(self._height_scale, low, high, self._height_decimals(high))

    def small(self, metres: float) -> str:
        """Return a size of a box or a board: whole mm, or inches to a sixteenth. [m]."""
        return inches(metres) if self.is_us else millimetres(metres)

    def area(self, square_metres: float) -> str:
        """Return an area to three digits: m² or ha, sq ft or acres (from a tenth of one). [m²]."""
        acres, hectares = (round(square_metres / one, 9) for one in (ACRE_M2, HECTARE_M2))
        is_large = acres >= _ACRES_FROM if self.is_us else hectares >= _HECTARES_FROM
        return (self.land if is_large else self.axis("m²")).tell_digits(square_metres, 3)

    @property
    def land(self) -> Scale:
        """How tables and charts of land count areas: ha, or acres. [m²]."""
        return Scale(1 / ACRE_M2, 0.0, "acres") if self.is_us else Scale(1 / HECTARE_M2, 0.0, "ha")

    def temperature(self, celsius: float) -> str:
        """Return a temperature to a tenth of a degree. [°C]."""
        return self.axis("°C").tell(celsius, 1)

    def temperatures(self, low: float, high: float) -> str:
        """Return a span of temperatures to a tenth of a degree: `72 to 104 °F`. [°C]."""
        return _span(self.axis("°C"), low, high, 1)

    def temperature_difference(self, kelvin: float) -> str:
        """Return by how much temperatures differ, to a tenth of a degree below 10. [K]."""
        scale = Scale(1.8, 0.0, "°F") if self.is_us else Scale(1.0, 0.0, "K")
        return scale.tell(kelvin, 1 if abs(scale.of(kelvin)) < 10 else 0)

    def speed(self, metres_per_second: float) -> str:
        """Return a speed to a tenth, as of wind. [m/s]."""
        scale = Scale(1 / _MPH_M_S, 0.0, "mph") if self.is_us else Scale(1.0, 0.0, "m/s")
        return scale.tell(metres_per_second, 1)

    def of(self, measure: float, unit: str) -> str:
        """Return a layer's measure to four digits; one layer is told in one unit throughout.

        Parameters
        ----------
        measure : float
            In the layer's unit; NaN gives a dash.
        unit : str
            As `config.units.unit_of` names it: m, m², h, deg, 1 (a share), /km², °C, dB.
        """
        return self.axis(unit).tell_digits(measure, 4) if math.isfinite(measure) else "–"

    def axis(self, unit: str) -> Scale:
        """Return how an axis of a layer's unit is drawn: factor, offset, and its unit.

        Parameters
        ----------
        unit : str
            As in `of`; one that both systems share (h, deg, dB) stays.
        """
        return (_US if self.is_us else _METRIC).get(unit, Scale(1.0, 0.0, unit))

    def retold(self, text: str) -> str:
        """Return a text from data with its measures in the reader's units.

        Data are written for metric readers, with US units beside them where sources have those:
        `26.7 to 37.8 °C (80 to 100 °F)`, `10 ft (3 m)`. For US readers such a pair becomes its US
        half, and a metric measure that stands alone is turned.
        """
        if not self.is_us:
            return text
        text = _METRIC_THEN_US.sub(r"\2", _US_THEN_METRIC.sub(r"\1", text))
        return _ALONE.sub(self._turned, text)

    def _turned(self, found: re.Match[str]) -> str:
        """Return a metric measure, or two, that were found in a text."""
        first, second = (
            None if text is None else float(text.replace(",", "")) * _WRITTEN[found["unit"]]
            for text in (found["first"], found["second"])
        )
        tellers: dict[str, Callable[[float], str]] = {
            "mm": self.small, "cm": self.small, "m": self._stated_in_feet, "km": self.stated,
            "m²": self.area, "ha": self.area, "°C": self.temperature,
            "K": self.temperature_difference, "/km²": lambda each: self.of(each, "/km²"),
        }  # fmt: skip
        tell = tellers[found["unit"]]
        if first is None or second is None:
            return tell(first or 0.0)
        if found["unit"] == "m" and found["between"] == "to":
            return self.heights(first, second)
        low, high = tell(first), tell(second)
        number_of_low, _, unit_of_low = low.rpartition(" ")
        if unit_of_low == high.rpartition(" ")[2]:
            low = number_of_low
        return f"{low} {found['between']} {high}"

    def _stated_in_feet(self, metres: float) -> str:
        """Return what a text tells in m: it may be a height, so in miles only if it is even."""
        told = self.stated(metres)
        is_even = abs(metres / MILE_M * 100 - round(metres / MILE_M * 100)) < 1e-6
        return told if is_even else _FEET.tell_digits(metres, 3)

    def _length_scale(self, metres: float) -> Scale:
        if self.is_us:
            # Told by what is read: 402 m is 0.2498 miles, and reads 0.25 mi.
            return _MILES if round(abs(metres) / MILE_M, 2) >= _MILES_FROM else _FEET
        return _KILOMETRES if round(abs(metres)) >= _KM_FROM_M else _METRES

    @property
    def _height_scale(self) -> Scale:
        return self.axis("m")

    def _height_decimals(self, metres: float) -> int:
        return 1 if abs(self._height_scale.of(metres)) < (10 if self.is_us else 100) else 0


METRIC = Quantities("metric")


def _length_decimals(scale: Scale, metres: float) -> int:
    shown = abs(scale.of(metres))
    if scale in (_KILOMETRES, _MILES):
        return 2 if shown < 10 else 1 if shown < 100 else 0
    return 1 if shown < 10 else 0


def _span(scale: Scale, low: float, high: float, decimals: int) -> str:
    return f"{number(scale.of(low), decimals)} to {scale.tell(high, decimals)}"


def _decimals(value: float, digits: int) -> int:
    """Return with how many decimals a number has so many digits; no more than can matter."""
    if not value:
        return 0
    return min(max(0, digits - 1 - math.floor(math.log10(abs(value)))), _MOST_DECIMALS)


_AMOUNT = r"-?\d[\d,]*(?:\.\d+)?"
_SPAN = rf"{_AMOUNT}(?: to {_AMOUNT})?"
_METRIC_UNIT, _US_UNIT = r"(?:mm|cm|km|m|ha|°C|K)", r"(?:in|ft|mi|acres?|°F|°R)"
_US_AMOUNT = r"\d[\d,]*(?:\.\d+)?(?: ?\d+/\d+)?|\d+/\d+"
_US_SPAN = rf"(?:{_US_AMOUNT})(?: to (?:{_US_AMOUNT}))?"
_METRIC_THEN_US = re.compile(rf"(?<![\w./])({_SPAN} {_METRIC_UNIT}) \(({_US_SPAN} {_US_UNIT})\)")
_US_THEN_METRIC = re.compile(rf"(?<![\w./])({_US_SPAN} {_US_UNIT}) \({_SPAN} {_METRIC_UNIT}\)")
_WRITTEN = {
    "mm": 0.001, "cm": 0.01, "m": 1.0, "km": 1000.0, "m²": 1.0, "ha": HECTARE_M2, "°C": 1.0,
    "K": 1.0, "/km²": 1.0,
}  # fmt: skip
_ALONE = re.compile(
    rf"(?<![\w.:/])(?P<first>{_AMOUNT})(?: (?P<between>to|×) (?P<second>{_AMOUNT}))? "
    r"(?P<unit>mm|cm|km|m²|m|ha|°C|K|/km²)(?![\w²/])"
)
