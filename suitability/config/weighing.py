"""How weights are found where they are not stated: by comparing pairs, or by a ranking."""

from __future__ import annotations

import difflib
import re
from collections.abc import Sequence
from fractions import Fraction
from itertools import combinations
from typing import Annotated

from pydantic import BeforeValidator, Field, WithJsonSchema, model_validator

from suitability.config.section import Section, Text
from suitability.config.unfit import UnfitValueError, shown

# Saaty's scale of comparison: 1 (equal), 3, 5, 7 to 9 (extreme), what lies between, and inverses.
MOST_TIMES = 9
# A random index is published for matrices up to this size.
MOST_COMPARED = 10


def _times(value: object) -> object:
    """Take how many times one matters as much as another: 3, or "1/3"."""
    number: object = value
    if isinstance(value, str):
        text = re.fullmatch(r"\s*(\d{1,3}(?:\.\d{1,6})?)\s*(?:/\s*(\d{1,3}))?\s*", value, re.ASCII)
        if text is not None and int(text[2] or 1) > 0:
            number = float(Fraction(text[1]) / int(text[2] or 1))
    if isinstance(number, bool) or not isinstance(number, int | float):
        what = f"{shown(value)} is not how many times one matters as much as another"
        raise UnfitValueError(what, "write a number such as 3, or a fraction such as 1/3")
    if not 1 / MOST_TIMES <= number <= MOST_TIMES:
        what = f"{shown(value)} is off the scale of comparison"
        raise UnfitValueError(what, f"write 1/{MOST_TIMES} to {MOST_TIMES}; 1: both matter alike")
    return float(number)


Times = Annotated[
    float,
    BeforeValidator(_times),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "number", "minimum": 1 / MOST_TIMES, "maximum": MOST_TIMES},
                {"type": "string", "pattern": r"^\s*\d+(\.\d+)?\s*(/\s*\d+)?\s*$"},
            ],
            "description": "1 alike, 3 moderately, 5 strongly, 7 very strongly, 9 extremely more",
        }
    ),
]


def _one_or_many(value: object) -> object:
    return value if isinstance(value, list | tuple) else [value]


_Many = Annotated[tuple[Text, ...], Field(min_length=1)]
Ranked = Annotated[_Many, BeforeValidator(_one_or_many, json_schema_input_type=Text | _Many)]


class Weighing(Section):
    """How weights are found: give one of the two."""

    pairwise: Annotated[tuple[tuple[Text, Text, Times], ...], Field(min_length=1)] | None = Field(
        None,
        description="every pair once: the first matters so many times as much as the second",
        examples=[[["direct_sun_h", "water_distance_m", 3]]],
    )
    ranking: Annotated[tuple[Ranked, ...], Field(min_length=1)] | None = Field(
        None,
        description="from what matters most to what matters least; those in a list of their own "
        "matter alike",
        examples=[["direct_sun_h", ["water_distance_m", "canopy_edge_m"], "slope_deg"]],
    )

    @model_validator(mode="after")
    def _one_way(self) -> Weighing:
        if (self.pairwise is None) == (self.ranking is None):
            what = "weighing names both ways" if self.pairwise else "weighing names no way"
            raise UnfitValueError(what, "give either pairwise or ranking")
        return self

    def check(self, names: Sequence[str]) -> None:
        """See that the weighing names what there is to weigh, and all of it.

        Parameters
        ----------
        names : sequence of str
            Layers and groups of the list that is weighed.

        Raises
        ------
        UnfitValueError
            If it does not. (A ValueError.)
        """
        if self.ranking is not None:
            ranked = [name for alike in self.ranking for name in alike]
            _check_known(ranked, names, _RANKING)
            if twice := sorted({name for name in ranked if ranked.count(name) > 1}):
                what = f"{', '.join(twice)} is ranked more than once"
                raise UnfitValueError(what, "keep one place of it", within=_RANKING)
            if left := [name for name in names if name not in ranked]:
                what = f"the ranking leaves out {', '.join(left)}"
                raise UnfitValueError(what, "give each its place in the ranking", within=_RANKING)
        if self.pairwise is not None:
            for number, pair in enumerate(self.pairwise):
                _check_known(pair[:2], names, (*_PAIRWISE, number))
            _check_pairs(self.pairwise, names)


_RANKING = ("weighing", "ranking")
_PAIRWISE = ("weighing", "pairwise")


def _check_pairs(pairs: Sequence[tuple[str, str, float]], names: Sequence[str]) -> None:
    if len(names) > MOST_COMPARED:
        what = f"{len(names)} criteria are too many to compare in pairs"
        fix = f"put them into groups of up to {MOST_COMPARED}"
        raise UnfitValueError(what, fix, within=_PAIRWISE)
    given: set[frozenset[str]] = set()
    for number, (one, other, _) in enumerate(pairs):
        within = (*_PAIRWISE, number)
        if one == other:
            what = f"{one} is compared with itself"
            raise UnfitValueError(what, "delete that entry", within=within)
        if {one, other} in given:
            what = f"{one} and {other} are compared more than once"
            raise UnfitValueError(what, "keep one of the entries", within=within)
        given.add(frozenset((one, other)))
    wanted = combinations(names, 2)
    missing = [f"{one} and {other}" for one, other in wanted if {one, other} not in given]
    if missing:
        how_many = "1 pair is" if len(missing) == 1 else f"{len(missing)} pairs are"
        what = f"{how_many} not compared: {'; '.join(missing)}"
        fix = "add an entry for each, such as [a, b, 3]: a matters 3 times as much as b"
        raise UnfitValueError(what, fix, within=_PAIRWISE)


def _check_known(used: Sequence[str], names: Sequence[str], within: tuple[str | int, ...]) -> None:
    for name in used:
        if name not in names:
            near = difflib.get_close_matches(name, names, n=1, cutoff=0.6)
            hint = f"write {near[0]}" if near else f"choose from {', '.join(names)}"
            what = f"{shown(name)} is none of the criteria that are weighed together"
            raise UnfitValueError(what, hint, within=within)
