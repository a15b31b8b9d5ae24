"""The horizon that each chosen site sees: what heat and the sun on a box's faces depend on."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from suitability.caveats import CoarseLook, land_of
from suitability.grid import Float32, Float64, Grid, Window
from suitability.inputs.gather import gather_rasters
from suitability.layers import Land
from suitability.plan import Plan
from suitability.sun import horizon

# Land of up to so many cells is seen whole; of wider land a site sees its surroundings, and beyond
# them the whole as the coarse look has it.
WHOLE_CELLS = 4_000_000
AROUND_M = 1000.0
AROUND_CELLS = 1000
READ_SIDE = 512  # cells along the windows in which sites share their surroundings
READ_CELLS = 12_000_000  # of windows that are read at once
THREADS = 2  # that look around

Places = NDArray[np.intp]


def site_horizons(
    plan: Plan, look: CoarseLook, x_m: Float64, y_m: Float64, *, buildings: bool = True
) -> Float32:
    """Return the altitude of the horizon around sites, at mount height.

    Parameters
    ----------
    plan : Plan
        Of the run.
    look : CoarseLook
        The whole land, seen coarsely.
    x_m, y_m : numpy.ndarray
        (n,) the sites, in the grid's CRS. [m]
    buildings : bool
        Whether buildings near the sites count; cells show those right beside a wall too coarsely.

    Returns
    -------
    numpy.ndarray
        (n, 360) at every whole degree clockwise from grid north; -90 where no known surface lies
        that way. [degrees]
    """
    found = np.full((x_m.size, 360), -90.0, np.float32)
    rows, cols = plan.grid.position(x_m, y_m)
    everyone = np.arange(x_m.size)
    if plan.grid.rows * plan.grid.cols <= WHOLE_CELLS:
        whole = plan.grid.whole
        land = _land_in(plan, whole, buildings)
        _look_around(land, whole, rows, cols, everyone, found, buildings)
        return found
    around = min(int(np.ceil(AROUND_M / plan.grid.cell_m)), AROUND_CELLS)

    def look_from(land: Land, near: Window, those: Places) -> None:
        heights = _look_around(land, near, rows, cols, those, found, buildings)
        far = _coarse_beyond(plan, look, near)
        for site, height_m in zip(those, heights, strict=True):
            beyond = _horizon_of(look.land.grid, far, x_m[site], y_m[site], height_m)
            found[site] = np.maximum(found[site], beyond)

    by_window = _by_window(rows, cols)
    nears = [window.grown(around).clipped(plan.grid.shape) for window in by_window]
    # Other threads look around while the next land is read; reading itself is done by one, as it
    # sets filters of warnings, and those are all threads' alike.
    with ThreadPoolExecutor(THREADS) as looking:
        looked: list[Future[None]] = []
        for wide, members in read_together(nears, READ_CELLS):
            land = _land_in(plan, wide, buildings)
            for before in looked:  # so that no more than two are at hand
                before.result()
            looked = [
                looking.submit(look_from, _part_of(land, near, wide), near, by_window[window])
                for window, near in zip(by_window, nears, strict=True)
                if near in members
            ]
        for last in looked:
            last.result()
    return found


def read_together(windows: Sequence[Window], most_cells: int) -> list[tuple[Window, set[Window]]]:
    """Return which windows to read as one, with the window around them: where that is less to read.

    Parameters
    ----------
    windows : sequence of Window
        They may overlap.
    most_cells : int
        That are read at once, if one window alone is not more.
    """
    groups: list[tuple[Window, set[Window]]] = []
    for window in windows:
        for number, (wide, members) in enumerate(groups):
            wider = wide.around(window)
            if wider.cells <= min(wide.cells + window.cells, most_cells):
                groups[number] = wider, members | {window}
                break
        else:
            groups.append((window, {window}))
    return groups


def _by_window(rows: Float64, cols: Float64) -> dict[Window, Places]:
    """Return the sites by the window of the grid that they lie in."""
    sites: defaultdict[Window, list[int]] = defaultdict(list)
    for site, (row, col) in enumerate(zip(rows, cols, strict=True)):
        first_row, first_col = (int(at) // READ_SIDE * READ_SIDE for at in (row, col))
        sites[Window(first_row, first_col, READ_SIDE, READ_SIDE)].append(site)
    return {window: np.array(those) for window, those in sites.items()}


def _land_in(plan: Plan, window: Window, buildings: bool) -> Land:
    """Return the land of a window, read anew; without its buildings if they do not count."""
    settings, grid = plan.run.settings, plan.grid.window(window)
    part = window != plan.grid.whole
    rasters = gather_rasters(settings, grid, plan.run.locate, plan.features(), part=part)
    if not buildings:
        rasters = replace(rasters, buildings=np.zeros_like(rasters.buildings))
    return land_of(settings, grid, rasters)


def _part_of(land: Land, window: Window, wide: Window) -> Land:
    """Return the land of a window out of a wider one's."""
    there = window.within(wide)
    moved = Window(window.row - wide.row, window.col - wide.col, window.rows, window.cols)
    return replace(
        land,
        grid=land.grid.window(moved),
        ground=land.ground[there],
        canopy=land.canopy[there],
        buildings=land.buildings[there],
    )


def _look_around(
    land: Land,
    window: Window,
    rows: Float64,
    cols: Float64,
    those: Places,
    found: Float32,
    buildings: bool,
) -> Float64:
    """Fill in what some sites see of a window; return the heights of their boxes. [m]."""
    surface = land.surface
    receiver = land.receiver if buildings else land.ground + np.float32(land.mount_height_m)
    heights = np.empty(those.size)
    for place, site in enumerate(those):
        row, col = rows[site] - window.row, cols[site] - window.col
        heights[place] = receiver[int(row + 0.5), int(col + 0.5)]
        found[site] = horizon(surface, land.grid.cell_m, row, col, heights[place])
    return heights


def _coarse_beyond(plan: Plan, look: CoarseLook, near: Window) -> Float32:
    """Return the coarse land without what lies within a window."""
    step = look.land.grid.cell_m / plan.grid.cell_m
    first = [int(np.ceil(start / step)) for start in (near.row, near.col)]
    last = [int(end / step) for end in (near.row + near.rows, near.col + near.cols)]
    surface = look.land.surface.copy()
    surface[first[0] : last[0], first[1] : last[1]] = np.nan
    return surface


def _horizon_of(grid: Grid, surface: Float32, x_m: float, y_m: float, height_m: float) -> Float64:
    row, col = grid.position(x_m, y_m)
    within = np.clip(row, 0, grid.rows - 1), np.clip(col, 0, grid.cols - 1)
    return horizon(surface, grid.cell_m, float(within[0]), float(within[1]), height_m)
