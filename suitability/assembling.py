"""The work on one raster: put it together from the parts that tiles left."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from suitability.decide import REASONS, Reason
from suitability.grid import Window
from suitability.layers.registry import month_title
from suitability.outputs.rasters import assemble_exclusions, assemble_raster
from suitability.plan import Plan
from suitability.store import KEY_TAG
from suitability.tasks import OBSTACLES

# Cells along a window that is judged: it needs nothing around it. Twice as wide, its arrays would
# come anew from the system each time.
JUDGED_SIDE = 1024
JUDGEMENT = ("candidates", "excluded")


def judged_windows(plan: Plan) -> tuple[Window, ...]:
    """Return the windows that are judged."""
    return plan.grid.tiles(min(plan.side, JUDGED_SIDE))


def assemble_layer(plan: Plan, name: str) -> None:
    """Put a measured layer together; it bears the key of all that it depends on."""
    parts = {window: plan.store.part(name, window) for window in plan.tiles}
    tags = {KEY_TAG: plan.store.key}
    if name == OBSTACLES:
        assemble_exclusions(
            plan.store.layer(name),
            parts,
            plan.grid,
            _words(REASONS),
            name=name,
            description="What stands against a box whatever the rules; bits as in excluded.tif",
            tags=tags,
        )
        return
    spec = plan.layers.get(name)
    title = month_title(name) if spec is None else spec.title
    if spec is not None and spec.is_distance:
        title += f"; {plan.reach_m[name]:.0f} m stands for this far and further"
    assemble_raster(
        plan.store.layer(name),
        parts,
        plan.grid,
        name=name,
        unit="h" if spec is None else spec.unit,
        description=title,
        tags=tags,
    )


def parts_of(plan: Plan, name: str) -> dict[Window, Path]:
    """Return the files of what judging left of score or reasons."""
    return {window: plan.store.part(name, window) for window in judged_windows(plan)}


def assemble_judgement(plan: Plan, name: str) -> None:
    """Put the score or the reasons together."""
    parts = parts_of(plan, name)
    path = plan.store.folder / f"{name}.tif"
    if name == "excluded":
        assemble_exclusions(path, parts, plan.grid, _words(plan.reasons))
        return
    assemble_raster(
        path,
        parts,
        plan.grid,
        name="score",
        unit="1",
        description=f"{plan.judgement.in_words()}; 0 to 1",
    )


def _words(reasons: Sequence[Reason]) -> dict[int, str]:
    return {reason.number: reason.words for reason in reasons}
