"""How well places move from one datum to another with the shift grids that are installed."""

from __future__ import annotations

import threading
import warnings
from functools import lru_cache

import pyproj
from pyproj.transformer import AreaOfInterest, TransformerGroup

from suitability.grid import WGS84, Bounds, transformer
from suitability.inputs.places import crs_label

# Off by more than this, shadows of single trees fall on other cells. Between NAD83 and WGS 84,
# which most data take for the same, the registry states 4 m.
GOOD_ENOUGH_M = 5.0

_FILTERS = threading.Lock()  # filters of warnings are those of all threads


def doubted_move(source: pyproj.CRS, target: pyproj.CRS, bounds: Bounds) -> tuple[str, ...]:
    """Return a warning if an input may land beside its place, since a shift grid is not there.

    Shifts between old and new datums are published as grids. Where the one that is asked for is
    not installed, PROJ takes a coarser shift or none at all, and says so to nobody.

    Parameters
    ----------
    source : pyproj.CRS
        The input's.
    target : pyproj.CRS
        Where its places go.
    bounds : tuple of float
        The land, as west, south, east and north in the target.

    Returns
    -------
    tuple of str
        Nothing if the move is good to `GOOD_ENOUGH_M`; else what may be off, and the way out.

    References
    ----------
    .. [1] EPSG Dataset: the accuracies of its coordinate operations, as PROJ ships them.
    """
    own, wanted = source.geodetic_crs, target.geodetic_crs
    if own is None or wanted is None or own.to_2d().equals(wanted.to_2d(), ignore_axis_order=True):
        return ()
    middle = (bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2
    lon, lat = (round(float(degrees)) for degrees in transformer(target, WGS84).transform(*middle))
    off_m = _off_by_m(own.to_2d(), wanted.to_2d(), lon, lat)
    if off_m is not None and off_m <= GOOD_ENOUGH_M:
        return ()
    how_far = "by tens of metres" if off_m is None else f"by some {off_m:.0f} m"
    return (
        f"moved from {own.name} to {wanted.name} without the grid of shifts between the two, "
        f"which is not installed: all of it may lie beside its place {how_far}; fetch the grid "
        f"(`pyproj sync --bbox {lon - 1},{lat - 1},{lon + 1},{lat + 1}`), or, if all inputs are in "
        f"{own.name}, state such a CRS in metres in `grid.crs`, now {crs_label(target)}",
    )


@lru_cache(maxsize=64)
def _off_by_m(source: pyproj.CRS, target: pyproj.CRS, lon: int, lat: int) -> float | None:
    """Return the stated accuracy of the best move that is installed; None if it is a guess."""
    west, south, east, north = max(lon - 1, -180), max(lat - 1, -90), lon + 1, lat + 1
    area = AreaOfInterest(west, south, min(east, 180), min(north, 90))
    with _FILTERS, warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # that a better one is missing: told by us
        group = TransformerGroup(source, target, always_xy=True, area_of_interest=area)
    stated = [each.accuracy for each in group.transformers if each.accuracy >= 0]
    return min(stated, default=None)
