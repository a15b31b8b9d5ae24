"""Time the ranking under unsure weights: `python tests/benchmarks/robustness.py [--cells 16]`.

First the places: 10,000 draws over 500 places with 5 criteria. Then the land: every candidate
cell under so many draws, and the lowest score of the best tenth, from a sample of cells.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np

from suitability.config.criteria import TOP, Group
from suitability.decide.judgement import judgement_from
from suitability.decide.robustness import confidence_factors, rank_acceptability
from suitability.decide.robustness_land import correlations, thresholds, times_among_best
from suitability.decide.robustness_swings import swing
from suitability.decide.robustness_tree import weighing_of
from suitability.decide.robustness_weights import VALUE_STEP, Spread, draw_weights, in_steps

CRITERIA = 5
WAYS: dict[str, dict[str, Any]] = {
    "weighted mean": {},
    "weighted geometric mean": {"combine": "weighted geometric mean"},
}


def judged(**more: Any) -> Any:
    """Return how the five criteria are weighed."""
    names = ("direct_sun_h", "water_distance_m", "canopy_edge_m", "slope_deg", "clearance_m")
    entries = [
        {"layer": name, "weight": 5 - at, "value": {"rising": [0, 1]}}
        for at, name in enumerate(names)
    ]
    stated = Group.model_validate({"group": TOP, "criteria": entries, **more})
    return weighing_of(judgement_from(stated))


@contextmanager
def timed(what: str, of: Callable[[float], str] = lambda _seconds: "") -> Iterator[None]:
    """Print how long a block takes."""
    start = time.perf_counter()
    yield
    seconds = time.perf_counter() - start
    print(f"  {what:50} {seconds:7.2f} s {of(seconds)}", flush=True)


def main() -> None:
    """Time places and land."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cells", type=float, default=16, help="million candidate cells")
    parser.add_argument("--draws", type=int, default=500, help="for every cell")
    options = parser.parse_args()
    rng = np.random.default_rng(1)
    for way, more in WAYS.items():
        print(way)
        weighing = judged(**more)
        everything = weighing.groups[0]

        def draws(count: int, weighing: Any = weighing) -> Any:
            return draw_weights(weighing.weights, weighing.groups, Spread(20), draws=count, seed=1)

        places = in_steps(rng.random((500, CRITERIA)), VALUE_STEP)
        with timed("10,000 draws over 500 places"):
            found = rank_acceptability(weighing.score, places, draws(10_000))
        with timed("confidence factors, 1,000 draws"):
            confidence_factors(
                weighing.score, places, found.central_weights, value_error=0.05, draws=1000, seed=1
            )
        with timed("swings of 5 weights"):
            for at in range(CRITERIA):
                swing(weighing.score, places, weighing.weights, everything, at, listed=12)
        weights = draws(options.draws)
        sample = in_steps(rng.random((100_000, CRITERIA)), VALUE_STEP)
        with timed("correlation of 100,000 cells"):
            correlations(sample)
        with timed(f"the best tenth in {options.draws} draws, 100,000 cells"):
            lowest = thresholds(weighing.score, sample, weights)
        some = min(options.cells, 1.0)
        land = in_steps(rng.random((round(some * 1e6), CRITERIA)), VALUE_STEP)
        scale = options.cells / some
        with timed(
            f"{some:g} million cells, {options.draws} draws",
            lambda seconds, scale=scale: (
                f"hence {scale * seconds:.0f} s for {options.cells:g} million"
            ),
        ):
            times_among_best(weighing.score, land, weights, lowest)


if __name__ == "__main__":
    main()
