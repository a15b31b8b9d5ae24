"""How a run judged, for a page that judges again."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from suitability.config.units import unit_of
from suitability.decide import Judgement
from suitability.decide.judgement import Branch, Leaf
from suitability.finished import FinishedRun
from suitability.outputs.web_codes import CodeScale
from suitability.quantities import Quantities, Scale

_DEGREES = Scale(1.0, 0.0, "°")
_PERCENT = Scale(100.0, 0.0, "%")


def tree_of(judgement: Judgement) -> dict[str, Any]:
    """Return the tree: groups with their way to combine, criteria by their number."""
    number = {leaf.name: at for at, leaf in enumerate(judgement.leaves)}
    return _branch(judgement.root, number)


def leaf_of(run: FinishedRun, leaf: Leaf, scale: CodeScale, off: float) -> dict[str, Any]:
    """Return a criterion: curve, codes, words.

    Parameters
    ----------
    run : FinishedRun
        The run.
    leaf : Leaf
        The criterion in its place.
    scale : CodeScale
        How the page's raster of it is written.
    off : float
        By how much values from that raster are off at most.
    """
    criterion, retold = leaf.criterion, run.quantities.retold
    return {
        "layer": leaf.name,
        "title": run.layer_title(leaf.name),
        "unit": unit_shown(leaf.name, run.quantities),
        "curve": asdict(leaf.curve),
        "scale": {"measures": scale.measures, "codes": scale.codes},
        "value_error": off,
        "basis": retold(criterion.basis),
        "evidence": criterion.evidence,
        "conflict": criterion.conflict and retold(criterion.conflict),
    }


def unit_shown(layer: str, quantities: Quantities) -> dict[str, Any]:
    """Return how measures of a layer are shown: what to multiply by, to add, the word behind."""
    unit = unit_of(layer)
    if layer.endswith("_share"):
        return asdict(_PERCENT)
    return asdict(_DEGREES if unit == "deg" else quantities.axis(unit))


def _branch(branch: Branch, number: dict[str, int]) -> dict[str, Any]:
    return {
        "name": branch.name,
        "share": branch.share,
        "by": branch.combination.by,
        "order_weights": branch.combination.order_weights,
        "come": str(branch.weights),
        "parts": [
            _branch(part, number)
            if isinstance(part, Branch)
            else {"leaf": number[part.name], "share": part.share}
            for part in branch.parts
        ],
    }
