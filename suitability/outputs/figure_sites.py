"""The sites on the map: a ring where each lies and its number beside it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Circle, Wedge

from suitability.grid import Float64
from suitability.outputs import colours

DISC_RADIUS_IN = 0.085
_WIDE_DISC_RADIUS_IN = 0.12  # where numbers have three digits
_RING_RADIUS_IN = 0.038
_GAP_IN = 0.02
_TICK_IN = 0.11  # from the middle of the ring
_DISTANCES_IN = (0.17, 0.26, 0.36, 0.5, 0.7)
_ANGLES_DEG = (45, 135, 315, 225, 0, 180, 90, 270, 22, 158, 338, 202)


def draw_sites(
    axes: Axes,
    ranks: Sequence[int],
    x_in: Float64,
    y_in: Float64,
    *,
    groups: Sequence[int] | None = None,
    roles: Sequence[tuple[int, int]] | None = None,
    crosses: tuple[Float64, Float64] | None = None,
    facings_deg: Float64 | None = None,
) -> None:
    """Draw a ring at each site and its number on a white disc beside it.

    Parameters
    ----------
    axes : matplotlib.axes.Axes
        In inches, as large as the map.
    ranks : sequence of int
        The sites' numbers.
    x_in, y_in : numpy.ndarray
        Where they lie, from the map's lower left corner. [inch]
    groups : sequence of int, optional
        The group of each; a line joins the boxes of a group.
    roles : sequence of (int, int), optional
        Of each, its box's number in the group, from 0, and how many boxes a group has.
    crosses : tuple of numpy.ndarray, optional
        Where to mark what is no site any more. [inch]
    facings_deg : numpy.ndarray, optional
        (n,) for a site on a wall, the way that it looks, clockwise from the map's top; NaN for
        others. [degrees]
    """
    width_in, height_in = axes.get_xlim()[1], axes.get_ylim()[1]
    gone_x, gone_y = crosses or (np.empty(0), np.empty(0))
    draw_crosses(axes, gone_x, gone_y)
    # Numbers keep off the crosses as off the sites.
    all_x, all_y = np.concatenate((x_in, gone_x)), np.concatenate((y_in, gone_y))
    radius_in = DISC_RADIUS_IN if max(ranks, default=0) < 100 else _WIDE_DISC_RADIUS_IN
    discs = place_discs(all_x, all_y, width_in, height_in, radius_in)[: len(x_in)]
    group = np.array([] if groups is None else groups)
    for number in np.unique(group):
        boxes = group == number
        for colour, width in ((colours.PAPER, 4.0), (colours.INK, 2.0)):
            axes.plot(x_in[boxes], y_in[boxes], color=colour, linewidth=width, zorder=6)
    for x, y, facing in zip(x_in, y_in, [] if facings_deg is None else facings_deg, strict=False):
        if np.isfinite(facing):
            draw_tick(axes, x, y, facing)
    signs = roles or [(0, 1)] * len(ranks)
    for rank, sign, x, y, (disc_x, disc_y) in zip(ranks, signs, x_in, y_in, discs, strict=True):
        for colour, width in ((colours.PAPER, 2.4), (colours.INK, 0.9)):
            axes.plot([x, disc_x], [y, disc_y], color=colour, linewidth=width, zorder=6)
        draw_ring(axes, x, y, *sign)
        axes.add_patch(
            Circle((disc_x, disc_y), radius_in, fc=colours.PAPER, ec=colours.INK, lw=1, zorder=8)
        )
        axes.text(
            disc_x, disc_y - 0.004, str(rank), size=7.5, weight="bold", ha="center",
            va="center_baseline", zorder=9,
        )  # fmt: skip


def draw_ring(axes: Axes, x: float, y: float, number: int = 0, of: int = 1) -> None:
    """Draw the ring of a site; a group's first box has a dot in it, each other one more ink.

    Parameters
    ----------
    axes : matplotlib.axes.Axes
        Its unit is the inch.
    x, y : float
        Where. [inch]
    number, of : int
        The box's number in its group, from 0, and how many boxes a group has.
    """
    ring = Circle((x, y), _RING_RADIUS_IN, fc=colours.PAPER, ec=colours.INK, lw=0.9, zorder=7)
    axes.add_patch(ring)
    if number == 0:
        axes.add_patch(Circle((x, y), 0.014, fc=colours.INK, ec="none", zorder=7))
    else:
        turn = 360 * number / of
        inked = Wedge((x, y), _RING_RADIUS_IN, 90 - turn, 90, fc=colours.INK, ec="none", zorder=7)
        axes.add_patch(inked)


def draw_tick(axes: Axes, x: float, y: float, facing_deg: float) -> None:
    """Draw a tick from a site on a wall the way that the wall looks. [inch, degrees]."""
    turn = np.radians(facing_deg)
    ends = ([x, x + _TICK_IN * np.sin(turn)], [y, y + _TICK_IN * np.cos(turn)])
    for colour, width, over in ((colours.PAPER, 4.4, 0.0), (colours.INK, 2.4, 0.1)):
        axes.plot(*ends, color=colour, linewidth=width, zorder=6.5 + over, solid_capstyle="butt")


def draw_crosses(axes: Axes, x_in: Float64, y_in: Float64) -> None:
    """Draw a cross at each place where a site was. [inch]."""
    size = _RING_RADIUS_IN
    for x, y in zip(x_in, y_in, strict=True):
        for colour, width in ((colours.PAPER, 3.2), (colours.INK, 1.4)):
            for turn in (1, -1):
                ends = ([x - size, x + size], [y - turn * size, y + turn * size])
                axes.plot(*ends, color=colour, linewidth=width, zorder=5)


def place_discs(
    x_in: Float64,
    y_in: Float64,
    width_in: float,
    height_in: float,
    radius_in: float = DISC_RADIUS_IN,
) -> Float64:
    """Return where to put each site's number: near it, off the others, inside the map.

    Greedy in the order given; where nothing is free, the place with the most room is taken.

    Parameters
    ----------
    x_in, y_in : numpy.ndarray
        (n,) the sites. [inch]
    width_in, height_in : float
        Size of the map. [inch]
    radius_in : float
        Of a disc. [inch]

    Returns
    -------
    numpy.ndarray
        (n, 2) centres of the discs. [inch]
    """
    sites = np.column_stack([x_in, y_in])
    angles = np.radians(_ANGLES_DEG)
    ring = np.column_stack([np.cos(angles), np.sin(angles)])
    offsets = np.concatenate([distance * ring for distance in _DISTANCES_IN])
    placed = np.empty((0, 2))
    for number, site in enumerate(sites):
        spots = site + offsets
        starts = np.broadcast_to(site, spots.shape)
        others = np.delete(sites, number, axis=0)
        edges = np.minimum(spots, [width_in, height_in] - spots).min(axis=1)
        rooms = (
            edges - radius_in,
            _nearest(_to_segments(placed, spots, spots)) - 2 * radius_in,
            _nearest(_to_segments(others, spots, spots)) - radius_in - _RING_RADIUS_IN,
            # A leader keeps off other sites and discs, and a disc off the leaders drawn so far.
            _nearest(_to_segments(others, starts, spots)) - _RING_RADIUS_IN,
            _nearest(_to_segments(placed, starts, spots)) - radius_in,
            _nearest(_to_segments(spots, sites[:number], placed).T) - radius_in,
        )
        room = np.min(rooms, axis=0)
        free = np.flatnonzero(room >= _GAP_IN)
        best = free[0] if free.size else int(room.argmax())
        placed = np.vstack([placed, spots[best]])
    return placed


def _to_segments(points: Float64, starts: Float64, ends: Float64) -> Float64:
    """Return (segments, points) distances between points and segments of a line."""
    along = (ends - starts)[:, None, :]
    to_point = points[None, :, :] - starts[:, None, :]
    length_squared = (along**2).sum(axis=2)
    part = (to_point * along).sum(axis=2) / np.where(length_squared > 0, length_squared, 1)
    gap = to_point - np.clip(part, 0, 1)[..., None] * along
    distance: Float64 = np.hypot(gap[..., 0], gap[..., 1])
    return distance


def _nearest(distances: Float64) -> Float64:
    """Return the least distance in each row, infinite where there is nothing to keep off."""
    nearest: Float64 = distances.min(axis=1, initial=np.inf)
    return nearest
