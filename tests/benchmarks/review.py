"""How long a review of 10,000 boxes and 200,000 visits takes, reading the register included."""

import argparse
import tempfile
import time
from datetime import date, timedelta
from pathlib import Path

import numpy as np
from sqlalchemy import insert

from suitability.follow_up.register import open_register
from suitability.follow_up.register_tables import BOXES, PLACEMENTS, VISITS
from suitability.follow_up.reviewing import review_register


def fill(path, boxes, visits):
    """Begin a register with so many boxes, and visits of six years."""
    rng = np.random.default_rng(1)
    begins = date(2018, 3, 1)
    names = [f"Box {number}" for number in range(boxes)]
    places = [
        {"box": name, "put_up": begins + timedelta(int(days)), "geom": (lon, lat)}
        for name, days, lon, lat in zip(
            names, rng.integers(0, 30, boxes), rng.uniform(-90, -80, boxes),
            rng.uniform(28, 48, boxes), strict=True,
        )
    ]  # fmt: skip
    days = [begins + timedelta(30 + int(day)) for day in rng.integers(0, 2100, visits)]
    which = rng.integers(0, boxes, visits)
    used = rng.random(visits) < 0.05
    unique = {(int(box), day): use for box, day, use in zip(which, days, used, strict=True)}
    rows = [
        {"box": names[box], "placement": box + 1, "date": day, "observer": "AB",
         "method": "guano", "state": "occupied" if use else "not occupied"}
        for (box, day), use in unique.items()
    ]  # fmt: skip
    with open_register(path, create=True).writing() as connection:
        connection.execute(insert(BOXES), [{"name": name} for name in names])
        connection.execute(insert(PLACEMENTS), places)
        connection.execute(insert(VISITS), rows)
    return len(rows)


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--boxes", type=int, default=10_000)
    parser.add_argument("--visits", type=int, default=200_000)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "register.gpkg")
        began = time.perf_counter()
        visits = fill(path, given.boxes, given.visits)
        print(
            f"{given.boxes:,} boxes, {visits:,} visits written: {time.perf_counter() - began:.1f} s"
        )
        began = time.perf_counter()
        found = review_register(path, on=date(2024, 6, 20))
        print(f"reviewed: {time.perf_counter() - began:.2f} s")
        print(found.boxes["state"].value_counts().to_string())


if __name__ == "__main__":
    main()
