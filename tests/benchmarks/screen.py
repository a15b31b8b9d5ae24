"""Time a whole screen of invented land: `python tests/benchmarks/screen.py [--side 4000]`.

The land has one cell a metre: hills, a river, woods of single crowns, a few barns. A small screen
compiles first; then the land is screened, and screened again with other weights, in processes of
their own. Peak memory is that of the largest process (as the system counts it), workers included.
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import tempfile
import time
from contextlib import nullcontext
from pathlib import Path

import geopandas as gpd
import numpy as np
import rasterio
from rasterio.transform import from_origin
from shapely.geometry import LineString, box

FIXED = ("compiling (once)", "writing results")
WEST, NORTH, CRS = 730_000, 4_454_000, "EPSG:32616"

RUN_FILE = """
inputs:
  elevation: {path: elevation.tif, unit: m}
  land_cover: land_cover.tif
  streams: streams.gpkg
  canopy_height: canopy.tif
  buildings: buildings.gpkg
season: {step: 20 min, every_days: 9}
"""


def make_land(folder: Path, side: int) -> None:
    """Write the inputs of a square of `side` metres, the same every time."""
    rng = np.random.default_rng(7)
    y, x = np.mgrid[:side, :side].astype(np.float32)
    river = side / 2 + side / 8 * np.sin(x[0] / 400)
    ground = 250 + 12 * np.sin(x / 700) * np.cos(y / 500) + 0.02 * np.abs(y - river)
    canopy = np.zeros((side, side), np.float32)
    for _ in range(side * side // 350):
        row, col = rng.integers(0, side, 2)
        if np.sin(row / 300) + np.cos(col / 260) < 0.3 and rng.random() > 0.04:
            continue
        radius, height = int(rng.integers(2, 6)), rng.uniform(6, 26)
        rows = slice(max(0, row - radius), row + radius + 1)
        cols = slice(max(0, col - radius), col + radius + 1)
        canopy[rows, cols] = np.maximum(canopy[rows, cols], height)
    cover = np.where(canopy > 5, 41, 81).astype(np.uint8)
    for name, values, nodata in (
        ("elevation", ground.astype(np.float32), -9999),
        ("canopy", canopy, -9999),
        ("land_cover", cover, 0),
    ):
        with rasterio.open(
            folder / f"{name}.tif", "w", driver="GTiff", width=side, height=side, count=1,
            dtype=values.dtype, crs=CRS, transform=from_origin(WEST, NORTH, 1, 1), nodata=nodata,
            tiled=True, compress="deflate",
        ) as target:  # fmt: skip
            target.write(values, 1)
    line = LineString([(WEST + c, NORTH - river[c]) for c in range(0, side, 20)])
    gpd.GeoDataFrame(geometry=[line], crs=CRS).to_file(folder / "streams.gpkg")
    barns = [
        box(WEST + at, NORTH - side * 0.1 - 15, WEST + at + 25, NORTH - side * 0.1)
        for at in range(side // 10, side, max(1, side // 6))
    ]
    gpd.GeoDataFrame({"height_m": [9.0] * len(barns)}, geometry=barns, crs=CRS).to_file(
        folder / "buildings.gpkg"
    )


def own_peak() -> float:
    """Return this program's peak memory; `ru_maxrss` would count what it was started from. [GB]."""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return int(status.split("VmHWM:")[1].split()[0]) / 1e6


def measured(options: argparse.Namespace, weights: str) -> None:
    """Screen a folder in this process and print what it took."""
    start = time.perf_counter()
    from suitability.cluster import local_workers
    from suitability.config import load_run
    from suitability.memory import memory_bytes
    from suitability.run import screen

    folder = options.folder
    (folder / "run.yaml").write_text(RUN_FILE + weights, encoding="utf-8")
    run = load_run(folder / "run.yaml")
    memory = None if options.memory is None else memory_bytes(options.memory)
    workers = local_workers(options.workers) if options.workers else nullcontext()
    with workers as spread:
        found = screen(
            run,
            folder / "out",
            memory=memory,
            each=spread,
            workers=options.workers or 1,
        )
    seconds = time.perf_counter() - start
    workers_peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1e6
    peak = max(own_peak(), workers_peak if options.workers else 0.0)
    plan = found.plan
    cells = plan.grid.rows * plan.grid.cols / 1e6
    print(
        f"{cells:.1f} million cells, {len(plan.sun)} sun positions, {len(plan.tiles)} tiles, "
        f"{len(found.sites)} sites"
    )
    stages = found.facts["seconds"]
    for stage, took in stages.items():
        print(f"  {stage:20} {took:7.1f} s")
    # What a run takes whatever the land: kernels to load, a page to draw.
    by_cells = sum(took for stage, took in stages.items() if stage not in FIXED)
    print(
        f"  {'whole, imports too':20} {seconds:7.1f} s; without imports and what is done once, "
        f"{by_cells / cells:.2f} s a million cells; peak memory {peak:.2f} GB",
        flush=True,
    )


def main() -> None:
    """Make the land and screen it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--side", type=int, default=4000, help="metres")
    parser.add_argument("--memory", help="what a run may take, such as 2GB")
    parser.add_argument("--workers", type=int, help="worker processes")
    parser.add_argument("--folder", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--weights", default="", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.folder:
        measured(options, options.weights)
        return
    for side in (300, options.side):
        with tempfile.TemporaryDirectory() as name:
            make_land(Path(name), side)
            for weights in ("", "climate: cool\n"):
                again = [sys.executable, __file__, *sys.argv[1:], "--folder", name]
                subprocess.run([*again, "--weights", weights], check=True)


if __name__ == "__main__":
    main()
