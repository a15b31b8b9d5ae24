"""Why a place has the score that it has."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from suitability.config.settings import Criterion
from suitability.decide.judge import shares, value_of


@dataclass(frozen=True)
class Part:
    """What one criterion adds to a place's score.

    Parameters
    ----------
    layer, unit : str
        The measure.
    raw, value : float
        As measured (in the unit), and on the value function (0..1).
    share : float
        The criterion's weight as a share of them all.
    contribution : float
        Value times share.
    better_at : float or None
        The nearest measure at which the value would be its curve's highest; None where it is.
    lift : float
        What the score would gain there; NaN where the measure is missing.
    basis, evidence : str
        Where weight and curve come from, and how firm that is.
    conflict : str or None
        Where sources disagree.
    """

    layer: str
    unit: str
    raw: float
    value: float
    share: float
    contribution: float
    better_at: float | None
    lift: float
    basis: str
    evidence: str
    conflict: str | None


def explain_place(criteria: Sequence[Criterion], raw: Mapping[str, float]) -> tuple[Part, ...]:
    """Return the parts of a place's score, in the criteria's order.

    Parameters
    ----------
    criteria : sequence of Criterion
        What counts.
    raw : mapping
        The place's measures by layer name; NaN where missing.
    """
    parts = []
    for criterion, share in zip(criteria, shares(criteria), strict=True):
        measure = float(raw[criterion.layer])
        value = float(value_of(measure, criterion.knots))
        # As values are, in single precision: else a curve's highest, 0.7, would seem below itself.
        best = float(np.float32(max(height for _, height in criterion.knots)))
        parts.append(
            Part(
                criterion.layer,
                criterion.unit,
                measure,
                value,
                share,
                value * share if share else 0.0,  # without weight, a missing measure is no matter
                _better_at(criterion.knots, measure, value, best),
                (best - value) * share,
                criterion.basis,
                criterion.evidence,
                criterion.conflict,
            )
        )
    return tuple(parts)


def limiting(parts: Sequence[Part]) -> Part | None:
    """Return the limiting criterion, the one of the lowest value; None where all are at their best.

    Of equals the heaviest limits, then the first. A missing measure limits before any other; a
    criterion without weight never does.
    """
    lacking = [part for part in parts if part.share > 0 and not part.value >= 1]
    if not lacking:
        return None
    return min(lacking, key=lambda part: (np.nan_to_num(part.value, nan=-1.0), -part.share))


def _better_at(
    knots: Sequence[tuple[float, float]], measure: float, value: float, best: float
) -> float | None:
    if not value < best:  # also where the measure is missing
        return None
    highest = max(height for _, height in knots)
    return min((at for at, height in knots if height == highest), key=lambda at: abs(at - measure))
