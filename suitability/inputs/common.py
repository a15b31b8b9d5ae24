"""The common grid of a run: from the run file where it says, else from the elevation raster."""

from __future__ import annotations

import math
from dataclasses import dataclass

import geopandas
import numpy as np
import pyproj

from suitability.config import RunSettings
from suitability.config.sources import RasterSource
from suitability.errors import GridError, InputError
from suitability.grid import WGS84, Bounds, Grid, transformer, utm_crs
from suitability.inputs.opening import bounds_of, cell_size, crs_of, open_raster
from suitability.inputs.places import (
    Locate,
    crs_label,
    grow,
    intersect,
    lonlat_text,
    project_bounds,
    share_outside,
)
from suitability.inputs.vector import read_layer

MOST_CELLS = 400_000_000  # 1.6 GB for each float32 layer
SQUARE = 1e-6  # by how much a cell's edges may differ, as a share


@dataclass(frozen=True)
class Header:
    """What the choice of a grid needs to know of a raster.

    Parameters
    ----------
    crs : pyproj.CRS
        Its horizontal CRS.
    bounds : tuple of float
        West, south, east, north in its CRS.
    cell : tuple of float
        Edges of a cell in its CRS.
    is_upright : bool
        Rows and columns run along the axes of its CRS.
    """

    crs: pyproj.CRS
    bounds: Bounds
    cell: tuple[float, float]
    is_upright: bool

    @property
    def is_square(self) -> bool:
        """Tell whether its cells can be those of a grid."""
        return self.is_upright and math.isclose(*self.cell, rel_tol=SQUARE)


def choose_grid(settings: RunSettings, locate: Locate) -> tuple[Grid, tuple[str, ...]]:
    """Choose the CRS, the cell and the extent of a run.

    The elevation raster's own cells are kept where they can be, so that its heights are not
    resampled. The extent is that of the boundary and its margin, or else the land that
    elevation and land cover share.

    Parameters
    ----------
    settings : RunSettings
        The run.
    locate : callable
        Gives the line of the run file for a key, for errors.

    Returns
    -------
    grid : Grid
        The grid.
    notes : tuple of str
        How each part was chosen.

    Raises
    ------
    InputError
        If the inputs lie apart, or the grid would be too large.
    GridError
        If the stated CRS cannot be used, or no CRS fits.
    """
    inputs = settings.inputs
    dem = read_header(inputs.elevation, locate("inputs.elevation"))
    boundary = _boundary(settings, locate)
    area = _area(settings, dem, boundary, locate)
    # Not halfway between degrees: across the antimeridian that is the other side of the Earth.
    middle = (area[0] + area[2]) / 2, (area[1] + area[3]) / 2
    centre = transformer(dem.crs, WGS84).transform(*middle)
    try:
        crs, crs_note = _choose_crs(settings.grid.crs, dem, centre)
        cell_m, cell_note = _choose_cell(settings.grid.cell, dem, crs, centre)
        bounds, extent_note = _extent(settings, dem, crs, area, boundary)
        _require_modest(bounds, cell_m, locate("grid.cell"))
        grid, lines_note = _lay(dem, crs, bounds, cell_m)
    except GridError as exc:
        where = locate(exc.where) if exc.where else locate("grid")
        raise GridError(exc.what, where=where, fix=exc.fix) from exc
    size = f"{grid.rows:,} rows × {grid.cols:,} columns; {lines_note}"
    return grid, (crs_note, cell_note, size, extent_note)


def read_header(source: RasterSource, place: str) -> Header:
    """Return what the choice of a grid needs to know of a raster."""
    with open_raster(source.path, band=source.band, place=place) as dataset:
        turn = dataset.transform
        upright = turn.b == 0 and turn.d == 0
        return Header(crs_of(dataset), bounds_of(dataset), cell_size(dataset), upright)


def _boundary(settings: RunSettings, locate: Locate) -> geopandas.GeoDataFrame | None:
    source = settings.inputs.boundary
    if source is None:
        return None
    place = locate("inputs.boundary")
    features, report = read_layer(
        source, WGS84, kinds=frozenset({"polygon"}), role="boundary", place=place
    )
    if features.empty:
        msg = "; ".join(report.warnings)
        raise InputError(msg, where=place, fix="correct the file, or leave `boundary` out")
    return features


def _area(
    settings: RunSettings, dem: Header, boundary: geopandas.GeoDataFrame | None, locate: Locate
) -> Bounds:
    """Return the land that is wanted, in the elevation raster's CRS, without the margin."""
    if boundary is not None:
        name, key = "boundary", "inputs.boundary"
        crs, other = WGS84, _bounds(boundary)
        shared = intersect(_bounds(boundary.to_crs(dem.crs)), dem.bounds)
    else:
        name, key = "land-cover raster", "inputs.land_cover"
        cover = read_header(settings.inputs.land_cover, locate(key))
        crs, other = cover.crs, cover.bounds
        # In the land cover's CRS: a raster of the whole Earth has no extent in a UTM zone.
        there = intersect(project_bounds(dem.bounds, dem.crs, crs), other)
        shared = there and intersect(project_bounds(there, crs, dem.crs), dem.bounds)
    if shared is None:
        msg = (
            f"the {name} covers {lonlat_text(other, crs)}, the elevation raster "
            f"{lonlat_text(dem.bounds, dem.crs)}: they share no land"
        )
        fix = "give files of the same land, or correct the CRS of the one that lies elsewhere"
        raise InputError(msg, where=locate(key), fix=fix)
    return shared


def _choose_crs(
    stated: str | None, dem: Header, centre: tuple[float, float]
) -> tuple[pyproj.CRS, str]:
    if stated is not None:
        try:
            crs = pyproj.CRS.from_user_input(stated)
        except pyproj.exceptions.CRSError as exc:
            msg = f"{stated!r} is no coordinate reference system that is known"
            fix = "write an authority code such as EPSG:32616"
            raise GridError(msg, where="grid.crs", fix=fix) from exc
        return crs, f"{crs_label(crs)}, stated in the run file"
    reason = "is geographic"
    if not dem.crs.is_geographic:
        try:
            x, y = transformer(WGS84, dem.crs).transform(*centre)
            Grid(dem.crs, x, y, 1.0, 1, 1)
        except GridError as exc:
            reason = f"cannot be the grid's: {exc.what}"
        else:
            return dem.crs, f"{crs_label(dem.crs)}, the elevation raster's own"
    utm = utm_crs(*centre)
    return utm, f"{crs_label(utm)}, the UTM zone; the elevation raster's own {reason}"


def _choose_cell(
    stated_m: float | None, dem: Header, crs: pyproj.CRS, centre: tuple[float, float]
) -> tuple[float, str]:
    if stated_m is not None:
        return stated_m, f"cells of {stated_m:g} m, stated in the run file"
    if dem.is_square and dem.crs.equals(crs, ignore_axis_order=True):
        return dem.cell[0], f"cells of {dem.cell[0]:g} m, the elevation raster's own"
    there = transformer(WGS84, dem.crs).transform(*centre)
    xs = np.array([there[0], there[0] + dem.cell[0], there[0]])
    ys = np.array([there[1], there[1], there[1] + dem.cell[1]])
    x, y = transformer(dem.crs, crs).transform(xs, ys)
    area_m2 = abs((x[1] - x[0]) * (y[2] - y[0]) - (x[2] - x[0]) * (y[1] - y[0]))
    edge_m = math.sqrt(area_m2)
    cell_m = 0.5 if edge_m < 0.75 else float(max(1, round(edge_m)))
    return cell_m, f"cells of {cell_m:g} m; the elevation raster's hold {area_m2:.4g} m² each"


def _extent(
    settings: RunSettings,
    dem: Header,
    crs: pyproj.CRS,
    area: Bounds,
    boundary: geopandas.GeoDataFrame | None,
) -> tuple[Bounds, str]:
    known = project_bounds(dem.bounds, dem.crs, crs)
    if boundary is None:
        shared = intersect(project_bounds(area, dem.crs, crs), known) or known
        return shared, "extent: the land that elevation and land cover share"
    margin_m = settings.grid.margin
    land = _bounds(boundary.to_crs(crs))
    wanted = grow(land, margin_m)
    extent = intersect(wanted, known) or known
    note = f"extent: the boundary and {margin_m:g} m around it"
    if share_outside(land, known) > 0:
        note += (
            f"; {share_outside(land, known):.0%} of the boundary lies beyond the elevation raster"
        )
    elif extent != wanted:
        note += ", cut where the elevation raster ends"
    return extent, note


def _lay(dem: Header, crs: pyproj.CRS, bounds: Bounds, cell_m: float) -> tuple[Grid, str]:
    """Return the grid over the bounds: on the raster's own lines if it can be."""
    own = dem.is_square and math.isclose(dem.cell[0], cell_m, rel_tol=1e-9)
    if not (own and dem.crs.equals(crs, ignore_axis_order=True)):
        return Grid.covering(crs, bounds, cell_m), "lines on whole multiples of the cell"
    cell_m = dem.cell[0]
    west, _, _, north = dem.bounds
    first_col = math.floor((bounds[0] - west) / cell_m + SQUARE)
    last_col = math.ceil((bounds[2] - west) / cell_m - SQUARE)
    first_row = math.floor((north - bounds[3]) / cell_m + SQUARE)
    last_row = math.ceil((north - bounds[1]) / cell_m - SQUARE)
    grid = Grid(
        crs,
        west + first_col * cell_m,
        north - first_row * cell_m,
        cell_m,
        last_row - first_row,
        last_col - first_col,
    )
    return grid, "lines on the elevation raster's own"


def _require_modest(bounds: Bounds, cell_m: float, place: str) -> None:
    west, south, east, north = bounds
    cells = (east - west) / cell_m * ((north - south) / cell_m)
    if cells > MOST_CELLS:
        coarser_m = math.ceil(cell_m * math.sqrt(cells / MOST_CELLS))
        msg = (
            f"the grid would have {cells / 1e6:,.0f} million cells of {cell_m:g} m; "
            f"{MOST_CELLS / 1e6:,.0f} million are the most"
        )
        fix = f"state a coarser cell, such as `grid: {{cell: {coarser_m} m}}`, or a boundary"
        raise InputError(msg, where=place, fix=fix)


def _bounds(features: geopandas.GeoDataFrame) -> Bounds:
    west, south, east, north = (float(edge) for edge in features.total_bounds)
    return west, south, east, north
