"""Rasters in few bytes for a page: measures as whole numbers that keep their values, packed."""

from __future__ import annotations

import base64
import math
import zlib
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from suitability.config.curves import Curve
from suitability.decide import value_of
from suitability.grid import Float32, Float64

# Codes for a value's way from 0 to 1, and for the measures from least to greatest: values are then
# off by a ten-thousandth at most, measures by a ten-thousandth of their range where the value is
# level, and most codes fit into bytes that repeat.
VALUE_CODES = 5000
MEASURE_CODES = 5000
# Code 0 is "no data".
FIRST = 1
_MOST = 65_000
# Of a logistic curve, which nears 0 and 1 for ever: it is followed until it is this near.
_BENDS = 97
_NEAR = 1e-4


@dataclass(frozen=True)
class CodeScale:
    """How codes stand for measures: straight lines between pairs, finer where the value changes.

    Parameters
    ----------
    measures, codes : numpy.ndarray
        (n,) float64 both, rising.
    """

    measures: Float64
    codes: Float64

    def encode(self, raw: Float32) -> NDArray[np.uint16]:
        """Return codes of measures, of their shape; 0 where they are NaN."""
        found = np.interp(raw, self.measures, self.codes)
        return np.where(np.isnan(raw), 0, np.rint(np.nan_to_num(found))).astype(np.uint16)

    def decode(self, codes: NDArray[np.uint16]) -> Float64:
        """Return the measures that codes stand for; NaN for 0."""
        found = np.interp(codes, self.codes, self.measures)
        return np.where(codes == 0, np.nan, found)


def scale_for(raw: Float32, curve: Curve) -> CodeScale:
    """Return codes for measures of which values on a curve can be had again.

    Codes are spread by how far the value moves and by how far the measure does, so that a steep
    part of a curve has as many as it needs. A step has two of its own, one on either side.

    Parameters
    ----------
    raw : numpy.ndarray
        Any shape, float32; NaN where missing.
    curve : Curve
        The value function.
    """
    known = raw[np.isfinite(raw)]
    low, high = (float(known.min()), float(known.max())) if known.size else (0.0, 1.0)
    high = max(high, low + 1e-6 * max(1.0, abs(low)))
    measures, values = _bends(curve, low, high)
    moved = np.abs(np.diff(values))
    # Shrink all alike where a curve goes up and down so often that codes would run out.
    fit = min(1.0, (_MOST - MEASURE_CODES) / max(VALUE_CODES * moved.sum(), 1.0))
    steps = VALUE_CODES * fit * moved + MEASURE_CODES * np.diff(measures) / (high - low)
    codes = FIRST + np.concatenate([[0.0], np.cumsum(np.maximum(steps, 0.0))])
    if curve.kind == "steps":  # the last measure before a step must not be rounded onto it
        codes = np.rint(codes)
        for k in range(1, codes.size):
            codes[k] = max(codes[k], codes[k - 1] + (1 if moved[k - 1] > 0 else 0))
    return CodeScale(measures, codes)


def value_error(raw: Float32, curve: Curve, scale: CodeScale) -> float:
    """Return by how much values are off at most when they are had from codes."""
    off = np.abs(value_of(scale.decode(scale.encode(raw)), curve) - value_of(raw, curve))
    return float(np.nanmax(off)) if np.isfinite(off).any() else 0.0


def packed(codes: NDArray[np.uint16]) -> str:
    """Return codes for a page: what changes along a row, low bytes before high ones, raw deflate.

    Parameters
    ----------
    codes : numpy.ndarray
        (rows, cols) uint16.

    Returns
    -------
    str
        Base64.
    """
    change = np.diff(codes, axis=1, prepend=np.uint16(0)).astype("<u2")
    return _deflated(np.concatenate([(change & 255).ravel(), (change >> 8).ravel()]))


def packed_bytes(values: NDArray[np.uint8]) -> str:
    """Return bytes for a page, as they are: raw deflate in base64."""
    return _deflated(values.ravel())


def _deflated(values: NDArray[np.unsignedinteger]) -> str:
    press = zlib.compressobj(6, zlib.DEFLATED, -zlib.MAX_WBITS)
    pressed = press.compress(values.astype(np.uint8).tobytes()) + press.flush()
    return base64.b64encode(pressed).decode("ascii")


def _bends(curve: Curve, low: float, high: float) -> tuple[Float64, Float64]:
    """Return where a curve bends between the least and the greatest measure, with its values."""
    inner = [at for at, _ in curve.knots]
    if curve.kind == "logistic":
        (middle, _), (ninth, _) = curve.knots
        reach = abs(ninth - middle) * math.log(1 / _NEAR - 1) / math.log(9)
        inner = [float(at) for at in np.linspace(middle - reach, middle + reach, _BENDS)]
    if curve.kind == "steps":
        # In the layers' own precision, in which a measure at the step counts as on it.
        starts = [np.float32(at) for at in inner]
        inner = [float(np.nextafter(at, np.float32(-np.inf))) for at in starts]
        inner += [float(at) for at in starts]
    within = sorted({at for at in inner if low < at < high} | {low, high})
    measures = np.array(within)
    return measures, value_of(measures, curve).astype(np.float64)
