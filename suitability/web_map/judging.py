"""How a run judged, for a page that judges again."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from suitability.config.units import unit_of
from suitability.decide import Judgement
from suitability.decide.judgement import Branch, Leaf
from suitability.finished import FinishedRun
from suitability.outputs.web_codes import CodeScale

# What a measure is multiplied by on the page, and the word behind it, where that is not its unit.
_SHOWN = {"1": (1.0, ""), "deg": (1.0, "°")}


def tree_of(judgement: Judgement) -> dict[str, Any]:
    """Return the tree: groups with their way to combine, criteria by their number."""
    number = {leaf.name: at for at, leaf in enumerate(judgement.leaves)}
    return _branch(judgement.root, number)


def leaf_of(leaf: Leaf, scale: CodeScale, title: str, off: float) -> dict[str, Any]:
    """Return a criterion: curve, codes, words.

    Parameters
    ----------
    leaf : Leaf
        The criterion in its place.
    scale : CodeScale
        How the page's raster of it is written.
    title : str
        Of its layer.
    off : float
        By how much values from that raster are off at most.
    """
    criterion = leaf.criterion
    return {
        "layer": leaf.name,
        "title": title,
        "unit": unit_shown(leaf.name),
        "curve": asdict(leaf.curve),
        "scale": {"measures": scale.measures, "codes": scale.codes},
        "value_error": off,
        "basis": criterion.basis,
        "evidence": criterion.evidence,
        "conflict": criterion.conflict,
    }


def unit_shown(layer: str) -> dict[str, Any]:
    """Return how measures of a layer are shown."""
    unit = unit_of(layer)
    factor, word = (100.0, "%") if layer.endswith("_share") else _SHOWN.get(unit, (1.0, unit))
    return {"factor": factor, "word": word}


def title_of(run: FinishedRun, layer: str) -> str:
    """Return what people read for a layer."""
    return run.layer_tags(layer).get("DESCRIPTION", layer)


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
