"""Shares of land cover around a place."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from suitability.grid import Float32, Window
from suitability.inputs.legend import NO_CLASS, Codes, Group, Legend
from suitability.layers.focal import Bool, count_within, reach_cells, share_within

# What has an edge that bats hunt along: woodland.
WOODLAND: Group = "forest"


@dataclass(frozen=True)
class Cover:
    """Land cover around a window of a grid.

    Parameters
    ----------
    codes : numpy.ndarray
        (rows, cols) int16 on `known`; `NO_CLASS` where there is none.
    known : Window
        Where the codes lie, perhaps beyond the grid.
    legend : Legend
        What they mean.
    """

    codes: Codes
    known: Window
    legend: Legend

    def within(self, window: Window) -> Codes:
        """Return the codes of a window of what is known."""
        return self.codes[window.within(self.known)]

    def is_water(self, window: Window) -> Bool:
        """Return which cells of a window are water."""
        return self.legend.mask_of(self.within(window), "water")


def cover_share(
    cover: Cover,
    window: Window,
    wanted: Collection[int],
    *,
    within_m: float,
    cell_m: float,
    woodland_edge_m: float | None = None,
) -> Float32:
    """Return the share of some land cover within a radius of each cell, (rows, cols) of the window.

    Parameters
    ----------
    cover : Cover
        Land cover, known as far as `surroundings_cells` around the window.
    window : Window
        Where the share is wanted.
    wanted : collection of int
        Codes that count.
    within_m : float
        Radius of the round window. [m]
    cell_m : float
        Edge of a cell. [m]
    woodland_edge_m : float, optional
        Woodland counts as well where known other land lies this near, or in the next cell where
        cells are wider; left out, it does not. [m]

    Returns
    -------
    numpy.ndarray
        float32 in 0..1; NaN where no land cover is known within the radius.
    """
    reach = reach_cells(within_m, cell_m)
    edge_m = 0.0 if woodland_edge_m is None else max(woodland_edge_m, cell_m)
    to_edge = reach_cells(edge_m, cell_m)
    codes = cover.within(window.grown(reach + to_edge))
    middle = tuple(slice(to_edge, size - to_edge) for size in codes.shape)
    known = codes != NO_CLASS
    counted = np.isin(codes, list(wanted))[middle]
    if woodland_edge_m is not None:
        woods = cover.legend.mask_of(codes, WOODLAND)
        near_other = count_within(known & ~woods, edge_m, cell_m) > 0
        counted |= woods[middle] & near_other
    return share_within(counted, known[middle], within_m, cell_m)


def surroundings_cells(within_m: float, woodland_edge_m: float | None, cell_m: float) -> int:
    """Return how far around a window land cover must be known for its shares. [cells]."""
    edge_m = 0.0 if woodland_edge_m is None else max(woodland_edge_m, cell_m)
    return reach_cells(within_m, cell_m) + reach_cells(edge_m, cell_m)
