"""Who moved in: shares of boxes in use, and how long they waited, by what boxes are and where.

Tables come as the register gives them. A *placement* is a box in one place from a day on; a box
that was moved starts anew. A visit tells of use if bats or their signs were seen, of none if it was
well looked; a visit that could not look tells nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.follow_up.first_use import Waiting, waiting_between, waiting_exact
from suitability.follow_up.shares import Share, share_of
from suitability.follow_up.visit_form import EMPTY, IN_USE
from suitability.quantities import Quantities

_YEAR_DAYS = 365.25
MONTH_DAYS = _YEAR_DAYS / 12

# Common practice, of the boxes that get used at all: no published source was found.
USED_IN_HALF_A_YEAR, USED_IN_TWO_YEARS = 0.70, 0.96

Naming = Callable[[pd.Series], pd.Series]  # from a column to a categorical of it

_EIGHTHS = (
    "north",
    "north-east",
    "east",
    "south-east",
    "south",
    "south-west",
    "west",
    "north-west",
)
_EIGHTH_DEG = 45.0


@dataclass(frozen=True)
class Group:
    """Boxes that are alike in one thing.

    Parameters
    ----------
    by, name : str
        In what, and how.
    share : Share
        In use, of those that were looked at.
    """

    by: str
    name: str
    share: Share


def watched(placements: pd.DataFrame, visits: pd.DataFrame) -> pd.DataFrame:
    """Return what visits tell of each placement.

    Parameters
    ----------
    placements : pandas.DataFrame
        `placement` (unique), `put_up` (datetime64).
    visits : pandas.DataFrame
        `placement`, `date` (datetime64), `state`.

    Returns
    -------
    pandas.DataFrame
        The placements, in their order, with `looks` (visits that tell something),
        `first_look_days` (from putting up; NaN without any), `used` (bool),
        `after_days` and `until_days`: first use lies after the one and until the other, counted
        from putting up; `until_days` is infinite where no use was seen.
    """
    telling = visits[visits["state"].isin((*IN_USE, *EMPTY))]
    telling = telling.merge(placements[["placement", "put_up"]], on="placement")
    days = (telling["date"] - telling["put_up"]).dt.days.clip(lower=0).astype(np.float64)
    use = telling["state"].isin(IN_USE)
    first = days[use].groupby(telling.loc[use, "placement"]).min()
    until = placements["placement"].map(first)
    limit = telling["placement"].map(first).fillna(np.inf)
    before = ~use & (days < limit)
    last = days[before].groupby(telling.loc[before, "placement"]).max()
    looks = placements["placement"].map(telling.groupby("placement").size())
    begun = days.groupby(telling["placement"]).min()
    return placements.assign(
        looks=looks.fillna(0).astype(np.int64),
        first_look_days=placements["placement"].map(begun),
        used=until.notna(),
        after_days=placements["placement"].map(last).fillna(0.0),
        until_days=until.fillna(np.inf),
    )


def waiting(told: pd.DataFrame) -> Waiting:
    """Return the share of placements still without bats by days since putting up.

    Placements that nobody looked at tell nothing.
    """
    seen = told[told["looks"] > 0]
    # Signs on the day of putting up are those of an exact day: the interval (0, 0] is none.
    return waiting_between(seen["after_days"], seen["until_days"])


def waiting_seen(told: pd.DataFrame) -> Waiting:
    """Return the share still without bats as if they had come on the day when they were seen.

    They came earlier, so real waits are rather shorter; but this estimate has an interval. It is
    of boxes that were looked at within a year of putting up: of others the day tells nothing.
    """
    seen = told[told["first_look_days"] <= _YEAR_DAYS]
    days = seen["until_days"].where(seen["used"], seen["after_days"])
    return waiting_exact(days, seen["used"])


def groups(told: pd.DataFrame, quantities: Quantities) -> Iterator[Group]:
    """Yield shares in use by kind, facing, colour, chambers, sun and distance to water.

    Parameters
    ----------
    told : pandas.DataFrame
        As `watched` returns it, with any of the columns `kind`, `facing_deg`, `colour`, `chambers`,
        `direct_sun_h`, `water_distance_m`; rows without a value are left out of that grouping.
    quantities : Quantities
        How lengths are told.
    """
    seen = told[told["looks"] > 0]
    for by, column, names in _groupings(quantities):
        if column not in seen:
            continue
        known = seen[seen[column].notna()]
        named = names(known[column])
        for name in named.cat.categories:
            these = known[named == name]
            if len(these):
                yield Group(by, str(name), share_of(int(these["used"].sum()), len(these)))


def overall(told: pd.DataFrame) -> Share:
    """Return the share in use of all placements that were looked at."""
    seen = told[told["looks"] > 0]
    return share_of(int(seen["used"].sum()), len(seen))


def used_within(told: pd.DataFrame, days: float) -> float:
    """Return which share of the placements that were ever used was used so soon; NaN if none was.

    As common practice counts: of boxes with bats alone. By the first visit that saw it, so real
    shares are rather higher.
    """
    used = told[told["used"]]
    return float((used["until_days"] <= days).mean()) if len(used) else float("nan")


def season_seen(visits: pd.DataFrame) -> pd.DataFrame:
    """Return by year the first and the last day on which bats or their signs were seen.

    Returns
    -------
    pandas.DataFrame
        `year`, `first`, `last`, `visits` (all that told something in the year).
    """
    telling = visits[visits["state"].isin((*IN_USE, *EMPTY))]
    use = telling[telling["state"].isin(IN_USE)]
    found = use.groupby(use["date"].dt.year)["date"].agg(first="min", last="max")
    counted = telling.groupby(telling["date"].dt.year).size().rename("visits")
    return pd.DataFrame(found.join(counted).rename_axis("year").reset_index())


def _by_word(values: pd.Series) -> pd.Series:
    return values.astype(str).astype("category")


def _by_eighth(values: pd.Series) -> pd.Series:
    number = np.round(values.to_numpy(np.float64) % 360 / _EIGHTH_DEG).astype(int) % len(_EIGHTHS)
    return _named(values, number, _EIGHTHS)


def _by_class(edges: Sequence[float], names: Sequence[str]) -> Naming:
    def named(values: pd.Series) -> pd.Series:
        number = np.searchsorted(edges, values.to_numpy(np.float64), side="right")
        return _named(values, number, names)

    return named


def _named(values: pd.Series, number: NDArray[Any], names: Sequence[str]) -> pd.Series:
    words = [names[each] for each in number]
    return pd.Series(pd.Categorical(words, categories=list(names)), index=values.index)


_SUN_H = (5.0, 7.0, 10.0)
_SUN_NAMES = ("under 5 h", "5 to 7 h", "7 to 10 h", "10 h and more")
_WATER_M = (402.336, 804.672)


def _groupings(quantities: Quantities) -> tuple[tuple[str, str, Naming], ...]:
    """Return classes as common practice and the shipped curves draw them.

    7 h of sun, a quarter mile to water.
    """
    near, far = map(quantities.length, _WATER_M)
    to_water = (f"under {near}", f"{near} to {far}", f"{far} and further")
    return (
        ("kind", "kind", _by_word),
        ("facing", "facing_deg", _by_eighth),
        ("colour", "colour", _by_word),
        ("chambers", "chambers", _by_word),
        ("direct sun a day", "direct_sun_h", _by_class(_SUN_H, _SUN_NAMES)),
        ("distance to water", "water_distance_m", _by_class(_WATER_M, to_water)),
    )
