"""The report on who moved in: what the register knows, as a page of results."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from suitability.box.timing import occupied_at
from suitability.follow_up.results import (
    MONTH_DAYS,
    USED_IN_HALF_A_YEAR,
    USED_IN_TWO_YEARS,
    groups,
    overall,
    season_seen,
    used_within,
    waiting,
    waiting_seen,
    watched,
)
from suitability.follow_up.shares import Share
from suitability.outputs.cautions import short_caution
from suitability.outputs.picture_page import Words, percent
from suitability.outputs.results_page import FirstSeen, ResultsContent, ShareRow
from suitability.quantities import Quantities

_FEW = 10


def report_of(
    title: str,
    placements: pd.DataFrame,
    visits: pd.DataFrame,
    quantities: Quantities,
) -> ResultsContent:
    """Return the page of results.

    Parameters
    ----------
    title : str
        What boxes.
    placements, visits : pandas.DataFrame
        As `results.watched` wants them, with `lat_deg` and what `results.groups` groups by.
    quantities : Quantities
        How lengths are told.
    """
    told = watched(placements, visits)
    share = overall(told)
    found, seen = waiting(told), waiting_seen(told)
    rows = [_row("all", "all boxes", share)]
    rows += [_row(group.by, group.name, group.share) for group in groups(told, quantities)]
    last = visits["date"].max()
    watched_days = (last - placements["put_up"].min()).days if len(visits) else 0
    return ResultsContent(
        words=Words(
            f"{title}: who moved into the bat boxes",
            tuple(_lines(told, share, visits)),
            (_KEY, short_caution()),
        ),
        rows=rows,
        months=found.time / MONTH_DAYS,
        unused=found.share,
        seen=FirstSeen(seen.time / MONTH_DAYS, seen.share, seen.low, seen.high),
        until_months=watched_days / MONTH_DAYS,
        seasons=_seasons(placements, visits),
    )


_KEY = (
    "A box in one place counts as one; a box that was moved counts again where it went. Boxes that "
    "nobody looked at are left out: a box never checked is no empty box. Intervals: Wilson 1927. "
    "Waiting times lie between two visits and are estimated from those intervals (Turnbull 1976); "
    "by the day on which bats were first seen waits come out longer (Kaplan and Meier 1958; boxes "
    "that were looked at within a year of being put up). Boxes differ in more than one thing at "
    "once, so no row says what caused what."
)


def _seasons(placements: pd.DataFrame, visits: pd.DataFrame) -> list[tuple[str, str, str, str]]:
    """Return by latitude and year the days with bats, and what is usual at that latitude."""
    usual = placements["lat_deg"].map(occupied_at)
    rows = []
    for season, ground in dict.fromkeys(usual):
        here = placements[[each == (season, ground) for each in usual]]
        lat = here["lat_deg"].mean()
        at = f"{abs(lat):.0f}° {'N' if lat >= 0 else 'S'}"
        seen = season_seen(visits[visits["placement"].isin(here["placement"])])
        rows += [
            (f"{row.year}, {at}", f"{row.first:%m-%d}", f"{row.last:%m-%d}", f"{row.visits:,}")
            for row in seen.itertuples()
        ]
        if len(seen):
            rows.append((f"usual, {at}", season.start, season.end, f"({ground.evidence})"))
    return rows


def _lines(told: pd.DataFrame, share: Share, visits: pd.DataFrame) -> Iterator[str]:
    if not share.boxes:
        yield f"{len(told):,} boxes; no visit has told yet whether bats are in one."
        return
    first, last = visits["date"].min(), visits["date"].max()
    yield (
        f"{share.used} of {share.boxes} boxes that were looked at have had bats: "
        f"{percent(share.used / share.boxes)} (95% interval {share.low:.0%} to {share.high:.0%}). "
        f"{len(visits):,} visits from {first:%Y-%m-%d} to {last:%Y-%m-%d}."
    )
    unseen = int((told["looks"] == 0).sum())
    if unseen:
        yield f"{unseen} more {'was' if unseen == 1 else 'were'} never looked at, or not well."
    if share.used:
        half, two = (used_within(told, months * MONTH_DAYS) for months in (6, 24))
        yield (
            f"Of the boxes with bats {percent(half)} had them within six months and "
            f"{percent(two)} within two years of being put up; common practice, without a "
            f"published source, says {USED_IN_HALF_A_YEAR:.0%} and {USED_IN_TWO_YEARS:.0%}."
        )
    if share.boxes < _FEW:
        yield "So few boxes tell little: read the intervals, not the shares."


def _row(by: str, name: str, share: Share) -> ShareRow:
    return ShareRow(by, name, share.used, share.boxes, share.low, share.high)
