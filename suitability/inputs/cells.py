"""The cells of a raster, window by window, as the program counts them: heights in metres, codes."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray
from rasterio.enums import ColorInterp
from rasterio.io import DatasetReader
from rasterio.windows import Window

from suitability.errors import InputError
from suitability.grid import Float32
from suitability.inputs.legend import MAX_CODE, NO_CLASS, Codes
from suitability.inputs.vertical import HeightUnit

# What a height of ground can be: the lowest dry land lies at -430 m, the highest at 8,849 m (from
# memory; the bounds leave room for datums and mines).
GROUND_RANGE_M = (-500.0, 9_000.0)
# The tallest tree measured has 116 m (from memory). Above the upper bound it is no canopy height.
CANOPY_RANGE_M = (-500.0, 150.0)

# Impossible heights that programs have long written for "no data". Where one is not declared, it
# is taken as nodata with a warning; any other impossible height may as well be a wrong unit or a
# damaged file, and is refused.
SENTINELS = (-9999.0, -99999.0, -999.0, -10000.0, 9999.0, 99999.0, -32768.0, -32767.0, 32767.0,
             65535.0, 255.0)  # fmt: skip
# Of any measure these are more likely "no data" than a value.
LIKELY_SENTINELS = frozenset({-9999.0, -99999.0, -32768.0, -32767.0})
ENDLESS = 1e30  # the float sentinels, 3.4e38 and its kin, are all beyond this


@dataclass
class HeightCells:
    """Heights of any window of a raster: masks, scale, sentinels and unit are dealt with.

    Parameters
    ----------
    dataset : rasterio dataset
        The open raster.
    band : int
        Its band.
    unit : HeightUnit
        Unit of its heights, and how it is known.
    range_m : tuple of float
        Lowest and highest height that can be. [m]
    where : str
        File and line, for errors.
    """

    dataset: DatasetReader
    band: int
    unit: HeightUnit
    range_m: tuple[float, float]
    where: str
    sentinels_met: set[float] = field(default_factory=set)

    def __call__(self, window: Window) -> Float32:
        """Return heights, float32, NaN where there are none. [m]."""
        raw = _masked(self.dataset, self.band, window)
        with np.errstate(over="ignore"):  # a float64 sentinel overflows to infinity
            heights = self._in_metres(raw.data).astype(np.float32)
        heights[np.ma.getmaskarray(raw)] = np.nan
        self._drop_impossible(heights, raw.data, window)
        return heights

    @property
    def scaling(self) -> tuple[float, float]:
        """Scale and offset from stored numbers to heights."""
        return self.dataset.scales[self.band - 1], self.dataset.offsets[self.band - 1]

    def _in_metres(self, stored: NDArray[Any]) -> NDArray[Any]:
        (scale, offset), factor = self.scaling, self.unit.factor_to_m
        if (scale, offset, factor) == (1, 0, 1):
            return stored
        return (stored.astype(np.float64) * scale + offset) * factor

    def _drop_impossible(self, heights: Float32, raw: NDArray[Any], window: Window) -> None:
        lowest, highest = self.range_m
        wrong = (heights < lowest) | (heights > highest)
        if not wrong.any():
            return
        stored = raw[wrong].astype(np.float64)
        endless = ~np.isfinite(stored) | (np.abs(stored) >= ENDLESS)
        explained = endless | np.isin(stored, SENTINELS)
        if not explained.all():
            row, col = (int(axis[np.argmin(explained)]) for axis in np.nonzero(wrong))
            place = f"row {row + window.row_off}, column {col + window.col_off}"
            self._refuse(float(heights[row, col]), place)
        self.sentinels_met.update(stored[~endless].tolist())
        declared = self.dataset.nodatavals[self.band - 1]
        if declared is None or abs(declared) < ENDLESS:
            # A declared 3.4e38 that lost its last digits is no surprise; an undeclared one is.
            self.sentinels_met.update(stored[endless].tolist())
        heights[wrong] = np.nan

    def _refuse(self, height_m: float, place: str) -> None:
        lowest, highest = self.range_m
        msg = f"{place} holds {height_m:,.6g} m; heights from {lowest:g} to {highest:g} m can be"
        fix = (
            "if the value means no data, declare it (`rio edit-info --nodata VALUE FILE` or "
            "`gdal_edit.py -a_nodata VALUE FILE`); if it is a height, correct `unit` or the file"
        )
        raise InputError(msg, where=self.where, fix=fix)


@dataclass
class ValueCells:
    """Values of any window of a raster: masks and scale are dealt with; their unit is its own.

    Parameters
    ----------
    dataset : rasterio dataset
        The open raster.
    band : int
        Its band.
    """

    dataset: DatasetReader
    band: int
    sentinels_met: set[float] = field(default_factory=set)

    def __call__(self, window: Window) -> Float32:
        """Return values, float32, NaN where there are none."""
        raw = _masked(self.dataset, self.band, window)
        scale, offset = self.dataset.scales[self.band - 1], self.dataset.offsets[self.band - 1]
        data = raw.data if (scale, offset) == (1, 0) else raw.data * np.float64(scale) + offset
        with np.errstate(over="ignore"):  # a float64 sentinel overflows to infinity
            values: Float32 = data.astype(np.float32)
        missing = np.ma.getmaskarray(raw)
        self.sentinels_met.update(LIKELY_SENTINELS.intersection(np.unique(raw.data[~missing])))
        values[missing | ~np.isfinite(values) | (np.abs(values) >= ENDLESS)] = np.nan
        return values


@dataclass
class ClassCells:
    """Land-cover codes of any window of a raster.

    Parameters
    ----------
    dataset : rasterio dataset
        The open raster.
    band : int
        Its band.
    nodata : tuple of int
        Codes that mean "no data", besides the raster's own.
    where : str
        File and line, for errors.
    """

    dataset: DatasetReader
    band: int
    nodata: tuple[int, ...]
    where: str

    def __call__(self, window: Window) -> Codes:
        """Return codes, `NO_CLASS` where there are none."""
        raw = _masked(self.dataset, self.band, window)
        missing = np.ma.getmaskarray(raw) | np.isin(raw.data, self.nodata)
        if raw.dtype.kind == "f":
            missing |= ~np.isfinite(raw.data)
        self._require_codes(raw.data[~missing])
        with np.errstate(invalid="ignore"):  # what is missing may be any number
            codes: Codes = raw.data.astype(np.int16)
        codes[missing] = NO_CLASS
        return codes

    def _require_codes(self, codes: NDArray[Any]) -> None:
        broken = codes[codes != np.round(codes)]
        if broken.size:
            msg = f"{broken[0]:g} is no land-cover code: codes are whole numbers"
            fix = "give the classified raster itself, not one that was interpolated or averaged"
            raise InputError(msg, where=self.where, fix=fix)
        far = codes[(codes < 0) | (codes > MAX_CODE)]
        if far.size:
            listed = ", ".join(f"{code:g}" for code in np.unique(far)[:10])
            msg = f"{listed} cannot be land-cover codes (0 to {MAX_CODE:,})"
            fix = "if they mean no data, declare them in the raster or under `nodata` of the legend"
            raise InputError(msg, where=self.where, fix=fix)


def _masked(dataset: DatasetReader, band: int, window: Window) -> Any:
    """Return a window with its nodata masked, (rows, cols) masked array.

    An alpha band of floats, which warping makes beside heights, is none to GDAL.
    """
    raw = dataset.read(band, window=window, masked=True)
    for number, meaning in enumerate(dataset.colorinterp, start=1):
        if (
            meaning is ColorInterp.alpha
            and number != band
            and dataset.dtypes[number - 1]
            not in (
                "uint8",
                "uint16",
            )
        ):
            raw = np.ma.masked_where(dataset.read(number, window=window) == 0, raw)
    return raw
