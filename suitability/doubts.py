"""What is odd about a run's criteria on its own land, once it is judged."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from suitability.decide import value_of
from suitability.grid import Float64
from suitability.outputs.rasters import read_small
from suitability.plan import Plan

_CELLS = 400  # along the longer side: enough to tell how values spread
_LEVEL = 0.01  # values that differ by less are alike
_ALL = 0.95  # of the spread of scores: one criterion decides
_FEWEST = 2


def doubts(plan: Plan) -> Iterator[str]:
    """Yield which criteria say nothing on the run's land, or everything.

    Parameters
    ----------
    plan : Plan
        Of the run, its land judged and its rasters whole.
    """
    step = math.ceil(max(plan.grid.shape) / _CELLS)
    folder, judgement = plan.store.folder, plan.judgement
    score = read_small(folder / "candidates.tif", step)
    open_land = np.isfinite(score) & (read_small(folder / "excluded.tif", step) == 0)
    if open_land.sum() < _FEWEST:
        return
    counted = [
        (leaf, share) for leaf, share in zip(judgement.leaves, judgement.shares, strict=True)
        if share > 0
    ]  # fmt: skip
    spreads: dict[str, Float64] = {}
    for leaf, share in counted:
        value = value_of(read_small(plan.store.layer(leaf.name), step), leaf.curve)[open_land]
        if np.nanmax(value) - np.nanmin(value) < _LEVEL and len(counted) >= _FEWEST:
            yield (
                f"{leaf.name} says nothing here: its value is {np.nanmean(value):.2f} wherever "
                "boxes may go, so its weight only shifts all scores alike"
            )
        spreads[leaf.name] = share * (value.astype(np.float64) - np.nanmean(value))
    if judgement.adds_up and len(counted) >= _FEWEST:
        yield from _decisive(spreads)


def _decisive(spreads: dict[str, Float64]) -> Iterator[str]:
    """Yield the criterion that the score follows almost alone."""
    total = np.sum(list(spreads.values()), axis=0)
    spread = float(np.nanvar(total))
    if spread < _LEVEL**2:
        return
    for name, part in spreads.items():
        if (share := float(np.nanmean(part * (total - np.nanmean(total)))) / spread) > _ALL:
            yield (
                f"{name} decides alone: {share:.0%} of the spread of scores comes from it, so the "
                "other weights hardly matter on this land"
            )
