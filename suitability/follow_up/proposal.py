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


def rank_changes(
    sites: Sequence[int], before: Sequence[int], after: Sequence[int]
) -> tuple[str, ...]:
    """Return how sites move in the list, in words, those that move most first.

    Parameters
    ----------
    sites, before, after : sequence of int
        What a site is called; its place in the list by the present and by other weights.
    """
    moved = [each for each in zip(sites, before, after, strict=True) if each[1] != each[2]]
    moved.sort(key=lambda each: (-abs(each[1] - each[2]), each[0]))
    return tuple(f"site {site} would be {now}" for site, _, now in moved)
