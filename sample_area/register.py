"""The boxes of Cinder Fen and five seasons of visits to them: invented, as the land is.

Twenty-four boxes as volunteers might have put them up before anybody measured the sun: some in the
shade of trees, most in the open, two on the old barn. One was moved when the program had named a
better place, one was taken down. The first five are those that `existing_boxes.gpkg` knows. No bat
was counted for this; what visits say is drawn from a fixed random seed around a few stated days.
"""

from __future__ import annotations

import csv
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
from frame import EPSG, dice, surveyed, to_world
from pyproj import Transformer
from shapely.geometry import Point

from suitability.follow_up import box_rows, visit_rows
from suitability.follow_up.register import open_register

SEASONS = range(2021, 2026)
_ARRIVE, _LEAVE = (4, 20), (10, 5)
_LAST_DAY = date(2025, 12, 31)
_OBSERVERS = ("AB", "CK", "RM", "TS")
_WALL_HEIGHT_M, _POLE_HEIGHT_M = 4.0, 4.6
_CHAMBERS = {"one chamber": 1, "two chambers": 2, "four chambers": 4, "around a post": 2}


@dataclass(frozen=True)
class Stay:
    """A box in one place: survey coordinates [m], what it is, and what was to be found there.

    `sun_h` and `water_m` are what the sample run measures there (on walls it does not look).
    `bats` are the first and the last day of use; `unseen` are seasons in which nobody looked.
    """

    box: str
    p: float
    q: float
    put_up: str
    facing_deg: float
    design: str
    colour: str
    sun_h: float | None
    water_m: float
    bats: tuple[str, str] | None = None
    unseen: tuple[int, ...] = ()
    kind: str = "pole"
    taken_down: str = ""
    why: str = ""
    run: str = ""
    site: str = ""
    score: str = ""


# Bats that had not left for good.
_ON = "2025-12-31"
STAYS = (
    Stay("CF-01", -78, -452, "2016-04-02", 135, "four chambers", "medium", 12.4, 377,
         ("2017-05-20", _ON)),
    Stay("CF-02", -28, 410, "2018-03-24", 180, "two chambers", "dark", 12.2, 110,
         unseen=(2022, 2025)),
    Stay("CF-03", 360, -300, "2019-03-23", 170, "four chambers", "medium", 11.8, 96,
         ("2020-06-01", _ON), unseen=(2023,)),
    Stay("CF-04", -410, 108, "2021-03-13", 0, "two chambers", "black", 12.5, 171),
    Stay("CF-05", 350, -440, "2023-03-18", 225, "two chambers", "dark", 12.4, 206, unseen=(2024,)),
    Stay("CF-06", -428, -280, "2021-03-13", 90, "two chambers", "dark", 5.5, 142,
         taken_down="2024-03-16", why="moved: empty for two full seasons"),
    Stay("CF-06", 130, 617, "2024-03-16", 135, "two chambers", "dark", 9.6, 89,
         ("2025-06-14", _ON), run="sample_area", site="Site 2", score="1"),
    Stay("CF-07", -226, -94, "2021-03-13", 135, "two chambers", "dark", 4.2, 20),
    Stay("CF-08", 360, 156, "2021-03-20", 180, "two chambers", "medium", 5.9, 168, unseen=(2024,)),
    Stay("CF-09", 358, 366, "2021-03-20", 135, "four chambers", "medium", 7.0, 23,
         ("2023-06-20", _ON)),
    Stay("CF-10", 468, 413, "2021-03-20", 100, "two chambers", "medium", 6.9, 128,
         taken_down="2023-11-04", why="the pole leaned after a storm"),
    Stay("CF-11", -299, 602, "2021-03-20", 180, "four chambers", "medium", 7.3, 271,
         ("2022-05-28", "2023-08-30")),
    Stay("CF-12", 440, 96, "2022-03-19", 160, "four chambers", "light", 9.5, 239,
         ("2024-06-01", _ON)),
    Stay("CF-13", 399, -131, "2021-03-27", 150, "four chambers", "medium", 9.5, 41,
         ("2021-07-10", _ON)),
    Stay("CF-14", 206, 609, "2021-03-27", 120, "around a post", "light", 8.8, 37,
         ("2021-06-25", _ON)),
    Stay("CF-15", 590, -379, "2022-03-19", 180, "two chambers", "medium", 9.0, 65,
         ("2023-07-01", _ON), unseen=(2025,)),
    Stay("CF-16", -506, -308, "2021-03-27", 270, "two chambers", "dark", 3.8, 156),
    Stay("CF-17", -5, 203, "2021-03-27", 140, "four chambers", "medium", 9.6, 106,
         ("2022-06-05", _ON)),
    Stay("CF-18", -332, -43, "2022-03-26", 135, "around a post", "light", 9.7, 24,
         ("2022-08-05", _ON)),
    Stay("CF-19", -544, -29, "2022-03-26", 45, "two chambers", "medium", 5.8, 37, unseen=(2024,)),
    Stay("CF-20", -108, -461, "2021-04-03", 156, "one chamber", "medium", None, 380,
         ("2021-08-01", _ON), kind="wall"),
    Stay("CF-21", -107, -450, "2021-04-03", 66, "one chamber", "medium", None, 368, kind="wall"),
    Stay("CF-22", -305, -382, "2023-03-18", 190, "four chambers", "light", 11.9, 249,
         ("2025-05-30", _ON)),
    Stay("CF-23", 413, -334, "2023-03-18", 180, "two chambers", "black", 12.3, 83),
    Stay("CF-24", -512, -172, "2025-03-15", 135, "around a post", "light", 11.8, 43,
         unseen=(2025,)),
)  # fmt: skip

Row = dict[str, str]


def write_register(folder: Path, written_at: str) -> None:
    """Write boxes and visits as tables, and the register that they make."""
    tables = {
        "boxes.csv": (box_rows.COLUMNS, list(map(_box_row, STAYS))),
        "visits.csv": (visit_rows.COLUMNS, visits()),
    }
    for name, (columns, rows) in tables.items():
        with (folder / name).open("w", encoding="ascii", newline="") as file:
            table = csv.DictWriter(file, columns, lineterminator="\r\n")
            table.writeheader()
            table.writerows(rows)
    path = folder / "register.gpkg"
    path.unlink(missing_ok=True)
    register = open_register(path, create=True)
    taken = (
        box_rows.import_boxes(register, box_rows.read_boxes(folder / "boxes.csv"), today=_LAST_DAY),
        visit_rows.import_visits(
            register, visit_rows.read_visits(folder / "visits.csv"), today=_LAST_DAY
        ),
    )
    register.engine.dispose()
    if faults := [each for found in taken for each in found.rejected]:
        msg = f"the register does not take {faults[0]}"
        raise ValueError(msg)
    with closing(sqlite3.connect(path)) as base, base:
        base.execute("UPDATE gpkg_contents SET last_change = ?", (written_at,))


def visits() -> list[Row]:
    """Return every visit, by day and box."""
    rows: list[Row] = []
    for number, stay in enumerate(STAYS):
        chance = dice(f"visits to {stay.box} {number}")
        for year in SEASONS:
            rows += _season(stay, year, chance)
    return sorted(rows, key=lambda row: (row["date"], row["box"]))


def _box_row(stay: Stay) -> Row:
    place = to_world(surveyed(Point(stay.p, stay.q)))
    degrees = Transformer.from_crs(EPSG, 4326, always_xy=True).transform(place.x, place.y)
    height_m = _WALL_HEIGHT_M if stay.kind == "wall" else _POLE_HEIGHT_M
    return {
        "box": stay.box,
        "lon_deg": f"{degrees[0]:.6f}",
        "lat_deg": f"{degrees[1]:.6f}",
        "put_up": stay.put_up,
        "taken_down": stay.taken_down,
        "why": stay.why,
        "kind": stay.kind,
        "facing_deg": f"{stay.facing_deg:g}",
        "mount_height_m": f"{height_m:g}",
        "run": stay.run,
        "site": stay.site,
        "score": stay.score,
        "direct_sun_h": "" if stay.sun_h is None else f"{stay.sun_h:g}",
        "water_distance_m": f"{stay.water_m:g}",
        "design": stay.design,
        "chambers": str(_CHAMBERS[stay.design]),
        "colour": stay.colour,
    }


def _season(stay: Stay, year: int, chance: np.random.Generator) -> Iterator[Row]:
    """Yield the visits of a year to a box in one place."""
    # Everything is drawn whether it is needed or not, so that one box's change stirs no other.
    early, late = (int(chance.integers(0, 45)) for _ in range(2))
    who = [str(name) for name in chance.choice(_OBSERVERS, 3)]
    twice, wasps, mends, comes, told = chance.random(5)
    bats = int(chance.normal(25 + 22 * (year - SEASONS[0]), 12))
    first, second = (date(year, *day) + timedelta(days=off)
                     for day, off in (((6, 5), early), ((8, 10), late)))  # fmt: skip
    autumn = date(year, 11, 1) + timedelta(days=late % 14)
    if not _is_up(stay, first):
        return
    nests = wasps < 0.12 and not _in_use(stay, second)
    if year in stay.unseen:
        if comes < 0.6 and stay.put_up < f"{year}":
            note = "calls close by, from which roost is not known" if told < 0.4 else "path flooded"
            method = "acoustic" if told < 0.4 else "none"
            yield _visit(stay, first, who[0], method, "not checked", note=note)
        return
    yield _look(stay, first, who[0], max(bats, 3))
    if twice < 0.7 and _is_up(stay, second):
        seen = _look(stay, second, who[1], None)
        yield seen | {"wasps": "yes" if nests else "no"}
    if (mends < 0.35 or nests) and _is_up(stay, autumn):
        repair = "wasp nest taken out" if nests else _REPAIRS[late % len(_REPAIRS)]
        condition = "good" if nests else "worn"
        yield _visit(stay, autumn, who[2], "none", "not checked", condition, repair)
    if stay.taken_down == f"{year}-11-04":
        leans = replace(stay, bats=None)
        yield _visit(leans, date(year, 11, 4), who[2], "none", "not checked", "unsafe")


_REPAIRS = ("repainted", "gap under the roof filled", "screws tightened", "landing board replaced")


def _look(stay: Stay, day: date, who: str, bats: int | None) -> Row:
    """Return a visit that tells whether bats are in: by a count, droppings, or a look inside."""
    used = _in_use(stay, day)
    state = "occupied" if used else "not occupied"
    if bats is not None and used:
        return _visit(stay, day, who, "emergence count", state, count=str(bats))
    method = "sight" if stay.kind == "wall" else "guano"
    return _visit(stay, day, who, method, state, "good" if day.month > 7 else "")


def _in_use(stay: Stay, day: date) -> bool:
    if stay.bats is None:
        return False
    there = stay.bats[0] <= day.isoformat() <= stay.bats[1]
    return there and date(day.year, *_ARRIVE) <= day <= date(day.year, *_LEAVE)


def _is_up(stay: Stay, day: date) -> bool:
    return stay.put_up <= day.isoformat() <= (stay.taken_down or _LAST_DAY.isoformat())


def _visit(
    stay: Stay,
    day: date,
    who: str,
    method: str,
    state: str,
    condition: str = "",
    repair: str = "",
    *,
    count: str = "",
    note: str = "",
) -> Row:
    words: Sequence[str] = (
        stay.box, day.isoformat(), who, method, count, state, condition, "", repair, note,
    )  # fmt: skip
    return dict(zip(visit_rows.COLUMNS, words, strict=True))
