"""Lengths as a workshop reads them: inches to a sixteenth, and millimetres."""

from __future__ import annotations

from fractions import Fraction

INCH_M = 0.0254
_SIXTEENTHS = 16


def inches(metres: float) -> str:
    """Return a length in inches to the nearest sixteenth, such as `5 5/8 in`."""
    whole, part = divmod(round(metres / INCH_M * _SIXTEENTHS), _SIXTEENTHS)
    fraction = str(Fraction(part, _SIXTEENTHS)) if part else ""
    return f"{' '.join(text for text in (str(whole) if whole else '', fraction) if text) or 0} in"


def millimetres(metres: float) -> str:
    """Return a length in whole millimetres."""
    return f"{metres * 1000:.0f} mm"


def both(metres: float) -> str:
    """Return a length in both, such as `3/4 in (19 mm)`."""
    return f"{inches(metres)} ({millimetres(metres)})"
