"""How long a share within a radius takes, alone and as the foraging layer counts it.

python tests/benchmarks/focal.py
python tests/benchmarks/focal.py --side 2000 --radius 100
"""

from __future__ import annotations

import argparse
import resource
import time

import numpy as np

from suitability.grid import Window
from suitability.inputs.legend import load_legend
from suitability.layers import Cover, cover_share
from suitability.layers.cover import surroundings_cells
from suitability.layers.focal import count_within

EDGE_M = 30.0


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--side", type=int, default=4000, help="cells along the land")
    parser.add_argument("--radius", type=float, default=500.0, help="of the window [m]")
    parser.add_argument("--cell", type=float, default=2.0, help="[m]")
    options = parser.parse_args()
    legend = load_legend("nlcd")
    around = surroundings_cells(options.radius, EDGE_M, options.cell)
    window = Window(around, around, options.side, options.side)
    known = Window(0, 0, options.side + 2 * around, options.side + 2 * around)
    patches = np.random.default_rng(0).choice([11, 41, 81, 82], (known.rows // 15 + 1,) * 2)
    codes = np.kron(patches, np.ones((15, 15), np.int16))[: known.rows, : known.cols]
    cover = Cover(codes.astype(np.int16), known, legend)
    wanted = legend.codes_of(["water", "wetland", "grass"])
    count_within(np.ones((9, 9), bool), 2.0, 1.0)  # compile first

    print(f"{options.side**2 / 1e6:g} million cells, a radius of {options.radius:g} m, one core")
    started = time.perf_counter()
    count_within(codes == 11, options.radius, options.cell)
    print(f"one count: {time.perf_counter() - started:.2f} s")
    started = time.perf_counter()
    cover_share(
        cover, window, wanted, within_m=options.radius, cell_m=options.cell, woodland_edge_m=EDGE_M
    )
    print(f"foraging share, with woodland edge: {time.perf_counter() - started:.2f} s")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    print(f"memory at the peak {peak / 1e9:.2f} GB")


if __name__ == "__main__":
    main()
