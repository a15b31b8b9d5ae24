"""Land as a formula of places, written in any CRS, cell or turn, and held against what is read."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pyproj
import rasterio
import shapely
from affine import Affine

COLS, ROWS, CELL_M = 80, 60, 5.0
WOOD, PASTURE = 41, 81
WIDE_M, HIGH_M = COLS * CELL_M, ROWS * CELL_M

RUN = """\
title: Hard inputs
inputs:
  elevation: {path: dem.tif, unit: m}
  land_cover: cover.tif
  streams: streams.gpkg
season: {start: 05-01, end: 05-31, step: 60 min, every_days: 30}
sites: {count: 3, spacing: 40 m}
"""


@dataclass(frozen=True)
class Place:
    """Where the formula lies: a CRS in metres and the land's north-west corner in it."""

    crs: str = "EPSG:32616"
    west: float = 500_000.0
    north: float = 4_450_000.0

    @property
    def middle(self) -> tuple[float, float]:
        """The middle of the land."""
        return self.west + WIDE_M / 2, self.north - HIGH_M / 2

    def to(self, crs: Any) -> pyproj.Transformer:
        """Return what moves places from the formula's CRS to another."""
        return pyproj.Transformer.from_crs(self.crs, crs, always_xy=True)

    def ground_m(self, x: Any, y: Any) -> Any:
        """Return rolling ground at places of its CRS."""
        return 300 + 4 * np.sin((self.north - y) / 45) + 3 * np.cos((x - self.west) / 65)

    def wood(self) -> Any:
        """Return the wood in its middle."""
        return shapely.box(self.west + 150, self.north - 200, self.west + 250, self.north - 100)

    def brook(self) -> Any:
        """Return the one brook."""
        points = [(60, 0), (90, -150), (70, -HIGH_M)]
        return shapely.LineString([(self.west + x, self.north + y) for x, y in points])

    def inside(self) -> Any:
        """Return the land's outline."""
        return shapely.box(self.west, self.north - HIGH_M, self.west + WIDE_M, self.north)


HOME = Place()
SOUTH = Place("EPSG:32755", 500_000.0, 5_350_000.0)
AT_180 = Place("EPSG:32701", 180_500.0, 8_140_000.0)
POLAR = Place("EPSG:3413", -1_000_000.0, -1_000_000.0)


@dataclass
class Land:
    """A folder with the land's files, written as a case wants them."""

    folder: Path
    place: Place = HOME
    text: str = RUN
    extra: str = ""

    def lattice(
        self, crs: Any = None, *, cell: float | tuple[float, float] = CELL_M, turn_deg: float = 0.0,
        spare: float = 1.0,
    ) -> tuple[Affine, tuple[int, int]]:  # fmt: skip
        """Return transform and shape of a raster in a CRS that covers the land."""
        outline = shapely.segmentize(self.place.inside(), 20)
        ring = shapely.get_coordinates(outline)
        x, y = self.place.to(crs or self.place.crs).transform(ring[:, 0], ring[:, 1])
        across, along = cell if isinstance(cell, tuple) else (cell, cell)
        way = Affine.rotation(turn_deg)
        back = ~way
        u, v = back.a * x + back.b * y, back.d * x + back.e * y
        cols = int(np.ceil(np.ptp(u) / across * spare))
        rows = int(np.ceil(np.ptp(v) / along * spare))
        turn = way @ Affine(across, 0, u.min(), 0, -along, v.max())
        return turn, (max(1, rows), max(1, cols))

    def values(
        self, kind: str, crs: Any = None, turn: Affine | None = None,
        shape: tuple[int, int] | None = None,
    ) -> np.ndarray:  # fmt: skip
        """Return what cells of a lattice hold: heights or codes."""
        if turn is None or shape is None:
            turn, shape = self.lattice(crs)
        row, col = np.indices(shape) + 0.5
        x = turn.a * col + turn.b * row + turn.c
        y = turn.d * col + turn.e * row + turn.f
        if crs is not None:
            back = self.place.to(crs)
            x, y = back.transform(x, y, direction="INVERSE")
        if kind == "dem":
            return self.place.ground_m(x, y).astype(np.float32)
        in_wood = shapely.contains_xy(self.place.wood(), x, y)
        return np.where(in_wood, WOOD, PASTURE).astype(np.uint8)

    def raster(
        self, kind: str, crs: Any = None, *, cell: float | tuple[float, float] = CELL_M,
        turn_deg: float = 0.0, change: Callable[[np.ndarray], np.ndarray] = lambda v: v,
        label: Any = None, name: str | None = None, driver: str = "GTiff", **more: Any,
    ) -> Path:  # fmt: skip
        """Write the elevation (`dem`) or the land cover (`cover`)."""
        turn, shape = self.lattice(crs, cell=cell, turn_deg=turn_deg)
        values = change(self.values(kind, crs, turn, shape))
        path = self.folder / (name or f"{kind}.tif")
        given = label if label is not None else (crs or self.place.crs)
        path.unlink(missing_ok=True)
        with rasterio.open(
            path, "w", driver=driver, height=shape[0], width=shape[1], count=1,
            dtype=values.dtype, crs=None if given == "none" else given, transform=turn, **more,
        ) as target:  # fmt: skip
            target.write(values, 1)
        return path

    def both(self, crs: Any, **more: Any) -> None:
        """Write elevation and land cover alike."""
        self.raster("dem", crs, **more)
        self.raster("cover", crs, **more)

    def streams(
        self, shapes: list[Any] | None = None, *, crs: Any = None, label: Any = None,
        name: str = "streams.gpkg", **more: Any,
    ) -> Path:  # fmt: skip
        """Write the brook, or shapes of the land's CRS; in another CRS if one is given."""
        frame = gpd.GeoDataFrame(
            {"name": ["brook"] * len(shapes or [0])}, geometry=shapes or [self.place.brook()],
            crs=self.place.crs,
        )  # fmt: skip
        if crs is not None:
            frame = frame.to_crs(crs)
        if label is not None:
            frame = frame.set_crs(None if label == "none" else label, allow_override=True)
        path = self.folder / name
        path.unlink(missing_ok=True)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # that a CRS is missing is what the case wants
            frame.to_file(path, **more)
        return path

    def named(self, key: str, value: str) -> None:
        """Let the run file name another file for one of the inputs."""
        was = {"elevation": "{path: dem.tif, unit: m}", "land_cover": "cover.tif",
               "streams": "streams.gpkg"}[key]  # fmt: skip
        self.text = self.text.replace(f"{key}: {was}", f"{key}: {value}")

    def also(self, line: str) -> None:
        """Let the run file name one more input."""
        self.text = self.text.replace("season:", f"  {line}\nseason:")

    def finish(self) -> Path:
        """Write the run file."""
        path = self.folder / "run.yaml"
        path.write_text(self.text + self.extra, encoding="utf-8")
        return path


def faults(place: Place, found: Any, least_share: float = 0.9) -> list[str]:
    """Return how inputs read (`gathered.Gathered`) differ from the formula."""
    grid = found.grid
    x, y = grid.xy(*np.indices(grid.shape))
    back = place.to(grid.crs)
    at_x, at_y = back.transform(x, y, direction="INVERSE")
    here = shapely.contains_xy(place.inside().buffer(-1.5 * grid.cell_m), at_x, at_y)
    told = []
    if not here.any():
        return ["the grid shows nothing of the land"]
    share = here.sum() * grid.cell_m**2 / place.inside().buffer(-1.5 * grid.cell_m).area
    if share < 0.6:
        told.append(f"the grid holds {share:.0%} of the land")
    known = here & np.isfinite(found.rasters.ground)
    if known.sum() < least_share * here.sum():
        told.append(f"{known.sum() / here.sum():.0%} of the ground is known")
    off = np.abs(found.rasters.ground - place.ground_m(at_x, at_y))[known]
    # Bilinear on ground that curves by 4 m / (45 m)², in cells of up to 30 m; datums' own doubts.
    if off.size and off.max() > 0.35:
        told.append(f"ground is off by up to {off.max():.2f} m")
    wood, edge = place.wood(), 2.5 * max(grid.cell_m, CELL_M) + 4
    tall = found.rasters.canopy > 1
    sure = known & shapely.contains_xy(wood.buffer(-edge), at_x, at_y)
    open_land = known & ~shapely.contains_xy(wood.buffer(edge), at_x, at_y)
    if not tall[sure].all() or tall[open_land].any():
        told.append("the wood is not where it is")
    brook = place.brook()
    far = shapely.distance(brook, shapely.points(at_x, at_y))
    wet = found.water & here
    if wet.any() and far[wet].max() > 1.5 * grid.cell_m + 4:
        told.append(f"water lies up to {far[wet].max():.0f} m from the brook")
    if not found.water[here & (far < 0.3 * grid.cell_m)].all():
        told.append("the brook is dry")
    return told
