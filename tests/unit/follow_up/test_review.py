"""How boxes stand on a day, worked by hand.

The rule of moving is common practice: two full active seasons, each with a look that found nothing,
and no sign since. Its cases (a missed season, a box that was moved) are those that interval
censoring asks about.
"""

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from suitability.config.days import PartOfYear
from suitability.follow_up.review import DUE_TO_MOVE, IN_USE_NOW, NEW, OVERDUE, WAITING, review

NORTH = PartOfYear(start="04-01", end="10-31")
SOUTH = PartOfYear(start="10-01", end="04-30")
ALL_YEAR = PartOfYear(start="01-01", end="12-31")
EMPTY, USED, NOTHING = "not occupied", "occupied", "not checked"


def placements(*rows):
    table = pd.DataFrame(rows, columns=["placement", "box", "put_up", "taken_down"])
    for name in ("put_up", "taken_down"):
        table[name] = pd.to_datetime(table[name]).astype("datetime64[s]")
    return table


def visits(*rows):
    table = pd.DataFrame(rows, columns=["placement", "date", "state"])
    return table.assign(
        placement=table["placement"].astype("int64"),
        date=pd.to_datetime(table["date"]).astype("datetime64[s]"),
    )


def stands(seen, on, put_up="2022-03-01", season=NORTH):
    """Return how one box stands that was put up on a day and looked at as told."""
    place = placements((7, "A", put_up, None))
    told = visits(*((7, day, state) for day, state in seen))
    found = review(place, told, on=date.fromisoformat(on), seasons=[season])
    return found.iloc[0]


TWO_EMPTY = [("2022-06-09", EMPTY), ("2023-06-09", EMPTY)]


@pytest.mark.parametrize(
    ("seen", "on", "state"),
    [
        ([], "2023-03-01", NEW),
        ([("2022-06-09", NOTHING)], "2023-03-01", NEW),
        ([], "2023-03-02", OVERDUE),  # 366 days: never checked is not empty
        ([("2022-06-09", NOTHING), ("2023-06-09", NOTHING)], "2023-11-20", OVERDUE),
        ([("2022-06-09", EMPTY)], "2023-06-09", WAITING),
        ([("2022-06-09", EMPTY)], "2023-06-10", OVERDUE),
        (TWO_EMPTY, "2023-10-31", WAITING),  # the last day of the season
        (TWO_EMPTY, "2023-11-01", DUE_TO_MOVE),
        (TWO_EMPTY, "2024-05-01", DUE_TO_MOVE),
        (TWO_EMPTY, "2024-06-09", OVERDUE),
        ([*TWO_EMPTY, ("2024-05-20", EMPTY)], "2024-06-09", DUE_TO_MOVE),
        ([*TWO_EMPTY, ("2024-05-20", USED)], "2024-06-09", IN_USE_NOW),
        ([*TWO_EMPTY, ("2024-02-20", USED)], "2024-06-09", IN_USE_NOW),  # of the season before
        # A look out of season tells nothing of the season.
        ([("2022-06-09", EMPTY), ("2023-11-05", EMPTY)], "2023-11-20", WAITING),
        ([("2022-06-09", EMPTY), ("2023-03-31", EMPTY)], "2023-11-20", WAITING),
        ([("2022-04-01", EMPTY), ("2023-10-31", EMPTY)], "2023-11-20", DUE_TO_MOVE),
        # A season in which nobody looked breaks the count.
        ([("2022-06-09", EMPTY), ("2024-06-09", EMPTY)], "2024-11-20", WAITING),
        ([("2022-06-09", EMPTY), ("2023-06-09", NOTHING), ("2024-06-09", EMPTY)],
         "2024-11-20", WAITING),
        # One sign in either season, whatever the other looks found.
        ([*TWO_EMPTY, ("2022-07-09", USED)], "2023-11-20", WAITING),
        ([*TWO_EMPTY, ("2023-07-09", USED), ("2023-08-09", EMPTY)], "2023-11-20", IN_USE_NOW),
        ([*TWO_EMPTY, ("2023-12-09", USED)], "2023-12-20", IN_USE_NOW),  # old droppings, found late
        # Left for two seasons.
        ([("2022-06-09", USED), ("2023-06-09", EMPTY)], "2023-11-20", WAITING),
        ([("2022-06-09", USED), ("2023-06-09", EMPTY), ("2024-06-09", EMPTY)], "2024-11-20",
         DUE_TO_MOVE),
        # Used in summer, empty in winter.
        ([("2022-06-09", USED), ("2023-01-09", EMPTY)], "2023-03-01", IN_USE_NOW),
        # What comes later is not known yet.
        ([("2022-06-09", EMPTY), ("2022-09-09", USED)], "2022-07-01", WAITING),
    ],
)  # fmt: skip
def test_one_box(seen, on, state):
    assert stands(seen, on)["state"] == state


def test_a_season_that_had_begun_is_not_full():
    """A box put up on 2 April was not there for the whole season from 1 April on."""
    assert stands(TWO_EMPTY, "2023-11-20", put_up="2022-04-01")["state"] == DUE_TO_MOVE
    late = stands(TWO_EMPTY, "2023-11-20", put_up="2022-04-02")
    assert (late["state"], late["empty_seasons"], late["seasons"]) == (WAITING, 1, 1)


def test_seasons_over_new_year():
    seen = [("2022-12-09", EMPTY), ("2024-03-09", EMPTY)]
    told = {"put_up": "2022-09-30", "season": SOUTH}
    assert stands(seen, "2024-04-30", **told)["state"] == WAITING
    assert stands(seen, "2024-05-01", **told)["state"] == DUE_TO_MOVE
    assert stands(seen, "2024-05-01", put_up="2022-10-02", season=SOUTH)["state"] == WAITING
    both_in_one = [("2022-12-09", EMPTY), ("2023-01-09", EMPTY)]
    assert stands(both_in_one, "2023-12-01", **told)["empty_seasons"] == 1


def test_seasons_of_all_year():
    seen = [("2022-12-31", EMPTY), ("2023-01-01", EMPTY)]
    found = stands(seen, "2024-01-01", put_up="2022-01-01", season=ALL_YEAR)
    assert (found["state"], found["empty_seasons"]) == (DUE_TO_MOVE, 2)
    assert stands(seen, "2023-12-31", put_up="2022-01-01", season=ALL_YEAR)["state"] == WAITING


def test_a_moved_box_starts_anew_and_boxes_that_are_down_are_left_out():
    place = placements(
        (1, "A", "2022-03-01", "2024-03-01"),
        (2, "A", "2024-03-01", None),
        (3, "B", "2022-03-01", "2024-12-01"),
        (4, "C", "2025-03-01", None),
    )
    seen = visits(*((1, day, state) for day, state in TWO_EMPTY), (2, "2024-06-09", EMPTY))
    found = review(place, seen, on=date(2024, 12, 1), seasons=[NORTH] * 4)
    assert found["placement"].tolist() == [2]
    assert found["state"].tolist() == [WAITING]
    assert found["empty_seasons"].tolist() == [1]
    assert str(found["last_look"][0].date()) == "2024-06-09"
    assert found["last_sign"].isna().all()


def test_without_boxes_nothing_is_said():
    assert review(placements(), visits(), on=date(2024, 12, 1), seasons=[]).empty


def slowly(put_up, seen, on, season):
    """Say the rule day by day, in plain Python."""
    looks = sorted((d, s) for d, s in seen if d <= on and s in (EMPTY, USED))
    last = looks[-1][0] if looks else None
    if (on - (last or put_up)).days > 365:
        return OVERDUE

    def whole(year):
        begins = date.fromisoformat(f"{year}-{season.start}")
        goes_on = season.end < season.start
        return begins, date.fromisoformat(f"{year + goes_on}-{season.end}")

    over = [y for y in range(2010, 2035) if whole(y)[0] >= put_up and whole(y)[1] < on]
    last_over = max((y for y in range(2009, 2035) if whole(y)[1] < on), default=None)

    def empty_in(year):
        begins, ends = whole(year)
        until = whole(year + 1)[0] - timedelta(1)
        if any(begins <= d <= until and s == USED for d, s in looks):
            return False
        return any(begins <= d <= ends and s == EMPTY for d, s in looks)

    since = [d for d, s in looks if s == USED and d >= whole(last_over - 1)[0]]
    two = [last_over - 1, last_over]
    if all(y in over and empty_in(y) for y in two) and not since:
        return DUE_TO_MOVE
    telling = []
    for day, state in looks:
        year = max(y for y in range(2008, 2035) if whole(y)[0] <= day)
        if state == USED or day <= whole(year)[1]:
            telling.append((year, state))
    if telling and (max(telling)[0], USED) in telling:
        return IN_USE_NOW
    return WAITING if looks else NEW


def test_many_boxes_are_as_the_slow_way_says():
    rng = np.random.default_rng(3)
    rows, seen, wanted, seasons = [], [], [], []
    on = date(2024, 11, 20)
    for number in range(400):
        put_up = date(2019, 1, 1) + timedelta(int(rng.integers(0, 2100)))
        rows.append((number, str(number), str(put_up), None))
        season = (NORTH, SOUTH, ALL_YEAR)[number % 3]
        count, span = int(rng.integers(0, 9)), (on - put_up).days + 60
        days = [put_up + timedelta(int(day)) for day in rng.integers(0, span, count)]
        states = rng.choice([EMPTY, USED, NOTHING], len(days), p=[0.75, 0.1, 0.15])
        mine = list(zip(days, states.tolist(), strict=True))
        seen += [(number, str(day), state) for day, state in mine]
        wanted.append(slowly(put_up, mine, on, season))
        seasons.append(season)
    found = review(placements(*rows), visits(*seen), on=on, seasons=seasons)
    assert found["state"].tolist() == wanted
    assert set(wanted) == {NEW, WAITING, IN_USE_NOW, OVERDUE, DUE_TO_MOVE}
