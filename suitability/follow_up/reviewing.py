"""A register looked through on a day: how each box stands, and where those to move may go."""

from __future__ import annotations

import math
import os
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import pandas as pd

from suitability.box.timing import occupied_at
from suitability.config.days import PartOfYear
from suitability.config.load import section_of
from suitability.errors import InputError
from suitability.finished import FinishedRun
from suitability.follow_up.free_sites import Proposal, compared_by, propose_moves
from suitability.follow_up.register import open_register
from suitability.follow_up.review import DUE_TO_MOVE, STATES, review
from suitability.outputs.spreadsheet import harmless, write_table
from suitability.quantities import Quantities


@dataclass(frozen=True)
class Reviewed:
    """How the boxes of a register stand.

    Parameters
    ----------
    boxes : pandas.DataFrame
        As `review` returns them.
    proposals : tuple of Proposal
        Free sites for those due to move; none without a run.
    seasons : tuple of str
        When bats were taken to be in boxes, with where that comes from.
    quantities : Quantities
        How the run tells lengths.
    compared : tuple of str
        What is told of the place of a box that is to move, and of the free site.
    """

    boxes: pd.DataFrame
    proposals: tuple[Proposal, ...]
    seasons: tuple[str, ...]
    quantities: Quantities
    compared: tuple[str, ...]

    @property
    def unplaced(self) -> int:
        """How many boxes are due to move and have no free site."""
        return int((self.boxes["state"] == DUE_TO_MOVE).sum()) - len(self.proposals)


def review_register(
    address: str | os.PathLike[str],
    *,
    on: date,
    run: str | os.PathLike[str] | None = None,
    season: PartOfYear | None = None,
) -> Reviewed:
    """Say of each box of a register that is up on a day how it stands.

    Parameters
    ----------
    address : str or path
        Of the register.
    on : datetime.date
        The day.
    run : path, optional
        Folder of a finished run, whose free sites are proposed, and whose `box: occupied` counts.
    season : PartOfYear, optional
        When bats may be in boxes; left out, as the run says, else by the latitude of each box.

    Raises
    ------
    InputError
        If the register or the run cannot be read.
    """
    register = open_register(address)
    with register.reading() as connection:
        placements, visits = register.placements(connection), register.visits(connection)
    finished = None if run is None else FinishedRun.of(run)
    seasons, told = _seasons(placements, season, finished)
    boxes = review(placements, visits, on=on, seasons=seasons)
    due = boxes[boxes["state"] == DUE_TO_MOVE]
    proposals = () if finished is None else propose_moves(finished, boxes, due)
    quantities = finished.quantities if finished else Quantities()
    return Reviewed(boxes, proposals, told, quantities, tuple(compared_by(finished)))


def part_of_year(start: str, end: str) -> PartOfYear:
    """Return a part of the year as it was stated.

    Raises
    ------
    ConfigError
        If one of the two is no day of the year.
    """
    text = f"start: '{start}'\nend: '{end}'\n"
    return section_of(text, "--season", PartOfYear, begins="start: and end:")


def told_boxes(boxes: pd.DataFrame) -> pd.DataFrame:
    """Return reviewed boxes as texts, those that want something first."""
    order = {state: number for number, state in enumerate(STATES)}
    sorted_boxes = boxes.sort_values(
        ["state", "box"], key=lambda told: told.map(order) if told.name == "state" else told
    )
    columns: dict[str, pd.Series] = {"box": sorted_boxes["box"], "state": sorted_boxes["state"]}
    for name in ("put_up", "last_look", "last_sign"):
        columns[name] = sorted_boxes[name].dt.strftime("%Y-%m-%d").fillna("")
    columns["empty_seasons"] = sorted_boxes["empty_seasons"].astype(str)
    return pd.DataFrame(columns)


def write_review(path: str | os.PathLike[str], found: Reviewed) -> None:
    """Write a row a box as CSV, with the site that it might move to and what is different there.

    Parameters
    ----------
    path : path
        Where to.
    found : Reviewed
        What to write.

    Raises
    ------
    InputError
        If it cannot be written.
    """
    told = told_boxes(found.boxes)
    moves = {proposal.box: proposal for proposal in found.proposals}
    rows = []
    for row in told.itertuples(index=False, name=None):
        proposal = moves.get(row[0])
        cells = [harmless(row[0]), *row[1:], proposal.site if proposal else ""]
        for name in found.compared:
            pair = proposal.measures[name] if proposal else (math.nan, math.nan)
            cells += ["" if math.isnan(value) else f"{value:g}" for value in pair]
        rows.append(cells)
    measured = (f"{when}_{name}" for name in found.compared for when in ("now", "there"))
    try:
        write_table(path, (*told.columns, "might_move_to", *measured), rows)
    except OSError as exc:
        msg = f"this cannot be written: {exc.strerror}"
        raise InputError(msg, where=path, fix="name another file with --to") from exc


def _seasons(
    placements: pd.DataFrame, stated: PartOfYear | None, run: FinishedRun | None
) -> tuple[Sequence[PartOfYear], tuple[str, ...]]:
    whence = "as stated"
    if stated is None and run is not None and (kept := run.settings["box"].get("occupied")):
        stated, whence = PartOfYear.model_validate(kept), "as the run states"
    if stated is not None:
        return [stated] * len(placements), (f"{stated}, {whence}",)
    found = [occupied_at(lat) for lat in placements["lat_deg"]]
    told = {f"{season}, {ground.evidence}: {ground.basis}": None for season, ground in found}
    return [season for season, _ in found], tuple(told)
