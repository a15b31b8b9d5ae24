"""Why a place has the score that it has."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from suitability.config.curves import LEVEL
from suitability.decide.judgement import Judgement, Leaf


@dataclass(frozen=True)
class Part:
    """What one criterion does to a place's score.

    Parameters
    ----------
    layer, unit : str
        The measure.
    groups : tuple of str
        Names of the groups that the criterion lies in, the outermost first.
    raw, value : float
        As measured (in the unit), and on the value function (0..1).
    share : float
        The criterion's weight in the whole.
    contribution : float or None
        Value times share; None where the score is no sum of such, but combined in another way.
    loss : float
        What the score would lose if the value were 0.
    better_at : float or None
        The nearest measure at which the value would be its curve's highest; None where it is.
    lift : float
        What the score would gain there; NaN where a measure is missing.
    basis, evidence : str
        Where weight and curve come from, and how firm that is.
    conflict : str or None
        Where sources disagree.
    """

    layer: str
    unit: str
    groups: tuple[str, ...]
    raw: float
    value: float
    share: float
    contribution: float | None
    loss: float
    better_at: float | None
    lift: float
    basis: str
    evidence: str
    conflict: str | None


def explain_place(judgement: Judgement, raw: Mapping[str, float]) -> tuple[Part, ...]:
    """Return what each criterion does to a place's score, in the criteria's order.

    Parameters
    ----------
    judgement : Judgement
        How places are judged.
    raw : mapping
        The place's measures by layer name; NaN where missing.
    """
    values = {name: float(value) for name, value in judgement.values(raw).items()}
    score = float(judgement.combine(values))

    def change(leaf: Leaf, value: float) -> float:
        """Return what the score would gain if a criterion had another value."""
        return float(judgement.combine(values | {leaf.name: value})) - score

    return tuple(
        _part(leaf, share, raw, values[leaf.name], judgement.adds_up, change)
        for leaf, share in zip(judgement.leaves, judgement.shares, strict=True)
    )


def _part(
    leaf: Leaf,
    share: float,
    raw: Mapping[str, float],
    value: float,
    adds_up: bool,
    change: Callable[[Leaf, float], float],
) -> Part:
    measure = float(raw[leaf.name])
    # As values are, in single precision: else a curve's highest, 0.7, would seem below itself.
    best = float(np.float32(leaf.curve.highest))
    is_lower = value < best  # not where the measure is missing
    criterion = leaf.criterion
    return Part(
        layer=leaf.name,
        unit=criterion.unit,
        groups=leaf.groups,
        raw=measure,
        value=value,
        share=share,
        # Without weight, a missing measure is no matter.
        contribution=(value * share if share else 0.0) if adds_up else None,
        loss=-change(leaf, 0.0),
        better_at=leaf.curve.best_near(measure) if is_lower else None,
        lift=change(leaf, max(best, value)),
        basis=criterion.basis,
        evidence=criterion.evidence,
        conflict=criterion.conflict,
    )


def limiting(parts: Sequence[Part]) -> Part | None:
    """Return the limiting criterion, the one of the lowest value; None where all are at their best.

    Of equals the heaviest limits, then the first. A missing measure limits before any other; a
    criterion without weight never does.
    """
    lacking = [part for part in parts if part.share > 0 and not _at_its_best(part)]
    if not lacking:
        return None
    return min(lacking, key=lambda part: (np.nan_to_num(part.value, nan=-1.0), -part.share))


def _at_its_best(part: Part) -> bool:
    # A logistic curve comes as near to 1 as makes no difference, and never reaches it.
    return part.value >= 1 or (part.better_at is None and part.value >= 1 - LEVEL)
