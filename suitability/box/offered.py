"""Boxes on offer or home-made, held line by line against what is wanted of one."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from suitability.box.catalogue import BoxSizeM, DesignEntry, DesignFile, entries_begin
from suitability.box.design import Ground, SpeciesGroup
from suitability.config.document import parse_document
from suitability.config.load import read_text, section_of
from suitability.config.section import Section, WholeNumber
from suitability.config.units import InUnit
from suitability.quantities import INCH_M, workshop

TALL_M, WIDE_M = 24 * INCH_M, 14 * INCH_M
LANDING_M = (3 * INCH_M, 6 * INCH_M)
# Boards are sold by name, not by size: a millimetre less is no less.
SLACK_M = 0.001

Verdict = Literal["meets", "falls short", "not stated"]

_COMMON = Ground("common practice", "At least 24 in (610 mm) tall and 14 in (356 mm) wide",
                 "Size made no difference among 186 boxes (California Agriculture 60(2), "
                 "2006)")  # fmt: skip
_LANDING = Ground("common practice", "A rough landing of 3 to 6 in below the entrance")
_ROUGH = Ground("common practice", "Rough or grooved inside and on the landing, for bats to cling")
_WOOD = Ground(
    "common practice",
    "No pressure-treated wood inside; the wood-preservative regulator has the last word",
)
_OPEN = Ground("common practice", "Open below, so that droppings fall out and air comes in")
_WALLS = Ground("common practice", "Joints and roof closed against draught and rain")

ChamberM = Annotated[float, InUnit("m", above=0, at_most=0.2)]
LandingM = Annotated[float, InUnit("m", at_least=0, at_most=1)]


class OfferedBox(Section):
    """What is known of a box; what is left out is told as not stated."""

    width: BoxSizeM | None = Field(
        None, description="outside, across the front", examples=["18 in"]
    )
    height: BoxSizeM | None = Field(
        None, description="outside, without the landing", examples=["30 in"]
    )
    around_post: bool = Field(False, description="whether its chambers go around the post")
    chambers: Annotated[WholeNumber, Field(ge=1, le=12)] | None = Field(
        None, description="how many", examples=[3]
    )
    chamber: ChamberM | None = Field(
        None, description="from one wall of a chamber to the other", examples=["0.75 in"]
    )
    landing: LandingM | None = Field(
        None, description="board below the entrance", examples=["4 in"]
    )
    rough_inside: bool | None = Field(None, description="whether bats can cling inside")
    treated_wood_inside: bool | None = Field(None, description="pressure-treated wood inside")
    open_below: bool | None = Field(None, description="whether it has no floor")
    joints_closed: bool | None = Field(None, description="against draught and rain")


@dataclass(frozen=True)
class Line:
    """One thing that a box is held against.

    Parameters
    ----------
    part : str
        What it is about.
    found, wanted : str
        What the box has, and what is wanted.
    verdict : {"meets", "falls short", "not stated"}
        How it comes out.
    ground : Ground
        Where the wish comes from.
    """

    part: str
    found: str
    wanted: str
    verdict: Verdict
    ground: Ground


def read_offered(path: str | os.PathLike[str]) -> dict[str, OfferedBox]:
    """Read what is known of a box, or of each in a file of designs; return them by name.

    Raises
    ------
    ConfigError
        If the file cannot be read, or says what cannot be used; every fault with its line.
    """
    text, name = read_text(path, "file of the box"), Path(path).name
    begins = "width: 18 in into it, and what else is known of the box, a key a line"
    if "designs" in parse_document(text, name, begins=begins).values:
        found = section_of(text, name, DesignFile, begins=entries_begin("designs"))
        return {entry.name: offered_of(entry) for entry in found.designs}
    return {name: section_of(text, name, OfferedBox, begins=begins)}


def offered_of(entry: DesignEntry) -> OfferedBox:
    """Return what a design says of a box; it does not say how that is made."""
    return OfferedBox(
        width=entry.width,
        height=entry.height,
        around_post=entry.post > 0,
        chambers=entry.chambers,
        chamber=entry.chamber,
        landing=entry.landing,
    )


def held_against(box: OfferedBox, bats: SpeciesGroup) -> tuple[Line, ...]:
    """Return how a box comes out, line by line.

    Parameters
    ----------
    box : OfferedBox
        The box.
    bats : SpeciesGroup
        Whom it is for.
    """
    wide = () if box.around_post else (_length("width", box.width, (WIDE_M, None), _COMMON),)
    return (
        _length("height", box.height, (TALL_M, None), _COMMON),
        *wide,
        _count(box.chambers, bats),
        _length(
            "width of a chamber", box.chamber, (bats.chamber_least_m, bats.chamber_most_m),
            bats.ground,
        ),
        _length("landing", box.landing, LANDING_M, _LANDING),
        _yes("rough inside", box.rough_inside, wanted=True, ground=_ROUGH),
        _yes("treated wood inside", box.treated_wood_inside, wanted=False, ground=_WOOD),
        _yes("open below", box.open_below, wanted=True, ground=_OPEN),
        _yes("joints closed", box.joints_closed, wanted=True, ground=_WALLS),
    )  # fmt: skip


def _length(
    part: str, found: float | None, wanted: tuple[float, float | None], ground: Ground
) -> Line:
    least, most = wanted
    words = (
        f"{workshop(least)} or more" if most is None else f"{workshop(least)} to {workshop(most)}"
    )
    if found is None:
        return Line(part, "", words, "not stated", ground)
    fits = found >= least - SLACK_M and (most is None or found <= most + SLACK_M)
    return Line(part, workshop(found), words, "meets" if fits else "falls short", ground)


def _count(found: int | None, bats: SpeciesGroup) -> Line:
    words = f"{bats.chambers_least} or more, {bats.chambers} rather"
    if found is None:
        return Line("chambers", "", words, "not stated", bats.ground)
    verdict: Verdict = "meets" if found >= bats.chambers_least else "falls short"
    return Line("chambers", str(found), words, verdict, bats.ground)


def _yes(part: str, found: bool | None, *, wanted: bool, ground: Ground) -> Line:
    if found is None:
        return Line(part, "", _word(wanted), "not stated", ground)
    return Line(
        part, _word(found), _word(wanted), "meets" if found == wanted else "falls short", ground
    )


def _word(answer: bool) -> str:
    return "yes" if answer else "no"
