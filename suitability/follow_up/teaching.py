"""What the boxes of a register teach about the weights of a run."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.decide import value_of
from suitability.errors import ResultError
from suitability.finished import FinishedRun
from suitability.follow_up.learning import Learned, learn, ranks_by, told_weights
from suitability.follow_up.proposal import proposed_criteria, rank_changes
from suitability.follow_up.results import watched
from suitability.outputs.atomic import write_text
from suitability.outputs.cautions import short_caution
from suitability.outputs.learned_picture import MovedWeight, UseByScore, draw_learned
from suitability.outputs.picture_page import Words
from suitability.outputs.record import RECORD

Float64 = NDArray[np.float64]

PATCH = "proposed_criteria.yaml"

_WATCHED_DAYS = 365


@dataclass(frozen=True)
class Taught:
    """What boxes teach, with the words and rows to tell it.

    Parameters
    ----------
    learned : Learned
        In numbers.
    names : tuple of str
        Of the criteria, in the order of weights.
    present : numpy.ndarray
        Their weights at present, adding up to 1.
    left_out : int
        Boxes on walls, beyond the run's land, or where it lacks a measure.
    too_new : int
        Boxes without bats that were not watched for a year.
    moves : tuple of str
        How the run's sites would move in the list.
    patch : str or None
        Criteria with the proposed weights, as YAML.
    """

    learned: Learned
    names: tuple[str, ...]
    present: Float64
    left_out: int
    too_new: int
    moves: tuple[str, ...]
    patch: str | None

    @property
    def lines(self) -> tuple[str, ...]:
        """What was found, a sentence or two each."""
        return tuple(self._lines())

    def _lines(self) -> Iterator[str]:
        found = self.learned
        yield f"{found.used} of {found.boxes} boxes that were watched for a year or more are in use"
        if self.too_new:
            yield f"{self.too_new} without bats were not watched for a year yet: left out"
        if self.left_out:
            yield f"{self.left_out} hang where the run measures nothing, or on walls: left out"
        if found.odds_per_tenth is not None:
            odds, low, high = found.odds_per_tenth
            most = f"{high:.2g}" if np.isfinite(high) else "any number"
            yield (
                f"with each tenth of score the odds of use rise {odds:.2g} times (95% interval "
                f"{low:.2g} to {most})"
            )
        if found.proposal is None:
            yield found.why_not
            return
        yield from told_weights(self.names, self.present, found.proposal)
        if self.moves:
            yield f"in the list: {'; '.join(self.moves)}"
        else:
            yield "the run's sites would keep their order"

    def words(self, title: str) -> Words:
        """Return what stands around the picture."""
        return Words(f"{title}: what boxes have taught", self.lines, (_KEY, short_caution()))

    @property
    def classes(self) -> list[UseByScore]:
        """Rows of the picture."""
        return [
            UseByScore(
                each.low, each.high, each.mean, each.share.used, each.share.boxes,
                each.share.low, each.share.high,
            )
            for each in self.learned.classes
        ]  # fmt: skip

    @property
    def weights(self) -> list[MovedWeight]:
        """Rows of the picture; none where no weights are proposed."""
        proposal = self.learned.proposal
        if proposal is None:
            return []
        parts = zip(
            self.names, self.present, proposal.weights, proposal.low, proposal.high, strict=True
        )
        return [MovedWeight(name, *map(float, numbers)) for name, *numbers in parts]


_KEY = (
    "A score is no chance of use; this is how use has gone with it here. Weights are proposed, "
    "never taken over: boxes were not hung at random, so what they teach holds for places like "
    "theirs. Fitted by logistic regression with Firth's penalty, the present weights as prior."
)


def teach(run: FinishedRun, placements: pd.DataFrame, visits: pd.DataFrame) -> Taught:
    """Return what boxes teach about the weights of a run.

    Parameters
    ----------
    run : FinishedRun
        Its land, and its weights.
    placements, visits : pandas.DataFrame
        As `results.watched` wants them, placements with `kind`, `lon_deg` and `lat_deg`.

    Raises
    ------
    ResultError
        If the run does not combine its criteria by weighted means.
    """
    judgement = run.judgement
    if not judgement.adds_up:
        msg = "weights are learnt for weighted means alone, and this run combines otherwise"
        raise ResultError(
            msg, where=run.folder / RECORD, fix="screen with `combine: weighted mean`"
        )
    told = watched(placements, visits)
    told = told[told["looks"] > 0]
    last = visits["date"].max()
    settled = (last - told["put_up"]).dt.days >= _WATCHED_DAYS
    known = settled & (told["used"] | (told["after_days"] >= _WATCHED_DAYS))
    watched_long = told[known]
    values = _values_at(run, watched_long)
    measured = np.isfinite(values).all(axis=1)
    present = np.asarray(judgement.shares, np.float64)
    used = watched_long["used"].to_numpy(np.bool_)[measured]
    learned = learn(values[measured], used, present)
    moves: tuple[str, ...] = ()
    patch = None
    names = tuple(leaf.name for leaf in judgement.leaves)
    if learned.proposal is not None:
        told_by = f"{learned.used} of {learned.boxes} boxes in use, last visit {last:%Y-%m-%d}"
        patch = proposed_criteria(judgement, learned.proposal, told_by)
        moves = _moves(run, present, learned.proposal.weights)
    return Taught(
        learned=learned,
        names=names,
        present=present,
        left_out=int((~measured).sum()),
        too_new=int((~known).sum()),
        moves=moves,
        patch=patch,
    )


def write_taught(folder: str | os.PathLike[str], title: str, taught: Taught) -> tuple[Path, ...]:
    """Write the picture and, where weights are proposed, those; return where they lie.

    An earlier proposal goes where there is none any more.

    Parameters
    ----------
    folder : path
        Where to.
    title : str
        What land.
    taught : Taught
        What boxes teach.
    """
    picture, patch = Path(folder) / "learned.png", Path(folder) / PATCH
    draw_learned(picture, taught.words(title), taught.classes, taught.weights)
    if taught.patch is None:
        patch.unlink(missing_ok=True)
        return (picture,)
    write_text(patch, taught.patch)
    return picture, patch


def _values_at(run: FinishedRun, places: pd.DataFrame) -> Float64:
    """Return the value of each criterion at places, (n, k); NaN where there is none."""
    lon, lat = (places[name].to_numpy(np.float64) for name in ("lon_deg", "lat_deg"))
    there = [run.grid.from_lonlat(*place) for place in zip(lon, lat, strict=True)]
    x_m, y_m = np.array(there, np.float64).reshape(-1, 2).T
    # Of walls the rasters say nothing: what they have there is of a pole.
    wall = (places["kind"] == "wall").to_numpy()
    raw = {leaf.name: run.measures(leaf.name, x_m, y_m) for leaf in run.judgement.leaves}
    return _values(run, {name: np.where(wall, np.nan, there) for name, there in raw.items()})


def _moves(run: FinishedRun, present: Float64, proposed: Float64) -> tuple[str, ...]:
    """Return how the run's own sites would move in the list."""
    sites = run.sites
    values = _values(run, {leaf.name: sites[leaf.name].to_numpy() for leaf in run.judgement.leaves})
    now, then = (ranks_by(values, weights).tolist() for weights in (present, proposed))
    return rank_changes(sites["rank"].tolist(), now, then)


def _values(run: FinishedRun, raw: dict[str, Float64]) -> Float64:
    found = [value_of(raw[leaf.name], leaf.curve) for leaf in run.judgement.leaves]
    return np.array(found, np.float64).T
