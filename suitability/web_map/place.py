"""Longitude and latitude by formula, for a page that has no projections."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from suitability.grid import Float64, Grid

# Of the polynomials, in x and y together: the first that is near enough is taken.
_DEGREES = (1, 2, 3, 4, 6, 8)
_NEAR_ENOUGH_M = 0.1
_FITTED, _TRIED = 17, 40  # points along a side, none in common but the corners
_METRES_A_DEGREE = 111_320.0


@dataclass(frozen=True)
class LonLat:
    """Polynomials over a grid, its x and y brought to -1..1.

    Parameters
    ----------
    powers : list of (int, int)
        Of x and of y, for each term.
    lon, lat : list of float
        What each term weighs. [degrees]
    error_m : float
        How far a place may be off, at most of all that were tried. [m]
    """

    powers: list[tuple[int, int]]
    lon: list[float]
    lat: list[float]
    error_m: float


def fitted(grid: Grid) -> LonLat:
    """Return longitude and latitude over a grid as polynomials, within 0.1 m if that can be."""
    for degree in _DEGREES:
        found = _of_degree(grid, degree)
        if found.error_m <= _NEAR_ENOUGH_M:
            break
    return found


def _of_degree(grid: Grid, degree: int) -> LonLat:
    powers = [(i, j) for i in range(degree + 1) for j in range(degree + 1 - i)]
    u, v, lon, lat = _points(grid, _FITTED)
    terms = _terms(u, v, powers)
    weights = np.linalg.lstsq(terms, np.stack([lon, lat], axis=1), rcond=None)[0]
    u, v, lon, lat = _points(grid, _TRIED)
    off = _terms(u, v, powers) @ weights - np.stack([lon, lat], axis=1)
    east_m = off[:, 0] * np.cos(np.radians(lat)) * _METRES_A_DEGREE
    north_m = off[:, 1] * _METRES_A_DEGREE
    error_m = float(np.hypot(east_m, north_m).max())
    return LonLat(powers, weights[:, 0].tolist(), weights[:, 1].tolist(), error_m)


def _points(grid: Grid, count: int) -> tuple[Float64, Float64, Float64, Float64]:
    west, south, east, north = grid.bounds
    u, v = (each.ravel() for each in np.meshgrid(*[np.linspace(-1, 1, count)] * 2))
    x = (west + east) / 2 + u * (east - west) / 2
    y = (south + north) / 2 + v * (north - south) / 2
    return u, v, *grid.lonlat(x, y)


def _terms(u: Float64, v: Float64, powers: list[tuple[int, int]]) -> Float64:
    return np.stack([u**i * v**j for i, j in powers], axis=1)
