"""Time the page of a run in a real browser: `python tests/benchmarks/web_map.py [--side 1000]`.

The land is open, so that nearly every cell is judged. Told are the page's bytes, the time to write
it, the time until it can be used, and from new weights to the new map and order of sites.
"""

from __future__ import annotations

import argparse
import shutil
import statistics
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import rasterio
from screen import RUN_FILE, make_land

from suitability.config import load_run
from suitability.run import screen
from suitability.web_map import write_web_map

sys.path.insert(0, str(Path(__file__).parents[1]))
from pages import Page, started

WAYS = ("weighted mean", "weighted geometric mean", "limiting criterion")
PASTURE = 81
OPEN = "exclusions: {clearance: null, water_bank: null}\nsites: {count: 50, spacing: 40 m}\n"


def make_run(folder: Path, side: int) -> Path:
    """Screen open land of so many cells a side; return the folder of the run."""
    make_land(folder, side)
    with rasterio.open(folder / "land_cover.tif", "r+") as cover:
        cover.write(np.full((side, side), PASTURE, np.uint8), 1)
    lines = [line for line in RUN_FILE.splitlines() if "canopy" not in line]
    text = "\n".join(["title: Benchmark", *lines, OPEN])
    (folder / "run.yaml").write_text(text, encoding="utf-8")
    screen(load_run(folder / "run.yaml"), folder / "results")
    return folder / "results"


def main() -> None:
    """Time writing, opening and new weights."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--side", type=int, default=1000, help="cells along a side")
    parser.add_argument("--repeat", type=int, default=9)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        run = make_run(Path(place), options.side)
        began = time.perf_counter()
        path = write_web_map(run)
        print(f"written in {time.perf_counter() - began:.2f} s, {path.stat().st_size / 1e6:.2f} MB")
        chromium, driver_path = shutil.which("chromium"), shutil.which("chromedriver")
        driver = started(str(chromium), str(driver_path), Path(place))
        try:
            page = Page(driver, run).opened()
            ready = page.ask("suitabilityMap.state.ready_ms")
            cells = page.ask("suitabilityMap.land.cells.length")
            print(f"{cells:,} candidate cells; usable {ready / 1000:.2f} s after it was opened")
            for way in WAYS:
                page.combine(0, way)
                times = []
                for k in range(options.repeat):
                    page.weigh([10 + k, 40, 30 - k, 20, 15])
                    times.append(page.ask("suitabilityMap.state.rejudged_ms"))
                told = f"{statistics.median(times):.0f} ms, at most {max(times):.0f} ms"
                print(f"  new weights, {way:24} {told}")
        finally:
            driver.quit()


if __name__ == "__main__":
    main()
