"""Time the heat of boxes: sites, all facings, colours and designs, over a season and a whole year.

python tests/benchmarks/heat.py [--sites 100]
"""

import argparse
import time
from pathlib import Path

import numpy as np
import pvlib

from suitability.box.catalogue import load_catalogue
from suitability.box.heat import heat_at, heat_model
from suitability.inputs.weather import read_weather


def main(sites: int) -> None:
    weather, _ = read_weather(Path(pvlib.__file__).parent / "data" / "723170TYA.CSV")
    shipped = load_catalogue()
    horizons = np.random.default_rng(1).uniform(0, 30, (sites, 360))
    boxes = {"designs": [*shipped.designs.values()], "colours": [*shipped.colours.values()]}
    heat_at(heat_model(weather, **boxes), horizons[:1], np.zeros(1))  # compiles
    for season in (("04-01", "09-30"), ("01-01", "12-31")):
        started = time.perf_counter()
        heat_at(heat_model(weather, **boxes, season=season), horizons, np.zeros(sites))
        took = time.perf_counter() - started
        count = [len(part) for part in boxes.values()]
        print(f"{sites} sites, 16 facings, {count[1]} colours, {count[0]} designs, "
              f"{season[0]} to {season[1]}: {took:.1f} s")  # fmt: skip


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="Time the heat of boxes.")
    parser.add_argument("--sites", type=int, default=100)
    main(parser.parse_args().sites)
