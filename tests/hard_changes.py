"""Odd forms of inputs: each changes the plain land's files before its run file is written."""

from __future__ import annotations

import shutil
import sqlite3
import warnings
from collections.abc import Callable
from contextlib import closing
from typing import Any

import geopandas as gpd
import numpy as np
import pyproj
import rasterio
import shapely
from affine import Affine
from hard_land import CELL_M, COLS, HIGH_M, PASTURE, ROWS, WIDE_M, WOOD, Land
from rasterio.enums import ColorInterp


def in_crs(crs: Any, cell: float | tuple[float, float] = CELL_M) -> Callable[[Land], None]:
    """Return a change to another CRS, streams as well."""

    def change(land: Land) -> None:
        land.both(crs, cell=cell)
        flat = pyproj.CRS.from_user_input(crs)
        while flat.is_compound or flat.is_bound:
            flat = flat.sub_crs_list[0] if flat.is_compound else flat.source_crs
        land.streams(crs=flat.to_2d())

    return change


def moved_on(land: Land) -> None:
    """Write all in NAD27, and ask for a grid in NAD83."""
    in_crs("EPSG:26716")(land)
    land.extra = "grid: {crs: EPSG:26916}\n"


def dem(**how: Any) -> Callable[[Land], None]:
    """Return a change to the elevation."""
    return lambda land: void(land.raster("dem", **how))


def cover(**how: Any) -> Callable[[Land], None]:
    """Return a change to the land cover."""
    return lambda land: void(land.raster("cover", **how))


def lines(shapes: Callable[[Land], list[Any]], **how: Any) -> Callable[[Land], None]:
    """Return a change to the streams."""
    return lambda land: void(land.streams(shapes(land), **how))


def void(_: object) -> None:
    """Return nothing."""


def holed(value: float, rows: slice = slice(40, 50)) -> Callable[[np.ndarray], np.ndarray]:
    """Return a change that puts a value into some rows."""

    def change(values: np.ndarray) -> np.ndarray:
        values = values.copy()
        values[rows, 40:60] = value
        return values

    return change


def stored(dtype: str, scale: float = 1.0, offset: float = 0.0, hole: float | None = None,
           nodata: float | None = None) -> Callable[[Land], None]:  # fmt: skip
    """Return a change to stored numbers of another type."""

    def change(land: Land) -> None:
        def counted(values: np.ndarray) -> np.ndarray:
            whole = (values.astype(np.float64) - offset) / scale
            whole = np.round(whole) if np.dtype(dtype).kind in "iu" else whole
            if hole is not None:
                whole[40:50, 40:60] = hole
            return whole.astype(dtype)

        path = land.raster("dem", change=counted, nodata=nodata)
        with rasterio.open(path, "r+") as dataset:
            if (scale, offset) != (1.0, 0.0):
                dataset.scales, dataset.offsets = [scale], [offset]

    return change


def flipped(*, rows: bool = False, cols: bool = False) -> Callable[[Land], None]:
    """Return a change to rasters whose rows run north or columns west."""

    def change(land: Land) -> None:
        for kind in ("dem", "cover"):
            path = land.raster(kind)
            with rasterio.open(path) as source:
                values, turn, crs = source.read(1), source.transform, source.crs
            if rows:
                values, turn = values[::-1], turn @ Affine(1, 0, 0, 0, -1, values.shape[0])
            if cols:
                values, turn = values[:, ::-1], turn @ Affine(-1, 0, values.shape[1], 0, 1, 0)
            with rasterio.open(
                path, "w", driver="GTiff", height=values.shape[0], width=values.shape[1], count=1,
                dtype=values.dtype, crs=crs, transform=turn,
            ) as target:  # fmt: skip
                target.write(values, 1)

    return change


def masked(land: Land) -> None:
    """Write a mask inside the file."""
    path = land.raster("dem", change=holed(9.0))
    mask = np.full((ROWS, COLS), 255, np.uint8)
    mask[40:50, 40:60] = 0
    with rasterio.Env(GDAL_TIFF_INTERNAL_MASK=True), rasterio.open(path, "r+") as dataset:
        dataset.write_mask(mask)


def masked_beside(land: Land) -> None:
    """Write a mask in a file beside it."""
    path = land.raster("dem", change=holed(9.0))
    mask = np.full((ROWS, COLS), 255, np.uint8)
    mask[40:50, 40:60] = 0
    with rasterio.Env(GDAL_TIFF_INTERNAL_MASK=False), rasterio.open(path, "r+") as dataset:
        dataset.write_mask(mask)


def with_alpha(land: Land) -> None:
    """Write a second band that says where there is data."""
    turn, shape = land.lattice()
    alpha = np.full(shape, 255, np.float32)
    alpha[40:50, 40:60] = 0
    with rasterio.open(
        land.folder / "dem.tif", "w", driver="GTiff", height=shape[0], width=shape[1], count=2,
        dtype="float32", crs=land.place.crs, transform=turn,
    ) as target:  # fmt: skip
        target.write(holed(9.0)(land.values("dem")), 1)
        target.write(alpha, 2)
        target.colorinterp = (ColorInterp.gray, ColorInterp.alpha)


def sparse(land: Land) -> None:
    """Write an elevation of 40 thousand million cells that holds the land alone."""
    side, turn = 200_000, land.lattice()[0]
    first = 100_000
    corner = turn @ Affine.translation(-first, -first)
    with rasterio.open(
        land.folder / "dem.tif", "w", driver="GTiff", height=side, width=side, count=1,
        dtype="float32", crs=land.place.crs, transform=corner, nodata=-9999, tiled=True,
        sparse_ok=True, bigtiff="YES", blockxsize=4096, blockysize=4096, compress="deflate",
    ) as target:  # fmt: skip
        there = rasterio.windows.Window(first, first, COLS, ROWS)
        target.write(land.values("dem"), 1, window=there)


def one_cell(land: Land) -> None:
    """Write the whole land as one cell."""
    land.raster("dem", cell=(WIDE_M, HIGH_M))
    land.raster("cover", cell=(WIDE_M, HIGH_M))


def coloured(land: Land) -> None:
    """Give the land cover a table of colours and categories."""
    with rasterio.open(land.raster("cover"), "r+") as target:
        target.write_colormap(1, {WOOD: (40, 100, 30, 255), PASTURE: (220, 200, 60, 255)})


def pictured(land: Land) -> None:
    """Write the land cover as a picture in three colours."""
    codes = land.values("cover")
    turn, shape = land.lattice()
    with rasterio.open(
        land.folder / "cover.tif", "w", driver="GTiff", height=shape[0], width=shape[1], count=3,
        dtype="uint8", crs=land.place.crs, transform=turn, photometric="RGB",
    ) as target:  # fmt: skip
        target.write(np.stack([np.where(codes == WOOD, 40, 220), codes, codes]).astype(np.uint8))


def in_vrt(land: Land) -> None:
    """Name the elevation by a virtual raster."""
    from rasterio.shutil import copy

    copy(land.raster("dem"), land.folder / "dem.vrt", driver="VRT")
    land.named("elevation", "{path: dem.vrt, unit: m}")


def in_form(driver: str, suffix: str) -> Callable[[Land], None]:
    """Return a change to another format of raster."""

    def change(land: Land) -> None:
        from rasterio.shutil import copy

        copy(land.raster("dem"), land.folder / f"dem{suffix}", driver=driver)
        (land.folder / "dem.tif").unlink()
        land.named("elevation", f"{{path: dem{suffix}, unit: m}}")

    return change


def ascii_grid(*, with_prj: bool) -> Callable[[Land], None]:
    """Return a change to a text grid, with its .prj or without."""

    def change(land: Land) -> None:
        in_form("AAIGrid", ".asc")(land)
        for side in land.folder.glob("dem.*"):
            if side.suffix not in {".asc", ".prj"} or (side.suffix == ".prj" and not with_prj):
                side.unlink()

    return change


def zipped(land: Land) -> None:
    """Put the elevation into a zip file."""
    land.raster("dem")
    shutil.make_archive(str(land.folder / "dem"), "zip", land.folder, "dem.tif")
    (land.folder / "dem.tif").unlink()
    land.named("elevation", f"{{path: /vsizip/{land.folder / 'dem.zip'}/dem.tif, unit: m}}")


def canopy(value: Callable[[np.ndarray], np.ndarray], **how: Any) -> Callable[[Land], None]:
    """Return a change that gives canopy heights: 20 m in the wood, then changed."""

    def change(land: Land) -> None:
        def tall(codes: np.ndarray) -> np.ndarray:
            return value(np.where(codes == WOOD, 20, 0).astype(np.float32))

        land.raster("cover", name="canopy.tif", change=tall, **how)
        land.also("canopy_height: canopy.tif")

    return change


def surface(land: Land) -> None:
    """Give a surface of first returns for bare ground, with the canopy as well."""
    wood = land.values("cover") == WOOD
    stripes = np.zeros(wood.shape, bool)
    stripes[:, ::8] = True  # rows of trees, for more edges
    tall = np.where(wood | stripes, 20, 0).astype(np.float32)
    land.raster("dem", change=lambda ground: ground + tall)
    land.raster("cover", name="canopy.tif", change=lambda _: tall)
    land.also("canopy_height: canopy.tif")


def in_file(name: str, **how: Any) -> Callable[[Land], None]:
    """Return a change to another format of vectors."""

    def change(land: Land) -> None:
        (land.folder / "streams.gpkg").unlink()
        land.streams(name=name, **how)
        land.named("streams", name)

    return change


def rewritten(land: Land, wkb: bytes) -> None:
    """Put another shape in place of the brook, with SQL of the GeoPackage itself."""
    with closing(sqlite3.connect(land.streams(geometry_type="Unknown"))) as database, database:
        (head,) = database.execute("SELECT geom FROM streams").fetchone()
        for (trigger,) in database.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall():  # they want functions that plain SQLite has not
            database.execute(f'DROP TRIGGER "{trigger}"')
        plain = head[:3] + b"\x01" + head[4:8]  # its flags: no envelope follows
        database.execute("UPDATE streams SET geom = ?", (plain + wkb,))


def curved(land: Land) -> None:
    """Write the brook as a compound curve."""
    # Two points of a CircularString on the line make it an arc of no height: the line itself.
    (x0, y0), (x1, y1), (x2, y2) = land.place.brook().coords
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    arc = np.array([x0, y0, *middle, x1, y1], "<f8").tobytes()
    rest = np.array([x1, y1, x2, y2], "<f8").tobytes()
    part = b"\x01" + (8).to_bytes(4, "little") + (3).to_bytes(4, "little") + arc
    line = b"\x01" + (2).to_bytes(4, "little") + (2).to_bytes(4, "little") + rest
    wkb = b"\x01" + (9).to_bytes(4, "little") + (2).to_bytes(4, "little") + part + line
    rewritten(land, wkb)


def bow_tie(land: Land) -> list[Any]:
    """Return the brook, and a pond on it whose outline crosses itself."""
    x, y = land.place.west + 90, land.place.north - 150
    pond = shapely.Polygon([(x - 3, y - 3), (x + 3, y + 3), (x + 3, y - 3), (x - 3, y + 3)])
    return [land.place.brook(), pond]


def two_layers(land: Land) -> None:
    """Write the brook in one of two layers, and name none."""
    land.streams(layer="one")
    frame = gpd.GeoDataFrame(geometry=[land.place.brook()], crs=land.place.crs)
    frame.to_file(land.folder / "streams.gpkg", layer="two")


def with_boundary(shape: Callable[[Land], Any], crs: Any = None) -> Callable[[Land], None]:
    """Return a change that states a boundary."""

    def change(land: Land) -> None:
        frame = gpd.GeoDataFrame(geometry=[shape(land)], crs=land.place.crs)
        (frame.to_crs(crs) if crs else frame).to_file(land.folder / "boundary.gpkg")
        land.also("boundary: boundary.gpkg")

    return change


def written_as(encoding: str, ends: str = "\n") -> Callable[[Land], None]:
    """Return a change to the run file's bytes; `finish` writes no other."""

    def change(land: Land) -> None:
        path = land.folder / "run.yaml"
        path.write_bytes(land.text.replace("\n", ends).encode(encoding))
        land.finish = lambda: path  # type: ignore[method-assign]

    return change


def bare(land: Land) -> None:
    """Write an elevation that does not say where it lies."""
    values = land.values("dem")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with rasterio.open(
            land.folder / "dem.tif", "w", driver="GTiff", height=ROWS, width=COLS, count=1,
            dtype="float32", crs=land.place.crs,
        ) as target:  # fmt: skip
            target.write(values, 1)


def one_spike(values: np.ndarray) -> np.ndarray:
    """Return heights with a bird in them."""
    values = values.copy()
    values[45, 45] += 60
    return values


def folder_for(land: Land, name: str) -> None:
    """Put a folder where a file should be."""
    (land.folder / name).unlink()
    (land.folder / name).mkdir()


def nested(shape: Any) -> Any:
    """Return a shape within a collection within a collection."""
    return shapely.GeometryCollection([shapely.GeometryCollection([shape])])


def measured_lines(land: Land) -> None:
    """Write the brook with heights and measures (XYZM)."""
    places = np.array([(x, y, k, 2.0 * k) for k, (x, y) in enumerate(land.place.brook().coords)])
    head = b"\x01" + (3002).to_bytes(4, "little") + len(places).to_bytes(4, "little")
    rewritten(land, head + places.astype("<f8").tobytes())


def shapefile_without(land: Land, suffix: str) -> None:
    """Write a shapefile and lose a part of it."""
    in_file("streams.shp")(land)
    (land.folder / "streams").with_suffix(suffix).unlink()
