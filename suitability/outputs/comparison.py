"""What two runs differ in, in words and for the record."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

import pandas as pd

from suitability.decide.compared import SAME_SCORE, ScoreChange
from suitability.outputs.comparison_settings import Asked

# What may have become of a site.
SITE_CHANGES = ("stayed", "moved", "came", "went")


@dataclass(frozen=True)
class Comparison:
    """What two runs differ in.

    Parameters
    ----------
    names : tuple of str
        The folders of the first and the second run.
    settings : tuple of Asked
        Settings, criteria, inputs and grid that differ.
    land : ScoreChange
        How scores moved on the common land.
    common_share : tuple of float
        How much of each run's land is common.
    sites : pandas.DataFrame
        A row a site: `change` is stayed, moved, came or went; `kind` is what it hangs on, where
        a run looks at walls.
    walls : tuple of str
        What changed along walls, a sentence or two each; none where no run looks at walls.
    """

    names: tuple[str, str]
    settings: tuple[Asked, ...]
    land: ScoreChange
    common_share: tuple[float, float]
    sites: pd.DataFrame
    walls: tuple[str, ...] = ()

    @property
    def in_words(self) -> tuple[str, ...]:
        """What happened to land, walls and sites, a sentence or two each."""
        return (*self.walls, *land_in_words(self.land), sites_in_words(self.sites))


def walls_in_words(old: Mapping[str, Any], new: Mapping[str, Any]) -> tuple[str, ...]:
    """Return what changed along walls between two runs, by their records.

    Parameters
    ----------
    old, new : mapping
        The records; `choice.walls` is there where a run looks at walls.
    """
    before, after = (record["choice"].get("walls") for record in (old, new))
    if before is None and after is None:
        return ()
    lines = ["Cells are judged for poles; of walls the sites tell the scores."]
    if before is None or after is None:
        which, walls = ("second", after) if before is None else ("first", before)
        return (*lines, f"Only the {which} run looks at walls: {_along(walls)}.")
    out = [
        f"{words} ({before['out'].get(words, 0):,}, now {after['out'].get(words, 0):,})"
        for words in dict.fromkeys((*after["out"], *before["out"]))
        if before["out"].get(words, 0) != after["out"].get(words, 0)
    ]
    changed = f"; out by another count: {'; '.join(out)}" if out else ""
    same = _along(before) == _along(after)
    counts = f"{_along(after)}{' in both' if same else f' now, {_along(before)} before'}"
    lines.append(f"Walls: {counts}{changed}.")
    return tuple(lines)


def _along(walls: Mapping[str, Any]) -> str:
    return f"{walls['candidates']:,} candidates of {walls['along_walls']:,} places along walls"


def land_in_words(land: ScoreChange) -> tuple[str, ...]:
    """Return how scores moved, and what land came in or went out, a sentence or two each."""
    if not land.both:
        moved = "No cell is a candidate in both runs."
    else:
        fall, rise = land.extremes
        alike = "" if math.isnan(land.correlation) else f"; correlation {land.correlation:.3f}"
        moved = (
            f"{land.both:,} cells are candidates in both runs: the score rose by {SAME_SCORE:g} or "
            f"more on {land.up / land.both:.1%} of them and fell so on "
            f"{land.down / land.both:.1%}; it moved by {land.mean:+.3f} on the mean "
            f"({land.mean_either_way:.3f} either way), from {fall:+.3f} to {rise:+.3f}{alike}."
        )
    lines = [moved]
    for name, cells, reasons, when in (
        ("came in", land.came_in, land.in_by, "were out before"),
        ("went out", land.went_out, land.out_by, "are out now"),
    ):
        if cells:
            ordered = sorted(reasons.items(), key=lambda item: (-item[1], item[0]))
            by = "; ".join(f"{words} ({count:,})" for words, count in ordered)
            lines.append(f"{cells:,} cells {name}; they {when}: {by}.")
    return tuple(lines)


def sites_in_words(sites: pd.DataFrame) -> str:
    """Return how many sites stayed, moved, came and went."""
    counts = {
        name: int((sites["change"] == name).sum()) for name in ("stayed", "moved", "came", "went")
    }
    return "Sites: " + ", ".join(f"{count} {name}" for name, count in counts.items()) + "."


def comparison_record(found: Comparison) -> dict[str, Any]:
    """Return all that a comparison found, as plain values."""
    land = found.land
    return {
        "first": found.names[0],
        "second": found.names[1],
        "settings": [asdict(asked) for asked in found.settings],
        "common_land_share": {"first": found.common_share[0], "second": found.common_share[1]},
        "scores": {
            "cells": land.cells,
            "candidates_of_both": land.both,
            "moved_counts_from": SAME_SCORE,
            "rose": land.up,
            "fell": land.down,
            "mean_change": land.mean,
            "mean_size_of_change": land.mean_either_way,
            "furthest_fall": land.extremes[0],
            "furthest_rise": land.extremes[1],
            "correlation": land.correlation,
            "came_in": land.came_in,
            "came_in_was_out_by": land.in_by,
            "went_out": land.went_out,
            "went_out_by": land.out_by,
        },
        "walls": found.walls,
        "sites": [
            {key: None if pd.isna(value) else value for key, value in row.items()}
            for row in found.sites.to_dict("records")
        ],
    }
