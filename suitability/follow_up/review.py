"""Which boxes want something: a first look, a yearly check, another place, or nothing yet.

The rule of moving is common practice: a box that stayed empty for two full active seasons is moved.
A season counts as empty only if somebody looked well in it; a box that nobody looked at is not an
empty box, and a season without a look breaks the count.

Seasons are called by the year in which they begin, for in the south they go over New Year.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.config.days import PartOfYear
from suitability.follow_up.visit_form import EMPTY, IN_USE

NEW, WAITING, IN_USE_NOW = "new", "waiting", "occupied"
OVERDUE, DUE_TO_MOVE = "overdue for its yearly check", "due to move"
STATES = {
    OVERDUE: "nobody looked well for more than a year",
    DUE_TO_MOVE: "looked at and empty in each of two full active seasons, without a sign since",
    IN_USE_NOW: "bats or their signs in the last season in which somebody looked",
    WAITING: "looked at, and not yet empty for two full seasons",
    NEW: "up for less than a year, and nobody looked yet",
}
YEAR_DAYS = 365

Days = NDArray[np.datetime64]
Years = NDArray[np.int64]
Bool = NDArray[np.bool_]


def review(
    placements: pd.DataFrame, visits: pd.DataFrame, *, on: date, seasons: Iterable[PartOfYear]
) -> pd.DataFrame:
    """Say of each box that is up on a day how it stands.

    Parameters
    ----------
    placements, visits : pandas.DataFrame
        As `Register.placements` and `Register.visits` give them.
    on : datetime.date
        The day; what comes later is not looked at.
    seasons : iterable of PartOfYear
        When bats may be in each of the placements.

    Returns
    -------
    pandas.DataFrame
        The placements that are up, with `state` (one of `STATES`), `last_look` (the last visit
        that told of use or of none), `last_sign` (datetime64, NaT where there is none),
        `empty_seasons` (full ones in a row up to the last, each looked at, since any sign) and
        `seasons` (full ones).
    """
    today = np.datetime64(on, "D")
    up = (placements["put_up"] <= today) & ~(placements["taken_down"] <= today)
    kept = placements[up].reset_index(drop=True)
    season = _Seasons([s for s, is_up in zip(seasons, up, strict=True) if is_up])
    put_up = kept["put_up"].to_numpy("datetime64[D]")
    last = season.last_over(today)
    first = season.first_from(put_up)
    place, day, used, empty = _looks(kept, visits, today)
    year = season.year_of(place, day)
    # A sign tells of its season whenever it is found; only looks within it tell of emptiness.
    last_sign_year = _latest(place[used], year[used], len(kept))
    within = empty & season.holds(place, year, day)
    count = _empty_in_a_row(place[within], year[within], first, last, last_sign_year)
    last_look_year = _latest(place[within | used], year[within | used], len(kept))
    last_look = _latest_day(place, day, len(kept))
    waited = today - np.where(np.isnat(last_look), put_up, last_look)
    overdue = waited > np.timedelta64(YEAR_DAYS, "D")
    in_use = (last_sign_year > _NEVER) & (last_sign_year >= last_look_year)
    state = np.select(
        [overdue, count >= 2, in_use, np.isnat(last_look)],
        [OVERDUE, DUE_TO_MOVE, IN_USE_NOW, NEW],
        WAITING,
    )
    return kept.assign(
        state=state,
        last_look=last_look.astype("datetime64[s]"),
        last_sign=_latest_day(place[used], day[used], len(kept)).astype("datetime64[s]"),
        empty_seasons=count,
        seasons=np.maximum(last - first + 1, 0),
    )


_NEVER = -1_000_000  # a year before all


class _Seasons:
    """The active season of each placement, by the year in which it begins."""

    def __init__(self, seasons: list[PartOfYear]) -> None:
        days = [(_month_day(each.start), _month_day(each.end)) for each in seasons]
        self._ends = np.array(days, np.int64).reshape(-1, 2, 2)  # (n, start or end, month or day)
        start, end = self._ends[:, 0], self._ends[:, 1]
        # Over New Year if it ends on an earlier day of the year than it starts.
        self._years_on = ((end @ [100, 1]) < (start @ [100, 1])).astype(np.int64)

    def start(self, year: Years, place: Years | slice = slice(None)) -> Days:
        """Return the first day of the season of a year."""
        return _day(year, *self._ends[place, 0].T)

    def end(self, year: Years, place: Years | slice = slice(None)) -> Days:
        """Return the last day of the season of a year."""
        return _day(year + self._years_on[place], *self._ends[place, 1].T)

    def year_of(self, place: Years, day: Days) -> Years:
        """Return the year of the season that had last begun on a day."""
        year = _year(day)
        return year - (day < self.start(year, place))

    def holds(self, place: Years, year: Years, day: Days) -> Bool:
        """Tell whether days lie in a season that has begun."""
        return np.asarray(day <= self.end(year, place))

    def last_over(self, today: np.datetime64) -> Years:
        """Return the year of the last season that is over."""
        year = np.full(len(self._ends), _year(np.array(today))) - self._years_on
        return year - (today <= self.end(year))

    def first_from(self, put_up: Days) -> Years:
        """Return the year of the first season that begins when a box is up."""
        year = _year(put_up)
        return year + (self.start(year) < put_up)


def _looks(
    placements: pd.DataFrame, visits: pd.DataFrame, today: np.datetime64
) -> tuple[Years, Days, Bool, Bool]:
    """Return place, day, use and emptiness of the visits that tell of either."""
    numbers = pd.Index(placements["placement"])
    place = numbers.get_indexer(visits["placement"])
    day = visits["date"].to_numpy("datetime64[D]")
    used = visits["state"].isin(IN_USE).to_numpy()
    empty = visits["state"].isin(EMPTY).to_numpy()
    counts = (place >= 0) & (day <= today) & (used | empty)
    return place[counts].astype(np.int64), day[counts], used[counts], empty[counts]


def _empty_in_a_row(place: Years, year: Years, first: Years, last: Years, sign: Years) -> Years:
    """Count full seasons in a row up to the last one, each with a look, all after any sign."""
    count = np.zeros(len(first), np.int64)
    going = np.ones(len(first), np.bool_)
    while going.any():
        wanted = last - count
        looked = np.zeros(len(first), np.bool_)
        looked[place[year == wanted[place]]] = True
        going &= looked & (wanted >= first) & (wanted > sign)
        # A sign of the running season ends the count, too: it lies after all that are over.
        going &= sign <= last
        count += going
    return count


def _latest(place: Years, year: Years, count: int) -> Years:
    found = np.full(count, _NEVER, np.int64)
    np.maximum.at(found, place, year)
    return found


def _latest_day(place: Years, day: Days, count: int) -> Days:
    found = _latest(place, day.astype(np.int64), count)
    return np.where(found == _NEVER, np.datetime64("NaT", "D"), found.astype("datetime64[D]"))


def _month_day(text: str) -> tuple[int, int]:
    month, day = text.split("-")
    return int(month), int(day)


def _year(day: Days) -> Years:
    return day.astype("datetime64[Y]").astype(np.int64) + 1970


def _day(year: Years, month: Years, day: Years) -> Days:
    months = ((year - 1970) * 12 + month - 1).astype("datetime64[M]")
    found: Days = months.astype("datetime64[D]") + (day - 1).astype("timedelta64[D]")
    return found
