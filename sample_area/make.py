"""Make the demo data of Cinder Fen, a nature preserve that does not exist.

The land, its water, woods, buildings and boundary are invented and drawn from fixed random seeds;
only the map position (40.2° N, 84.3° W, EPSG:32616) is real. The same versions of the libraries
write the same bytes.

    python sample_area/make.py [--to DIR]
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

import cover
import geopandas as gpd
import numpy as np
import places
import pyogrio
import rasterio
import register
import terrain
import weather
import woods
from frame import (
    COLUMNS,
    EPSG,
    HEIGHT_M,
    ROWS,
    WIDTH_M,
    WORLD_TRANSFORM,
    Field,
    mask_of,
    surveyed,
    to_world,
)
from shapely import clip_by_rect
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

NODATA_M = -9999.0
NODATA_CLASS = 0
# Heights are kept in steps of a power of two: their last bits are zero, and the files stay small.
ELEVATION_STEP_M = 1 / 256
CANOPY_STEP_M = 1 / 16
WRITTEN_AT = "2025-01-01T00:00:00.000Z"  # GeoPackages carry a date; a fixed one keeps their bytes

Rows = list[dict[str, Any]]


def make(folder: Path) -> None:
    """Make every file of the sample area in a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    land = terrain.build(mask_of(places.askew(places.ROADS)))
    classes = cover.paint(land)
    _write_heights(folder / "elevation.tif", land.elevation_m, ELEVATION_STEP_M)
    _write_classes(folder / "land_cover.tif", classes)
    _write_heights(folder / "canopy_height.tif", woods.canopy(classes, land), CANOPY_STEP_M)
    weather.write_weather(folder / "weather.epw")
    for name, rows in vectors(land).items():
        _write_vectors(folder / f"{name}.gpkg", rows)
    register.write_register(folder, WRITTEN_AT)


def vectors(land: terrain.Terrain) -> dict[str, Rows]:
    """Rows of each vector file, in map coordinates."""
    stream_rows = [
        {"name": s.name, "permanence": s.permanence, "geometry": _course(s)} for s in land.streams
    ]
    kept = {"Cinder Pond": "perennial", "Stock Pond": "intermittent"}
    pond_rows = [
        {"name": name, "permanence": kept[name], "geometry": to_world(shore)}
        for name, shore in land.ponds.items()
    ]
    building_rows = [
        {"kind": b.kind, "height_m": b.height_m, "geometry": to_world(b.shape)}
        for b in places.buildings()
    ]
    keep_out_rows = [
        {"reason": reason, "geometry": to_world(surveyed(area))}
        for reason, area in places.KEEP_OUTS.items()
    ]
    box_rows = [
        {"label": b.label, "year": b.year, "occupied": b.occupied, "geometry": to_world(point)}
        for b, point in zip(places.EXISTING_BOXES, places.box_points(), strict=True)
    ]
    boundary_row = {"name": "Cinder Fen", "geometry": to_world(surveyed(places.BOUNDARY))}
    return {
        "streams": stream_rows,
        "ponds": pond_rows,
        "buildings": building_rows,
        "boundary": [boundary_row],
        "keep_outs": keep_out_rows,
        "existing_boxes": box_rows,
    }


def _course(stream: terrain.Stream) -> BaseGeometry:
    """Stream within the raster."""
    return to_world(clip_by_rect(LineString(stream.line.xy), 0, 0, WIDTH_M, HEIGHT_M))


def _write_heights(path: Path, heights_m: Field, step_m: float) -> None:
    stepped = (np.round(heights_m / step_m) * step_m).astype(np.float32)
    _write_raster(path, stepped, nodata=NODATA_M, predictor=3, unit="metre")


def _write_classes(path: Path, classes: cover.Cover) -> None:
    _write_raster(path, classes, nodata=NODATA_CLASS, predictor=1, unit=None)


def _write_raster(
    path: Path, values: Any, *, nodata: float, predictor: int, unit: str | None
) -> None:
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        height=ROWS,
        width=COLUMNS,
        count=1,
        dtype=values.dtype,
        crs=f"EPSG:{EPSG}",
        transform=WORLD_TRANSFORM,
        nodata=nodata,
        tiled=True,
        blockxsize=256,
        blockysize=256,
        compress="deflate",
        zlevel=9,
        predictor=predictor,
    ) as raster:
        raster.write(values, 1)
        if unit is not None:
            raster.units = (unit,)


def _write_vectors(path: Path, rows: Rows) -> None:
    path.unlink(missing_ok=True)  # writing onto an old file would add a layer to it
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": WRITTEN_AT})
    frame = gpd.GeoDataFrame(rows, geometry="geometry", crs=f"EPSG:{EPSG}")
    frame.to_file(path, layer=path.stem, driver="GPKG", engine="pyogrio")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="Make the demo data of the invented Cinder Fen.")
    parser.add_argument("--to", type=Path, default=Path(__file__).parent, help="folder to fill")
    make(parser.parse_args().to)
