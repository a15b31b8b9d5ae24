"""The pages of curves: the value functions of a run, and how its land's measures spread."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from suitability.assembling import judged_windows
from suitability.config.criteria import TOP
from suitability.decide import REASONS, Judgement, bases_of, value_of
from suitability.decide.histograms import Bins, Spread, bins_for, spread_of
from suitability.decide.judgement import Leaf
from suitability.grid import Float32
from suitability.outputs.cautions import short_caution
from suitability.outputs.curves_page import PAGE, CurvesContent, draw_curves
from suitability.outputs.curves_panel import Panel, percent
from suitability.plan import Plan
from suitability.tasks import judgement_in

_OUTSIDE = next(reason.bit for reason in REASONS if reason.key == "outside")


@dataclass(frozen=True)
class _Seen:
    """A window's measures: those of all land, and of the land that is not excluded."""

    land: dict[str, Float32]
    candidates: dict[str, Float32]


def write_curves(plan: Plan) -> tuple[Path, ...]:
    """Draw the pages into the run's folder, whose layers stand; return the files, the PDF last."""
    return draw_curves(plan.store.folder, curves_of(plan))


def renew_curves(plan: Plan) -> None:
    """Draw the pages again if the folder holds them, so that they tell of the run beside them."""
    if (plan.store.folder / PAGE).exists():
        write_curves(plan)


def curves_of(plan: Plan) -> CurvesContent:
    """Return what the pages show of a run whose land is measured."""
    ranges = _ranges(plan)
    bins = {leaf.name: _axis(leaf, ranges.get(leaf.name)) for leaf in plan.judgement.leaves}
    land, candidates = _spreads(plan, bins)
    reached = {name for name, (_, most) in ranges.items() if most >= plan.reach_m[name]}
    return _content(plan, bins, land, candidates, reached)


def _axis(leaf: Leaf, measured: tuple[float, float] | None) -> Bins:
    low, high = leaf.curve.ends
    if leaf.curve.kind == "logistic" and measured is not None and measured[0] >= 0:
        # It runs on without end, to where nothing can be measured.
        low, high = max(low, 0.0), max(high, 0.0)
    return bins_for((low, high), measured)


def _seen(plan: Plan) -> Iterator[_Seen]:
    """Yield the land window by window; beyond the boundary is no land of the run."""
    for window in judged_windows(plan):
        layers, _, bits = judgement_in(plan, window)
        inside: NDArray[np.bool_] = (bits & _OUTSIDE) == 0
        names = [leaf.name for leaf in plan.judgement.leaves]
        yield _Seen(
            {name: layers[name][inside] for name in names},
            {name: layers[name][bits == 0] for name in names},
        )


def _ranges(plan: Plan) -> dict[str, tuple[float, float]]:
    """Return the least and the greatest measure of each layer that has any on the run's land."""
    ranges: dict[str, tuple[float, float]] = {}
    for seen in _seen(plan):
        for name, measures in seen.land.items():
            known = measures[~np.isnan(measures)]
            if known.size:
                low, high = ranges.get(name, (np.inf, -np.inf))
                ranges[name] = (min(low, float(known.min())), max(high, float(known.max())))
    return ranges


def _spreads(plan: Plan, bins: dict[str, Bins]) -> tuple[dict[str, Spread], dict[str, Spread]]:
    """Return how all land, and the candidates, spread over each criterion's axis."""
    nothing = {name: Spread(np.zeros(axis.count, np.int64)) for name, axis in bins.items()}
    land, candidates = dict(nothing), dict(nothing)
    for seen in _seen(plan):
        for name, axis in bins.items():
            land[name] += spread_of(seen.land[name], axis)
            candidates[name] += spread_of(seen.candidates[name], axis)
    return land, candidates


def _content(
    plan: Plan,
    bins: dict[str, Bins],
    land: dict[str, Spread],
    candidates: dict[str, Spread],
    reached: set[str],
) -> CurvesContent:
    settings, judgement, layers = plan.run.settings, plan.judgement, plan.layers
    tell = settings.quantities
    capped = {name for name in reached if layers[name].is_distance}
    panels = tuple(
        Panel(
            layer=leaf.name,
            title=tell.retold(layers[leaf.name].title),
            unit=layers[leaf.name].unit,
            groups=leaf.groups,
            weight=_weight(judgement, leaf, share),
            evidence=leaf.criterion.evidence,
            basis=tell.retold(leaf.criterion.basis),
            conflict=leaf.criterion.conflict and tell.retold(leaf.criterion.conflict),
            value=partial(value_of, curve=leaf.curve),
            bins=bins[leaf.name],
            land=land[leaf.name],
            candidates=candidates[leaf.name],
            reach=plan.reach_m[leaf.name] if leaf.name in capped else None,
            quantities=tell,
        )
        for leaf, share in zip(judgement.leaves, judgement.shares, strict=True)
    )
    first = judgement.leaves[0].name
    where = "all land" if settings.inputs.boundary is None else "land inside the boundary"
    return CurvesContent(
        title=settings.title,
        lines=(
            f"Season {settings.season.start} to {settings.season.end}; {settings.mount.in_words}, "
            f"{tell.stated(settings.mount.height)} above the ground",
            f"Score: {judgement.in_words(lambda name: tell.retold(layers[name].title))}",
        ),
        panels=panels,
        bases=tuple(basis.told_in(tell) for basis in bases_of(settings)),
        land=f"{where}, {tell.area(_area_m2(land[first], plan.grid.cell_m))}",
        candidates=f"candidates, {tell.area(_area_m2(candidates[first], plan.grid.cell_m))}",
        caution=tell.retold(short_caution()),
    )


def _weight(judgement: Judgement, leaf: Leaf, share: float) -> str:
    """Say what a criterion weighs; where the lowest value alone counts, its weight does not."""
    if not share:
        return "weight 0, does not count"
    within = [branch for branch in judgement.branches if branch.name in (TOP, *leaf.groups)]
    if not within[-1].is_limiting:
        return f"weight {percent(share)} of the whole"
    if not leaf.groups:
        return "of all values the lowest counts"
    return f"its group's lowest value counts, weight {percent(share / leaf.share)} of the whole"


def _area_m2(spread: Spread, cell_m: float) -> float:
    return (spread.measured + spread.missing) * cell_m**2
