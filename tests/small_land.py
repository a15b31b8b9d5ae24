"""A small piece of invented land as files, for runs that take a second."""

import geopandas as gpd
import numpy as np
import rasterio
from affine import Affine
from shapely import LineString, box

WEST, NORTH, CELL_M, ROWS, COLS = 500_000.0, 4_450_000.0, 5.0, 60, 80
CRS = "EPSG:32616"
WOOD, PASTURE = 41, 81

RUN = """\
title: Small land
inputs:
  elevation: {path: dem.tif, unit: m}
  land_cover: cover.tif
  streams: streams.gpkg
season: {start: 05-01, end: 06-30, step: 60 min, every_days: 30}
sites: {count: 5, spacing: 40 m}
"""


def corner(west=WEST, north=NORTH, cell=CELL_M):
    """Return the transform of a north-up raster from its outer corner."""
    return Affine(cell, 0.0, west, 0.0, -cell, north)


def heights():
    """Return rolling ground. [m]."""
    rows, cols = np.indices((ROWS, COLS))
    return (300 + 4 * np.sin(rows / 9) + 3 * np.cos(cols / 13)).astype(np.float32)


def cover():
    """Return pasture with a wood in its middle, as NLCD codes."""
    codes = np.full((ROWS, COLS), PASTURE, np.uint8)
    codes[20:40, 30:50] = WOOD
    return codes


def write_raster(path, values, *, crs=CRS, transform=None, **more):
    """Write a GeoTIFF, north-up from the land's corner unless a transform is given."""
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        height=values.shape[0],
        width=values.shape[1],
        count=1,
        dtype=values.dtype,
        crs=crs,
        transform=transform or corner(),
        **more,
    ) as target:
        target.write(values, 1)


def write_lines(path, lines, *, crs=CRS, **columns):
    """Write lines, each a list of x, y."""
    shapes = [LineString(line) for line in lines]
    gpd.GeoDataFrame(columns, geometry=shapes, crs=crs).to_file(path)


def write_land(folder, text=RUN):
    """Write the land's files and its run file into a folder; return the run file."""
    folder.mkdir(parents=True, exist_ok=True)
    write_raster(folder / "dem.tif", heights())
    write_raster(folder / "cover.tif", cover())
    south = NORTH - ROWS * CELL_M
    brook = [(WEST + 60, NORTH), (WEST + 90, NORTH - 150), (WEST + 70, south)]
    write_lines(folder / "streams.gpkg", [brook], kind=["brook"])
    return write_config(folder, text)


def write_config(folder, text):
    """Write a run file; return its path."""
    path = folder / "run.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def write_parcel(path, west, south, east, north, *, crs=CRS):
    """Write a boundary, a rectangle."""
    gpd.GeoDataFrame(geometry=[box(west, south, east, north)], crs=crs).to_file(path)
