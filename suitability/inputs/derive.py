"""Streams from the elevation, for land that no stream file tells of."""

from __future__ import annotations

import math
from pathlib import Path

import shapely

from suitability.config import RunSettings
from suitability.errors import InputError
from suitability.flow import Network, flow_engine, stream_network
from suitability.grid import Bounds, Grid, Window
from suitability.inputs.common import read_header
from suitability.inputs.places import Locate, project_bounds
from suitability.inputs.raster import read_heights
from suitability.inputs.report import InputReport

# Finer cells show ditches, bridges and noise rather than valleys, and cost more. [m]
FINEST_M = 10.0
# So many cells are worked within the least memory that a run may have; no more are read, whatever
# the memory, so that the streams do not depend on it.
MOST_CELLS = 8_000_000
# A stream that comes from further away has gathered enough land on its way to be seen as one. [m]
AROUND_M = 5_000.0


def derive_streams(
    settings: RunSettings, grid: Grid, locate: Locate
) -> tuple[Network, InputReport]:
    """Derive the streams of a run from its elevation, on its land and around it.

    Parameters
    ----------
    settings : RunSettings
        The run.
    grid : Grid
        Its grid.
    locate : callable
        Gives the line of the run file for a key, for errors.

    Raises
    ------
    InputError
        If the elevation cannot be used, the engine is not installed, or no stream is found.
    """
    asked, source = settings.water.from_elevation, settings.inputs.elevation
    try:
        engine = flow_engine(asked.engine)
    except InputError as exc:
        raise InputError(exc.what, where=locate(str(exc.where)), fix=exc.fix) from exc
    place = locate("inputs.elevation")
    dem = read_header(source, place)
    wide = land_around(grid, project_bounds(dem.bounds, dem.crs, grid.crs))
    ground, _ = read_heights(source, wide, place=place)
    network = stream_network(ground, wide, asked.area, engine)
    if not network.lines.intersects(shapely.box(*grid.bounds)).any():
        gathered = _area(asked.area)
        msg = f"no streams were given, and nowhere on this land do {gathered} drain together"
        fix = "give `inputs.streams`, or let streams begin with a smaller area"
        raise InputError(msg, where=locate("water.from_elevation.area"), fix=fix)
    return network, _told(network, wide, source.path, asked.area)


def land_around(grid: Grid, known: Bounds) -> Grid:
    """Return the grid that streams are derived on: wider than the run's, and coarser.

    Parameters
    ----------
    grid : Grid
        The run's.
    known : tuple of float
        What the elevation covers, in the grid's CRS: west, south, east, north. [m]
    """
    cell_m, reach = grid.cell_m, math.ceil(AROUND_M / grid.cell_m)
    west, south, east, north = known
    first_row = max(-reach, math.floor((grid.north - north) / cell_m))
    first_col = max(-reach, math.floor((west - grid.west) / cell_m))
    last_row = min(grid.rows + reach, math.ceil((grid.north - south) / cell_m))
    last_col = min(grid.cols + reach, math.ceil((east - grid.west) / cell_m))
    window = Window(first_row, first_col, last_row - first_row, last_col - first_col)
    step = max(
        1,
        math.ceil(FINEST_M / cell_m - 1e-6),
        math.ceil(math.sqrt(window.cells / MOST_CELLS)),
    )
    return grid.window(window).coarser(step)


def _told(network: Network, grid: Grid, elevation: str, area_m2: float) -> InputReport:
    lines = network.lines
    order = int(lines["strahler_order"].max())
    size = f"{grid.cols * grid.cell_m / 1000:.1f} × {grid.rows * grid.cell_m / 1000:.1f} km"
    length = f"{lines.length.sum() / 1000:.1f} km"
    warnings = [
        "no streams were given: they are derived from the elevation, and show where water would "
        "gather, not that there is any, nor when; give mapped streams if there are some"
    ]
    if network.inlets:
        places = f"{network.inlets} place{'s' if network.inlets > 1 else ''}"
        warnings.append(
            f"valleys may lead in from beyond the elevation data at {places}: the water that comes "
            "down them is not known, and a stream there may be missing or begin too late"
        )
    return InputReport(
        "streams",
        f"derived from {Path(elevation).name}",
        facts=(
            f"{len(lines):,} stretches, {length}, Strahler order up to {order}",
            f"from {size} of land in cells of {grid.cell_m:g} m",
        ),
        done=(
            f"depressions filled: {network.filled_share:.1%} of the cells raised, by up to "
            f"{network.deepest_m:.1f} m",
        ),
        assumed=(
            f"streams begin where {_area(area_m2)} drain together (common practice; it may be a "
            "hectare where much rain falls on tight soils, and square kilometres where it is dry)",
            "how lasting their water is, elevation does not tell: all of it counts",
        ),
        warnings=tuple(warnings),
    )


def _area(area_m2: float) -> str:
    return f"{area_m2 / 10_000:g} ha"
