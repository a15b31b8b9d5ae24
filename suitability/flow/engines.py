"""The two libraries that fill depressions and add up flow.

Both fill to the same surface (there is one lowest surface without depressions) and count the same
cells, for directions are given and heights are whole numbers of 1/1024 m, in which float32 is
exact: so either gives the same network. Directions are `kernels.flow`'s with either, because the
libraries choose among equals in their own ways.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from suitability.config.water import Engine
from suitability.errors import InputError
from suitability.grid import Float32
from suitability.kernels.flow import OUTLET, UNKNOWN

Directions = NDArray[np.uint8]
Counts = NDArray[np.int64]

_SEA = -9999.0  # lower than any land: there water leaves it
_NOWHERE = (0.0, 1.0, 0.0, 0.0, 0.0, -1.0)  # without a place of its own, the library complains


class FlowEngine(Protocol):
    """What a library does for a network."""

    def fill(self, z: Float32) -> Float32:
        """Return the surface with its depressions filled; NaN is where water leaves the land."""

    def accumulate(self, directions: Directions) -> Counts:
        """Return how many cells drain through each, itself among them; 0 where unknown."""


# RichDEM's numbers of our directions, and its marks for no flow and no data.
_RICHDEM_NUMBERS = {16: 1, 32: 2, 64: 3, 128: 4, 1: 5, 2: 6, 4: 7, 8: 8}
_RICHDEM_NO_FLOW, _RICHDEM_NO_DATA = -1.0, -2.0


class Pyflwdir:
    """The engine that is always there."""

    def fill(self, z: Float32) -> Float32:
        """Fill after Wang & Liu (2006); see `FlowEngine`."""
        from pyflwdir import dem  # noqa: PLC0415 - slow to import, seldom needed

        filled, _ = dem.fill_depressions(z, nodata=np.nan)
        return np.asarray(filled, dtype=np.float32)

    def accumulate(self, directions: Directions) -> Counts:
        """Count upstream cells; see `FlowEngine`."""
        import pyflwdir  # noqa: PLC0415

        flow = pyflwdir.from_array(directions, ftype="d8", check_ftype=False)
        return np.maximum(np.asarray(flow.upstream_area(unit="cell"), dtype=np.int64), 0)


class RichDem:
    """The optional engine; its library is old, and seldom installed.

    Raises
    ------
    InputError
        If it is not installed, or cannot be imported.
    """

    def __init__(self) -> None:
        with _silence():
            try:
                import richdem  # noqa: PLC0415
            except Exception as exc:  # a wrong numpy or setuptools breaks it in many ways
                first = str(exc).splitlines()[0] if str(exc) else type(exc).__name__
                msg = f"RichDEM cannot be used here: {first}"
                fix = "leave `engine` out: pyflwdir finds the same streams; or install RichDEM"
                raise InputError(msg, where="water.from_elevation.engine", fix=fix) from exc
        self._library: Any = richdem

    def fill(self, z: Float32) -> Float32:
        """Fill after Zhou et al. (2016); see `FlowEngine`."""
        sea = np.isnan(z)
        with _silence():
            land = self._library.rdarray(np.where(sea, np.float32(_SEA), z), no_data=_SEA)
            land.geotransform = _NOWHERE
            filled = np.array(self._library.FillDepressions(land), dtype=np.float32)
        filled[sea] = np.nan
        return filled

    def accumulate(self, directions: Directions) -> Counts:
        """Count upstream cells; see `FlowEngine`."""
        # The library passes nothing on from cells of the raster's rim: so there is a rim around.
        padded = np.pad(directions, 1, constant_values=UNKNOWN)
        shares = np.zeros((*padded.shape, 9), np.float32)
        for code, number in _RICHDEM_NUMBERS.items():
            shares[padded == code, number] = 1.0
        shares[padded == OUTLET, 0] = _RICHDEM_NO_FLOW
        shares[padded == UNKNOWN, 0] = _RICHDEM_NO_DATA
        with _silence():
            given = self._library.rd3array(shares, no_data=_RICHDEM_NO_DATA)
            given.geotransform = _NOWHERE
            counted = np.array(self._library.FlowAccumFromProps(given))[1:-1, 1:-1]
        return np.where(directions == UNKNOWN, 0, counted).astype(np.int64)


def flow_engine(name: Engine) -> FlowEngine:
    """Return an engine by its name.

    Raises
    ------
    InputError
        If it is not installed.
    """
    return RichDem() if name == "richdem" else Pyflwdir()


@contextmanager
def _silence() -> Iterator[None]:
    """Keep from people what a library prints past Python, on the file descriptors themselves."""
    kept = [os.dup(number) for number in (1, 2)]
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        for number in (1, 2):
            os.dup2(nowhere, number)
        yield
    finally:
        for number, copy in zip((1, 2), kept, strict=True):
            os.dup2(copy, number)
            os.close(copy)
        os.close(nowhere)
