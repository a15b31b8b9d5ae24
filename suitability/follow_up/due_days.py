"""The days of boxes that are up: visits that are due, and when to move, to clean and to mend."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import pandas as pd

from suitability.box.timing import timing
from suitability.config.box import BoxSettings
from suitability.config.days import PartOfYear, days_of
from suitability.follow_up.days import AGENCY, LOOK, WORK, count_window, next_day
from suitability.follow_up.review import DUE_TO_MOVE, OVERDUE, YEAR_DAYS, review
from suitability.outputs.calendar_file import DayEntry

_MENDED = ("worn", "damaged")
_AT_ONCE = {
    "unsafe": ("unsafe", "Keep people away, and mend it at once; bats may be in it: look first."),
    "gone": ("gone", "Look for what is left of it, and take it down in the register."),
}


@dataclass(frozen=True)
class _Year:
    """When bats may be in boxes, when those may be worked on, and when a count tells most."""

    occupied: PartOfYear
    maintain: PartOfYear | None
    count: PartOfYear


def days_of_boxes(
    title: str,
    placements: pd.DataFrame,
    visits: pd.DataFrame,
    *,
    after: date,
    years: int,
    wanted: BoxSettings | None = None,
) -> Iterator[DayEntry]:
    """Yield the days to remember of boxes that are up.

    Parameters
    ----------
    title : str
        Whose boxes.
    placements, visits : pandas.DataFrame
        As `Register.placements` and `Register.visits` give them.
    after : datetime.date
        Days before it are over; how boxes stand on it counts.
    years : int
        For how long visits and work are told.
    wanted : BoxSettings, optional
        May state when bats are in boxes; left out, by the latitude of each.
    """
    wanted = wanted or BoxSettings()
    of_each = [_year_of(lat, wanted) for lat in placements["lat_deg"]]
    stand = review(placements, visits, on=after, seasons=[year.occupied for year in of_each])
    if stand.empty:
        return
    year_at = dict(zip(placements["placement"], of_each, strict=True))
    last = _last_condition(visits[visits["date"] <= pd.Timestamp(after)])
    groups: dict[_Year, list[dict[str, Any]]] = defaultdict(list)
    for row in stand.to_dict("records"):
        box = {str(name): value for name, value in row.items()}
        box["condition"], box["repair"] = last.get(box["placement"], ("", ""))
        groups[year_at[box["placement"]]].append(box)
    for year, boxes in groups.items():
        for box in boxes:
            yield from _of_box(box, year, after)
        yield from _of_all(title, boxes, year, after, years)


def _year_of(lat_deg: float, wanted: BoxSettings) -> _Year:
    found = timing(lat_deg, wanted)
    start, end = count_window(north=lat_deg >= 0)
    return _Year(found.occupied, found.maintain, PartOfYear(start=start, end=end))


def _of_box(box: dict[str, Any], year: _Year, after: date) -> Iterator[DayEntry]:
    name, state = box["box"], box["state"]
    if box["condition"] in _AT_ONCE:
        word, fix = _AT_ONCE[box["condition"]]
        yield _entry(box, "mend", after, after, f"Bat box {name} is {word}", fix)
    told = box["put_up"] if pd.isna(box["last_look"]) else box["last_look"]
    due = (told + timedelta(days=YEAR_DAYS)).date()
    opens = _first_in(year.count, after)
    if state == OVERDUE or due < opens:
        # Only while bats may be about does a look tell anything.
        day = _first_in(year.occupied, max(due, after))
        late = f", overdue since {due}" if due < day else f" by {due}"
        if day < opens:
            yield _entry(box, f"check-{due}", day, day, f"Look at bat box {name}{late}", LOOK, 7)
    if state == DUE_TO_MOVE and year.maintain is not None:
        start = _first_in(year.maintain, after)
        end = next_day(year.maintain.end, start)
        yield _entry(
            box, f"move-{end.year}", start, end, f"Move bat box {name}",
            f"Looked at and empty in {box['empty_seasons']} full seasons in a row; `suitability "
            "review` tells of free sites. Look first that no bats are in it; have buried lines "
            f"marked before you dig, and keep poles away from overhead lines. {AGENCY}", 28,
        )  # fmt: skip


def _of_all(
    title: str, boxes: Sequence[dict[str, Any]], year: _Year, after: date, years: int
) -> Iterator[DayEntry]:
    names = ", ".join(box["box"] for box in boxes)
    key = _digest(f"{title} {year.occupied}")
    mend = "; ".join(
        f"{box['box']} {box['condition']}" + (f", {box['repair']}" if box["repair"] else "")
        for box in boxes
        if box["condition"] in _MENDED
    )
    for first, last in _times(year.count, after, years):
        yield DayEntry(
            key=f"visit-{last.year}.{key}@bat-boxes",
            first=first,
            last=last,
            title=f"Look at {len(boxes)} bat box{'es' if len(boxes) > 1 else ''}: {title}",
            description=f"{names}. {LOOK}",
            remind_days=7,
        )
    if year.maintain is None:
        return
    for number, (first, last) in enumerate(_times(year.maintain, after, years)):
        wants = f"At the last visit: {mend}. " if mend and number == 0 else ""
        yield DayEntry(
            key=f"work-{last.year}.{key}@bat-boxes",
            first=first,
            last=last,
            title=f"Clean and mend bat boxes: {title}",
            description=f"{wants}{WORK}",
        )


def _times(part: PartOfYear, after: date, years: int) -> Iterator[tuple[date, date]]:
    """Yield what is left of a part of the year that has begun, or the next, and those after it."""
    first = _first_in(part, after)
    for _ in range(years):
        last = next_day(part.end, first)
        yield first, last
        first = next_day(part.start, last + timedelta(days=1))


def _entry(
    box: dict[str, Any],
    what: str,
    first: date,
    last: date,
    title: str,
    description: str,
    remind_days: int | None = None,
) -> DayEntry:
    place = f"{box['box']} {box['put_up']:%Y-%m-%d}"
    return DayEntry(
        key=f"{what}.{_digest(place)}@bat-boxes",
        first=first,
        last=last,
        title=title,
        description=description,
        lat_lon=(round(float(box["lat_deg"]), 6), round(float(box["lon_deg"]), 6)),
        remind_days=remind_days,
    )


def _digest(text: str) -> str:
    """Return what tells a name from others in any alphabet, the same each time."""
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _last_condition(visits: pd.DataFrame) -> dict[int, tuple[str, str]]:
    """Return by place the condition that was last written down, and the repair told with it."""
    said = visits[visits["condition"].notna()].drop_duplicates("placement", keep="last")
    repair = said["repair"].fillna("")
    return dict(zip(said["placement"], zip(said["condition"], repair, strict=True), strict=True))


def _first_in(part: PartOfYear, day: date) -> date:
    """Return a day if it lies in a part of the year, else the next day that does."""
    within = days_of(part.start, part.end)
    # 29 February stands in no table of days.
    plain = "02-28" if f"{day:%m-%d}" == "02-29" else f"{day:%m-%d}"
    return day if plain in within else next_day(part.start, day)
