"""Proposed weights as a piece of a run file, to be looked at and taken over by hand."""

from __future__ import annotations

import json
from collections.abc import Sequence

from suitability.decide import Judgement
from suitability.follow_up.learning import Proposal

_HEAD = """\
# Weights proposed from the use of boxes: {told}.
# Nothing was changed. Look at them, compare a run with them to one without (`suitability compare`),
# and only then let them take the place of `criteria` (and `weighing`) in the run file.
# In brackets: nine tenths of the weights that the same boxes, drawn again, would give.
"""


def proposed_criteria(judgement: Judgement, proposal: Proposal, told: str) -> str:
    """Return YAML: the criteria of a run with proposed weights.

    Parameters
    ----------
    judgement : Judgement
        Of the run: a weighted mean, whose groups are taken apart, as its score adds up.
    proposal : Proposal
        A weight for each criterion, in the judgement's order.
    told : str
        From what, in a line.

    Raises
    ------
    ValueError
        If the score does not add up; then shares are no weights.
    """
    if not judgement.adds_up:
        msg = "the run does not combine its criteria by weighted means"
        raise ValueError(msg)
    lines = [_HEAD.format(told=" ".join(told.split())), "criteria:\n"]
    for leaf, now, then, low, high in zip(
        judgement.leaves,
        judgement.shares,
        proposal.weights,
        proposal.low,
        proposal.high,
        strict=True,
    ):
        stated = leaf.criterion.model_dump(mode="json", exclude_none=True)
        told_weight = f"now {now:.3f}; [{low:.3f}, {high:.3f}]"
        lines.append(f"  - layer: {_flow(leaf.name)}\n")
        lines.append(f"    weight: {then:.4f}  # {told_weight}\n")
        lines.extend(
            f"    {key}: {_flow(stated[key])}\n"
            for key in ("value", "basis", "evidence", "conflict")
            if key in stated
        )
    return "".join(lines)


def _flow(value: object) -> str:
    """Return a value as JSON, which is YAML and quotes every text."""
    return json.dumps(value, ensure_ascii=False)


def rank_changes(before: Sequence[int], after: Sequence[int]) -> tuple[str, ...]:
    """Return how places move in the list, in words, those that move most first."""
    moved = [(was, now) for was, now in zip(before, after, strict=True) if was != now]
    moved.sort(key=lambda pair: (-abs(pair[0] - pair[1]), pair[0]))
    return tuple(f"site {was} would be {now}" for was, now in moved)
