"""Pieces of advice with their grounds: on mount, chambers, height, vents and shade."""

from __future__ import annotations

from dataclasses import dataclass, replace

from suitability.box.design import BoxDesign, Ground, MountKind, SpeciesGroup
from suitability.box.wanted import Wanted, summers_in_words
from suitability.quantities import Quantities

_MOUNTS: dict[MountKind, tuple[str, Ground]] = {
    "pole": (
        "the wall of a building that stays, if there is one as sunny",
        Ground(
            "common practice",
            "A pole stands in the open, clear of branches and of what climbs",
            "Colonies took boxes on buildings rather than on poles (California Agriculture 60(2), "
            "2006), and those stayed warmer at night (Scientific Reports, 2021)",
        ),
    ),
    "wall": (
        "a pole in the open nearby",
        Ground(
            "peer-reviewed",
            "Colonies took boxes on buildings rather than on poles (California Agriculture 60(2), "
            "2006), and those stayed warmer at night (Scientific Reports, 2021)",
            "A wall wants the owner's consent, and droppings fall below it",
        ),
    ),
}
_HEIGHT = Ground(
    "common practice",
    "10 ft (3 m) above the ground at least, better 12 to 20 ft (3.7 to 6.1 m)",
    "Agency guidance says 4 m (13 ft) and more. Heights of 2 to 9.5 m made no difference among 186 "
    "boxes (California Agriculture 60(2), 2006), more height helped a little among 13,634 "
    "(Ecological Solutions and Evidence, 2022)",
)
_VENTS = Ground(
    "peer-reviewed",
    "Overheating grew with sun and fell with vents, pale colours and thick walls (Conservation "
    "Physiology, 2022); a slot of 1/2 in from 85 °F (29.4 °C) in the warmest month on is common "
    "practice",
)


@dataclass(frozen=True)
class Point:
    """One piece of advice.

    Parameters
    ----------
    topic : str
        What it is about: facing, mount, height, colour, chambers, vents and shade.
    choice : str
        What is advised.
    why : str
        The reason, with the site's own numbers where there are any.
    second : str or None
        What else would do.
    ground : Ground
        Where the rule comes from.
    """

    topic: str
    choice: str
    why: str
    second: str | None
    ground: Ground

    def told_in(self, quantities: Quantities) -> Point:
        """Return it with what its texts quote from data in the reader's units."""
        tell, ground = quantities.retold, self.ground
        conflict = None if ground.conflict is None else tell(ground.conflict)
        return Point(
            self.topic,
            tell(self.choice),
            tell(self.why),
            None if self.second is None else tell(self.second),
            replace(ground, basis=tell(ground.basis), conflict=conflict),
        )


def mount_point(mount: MountKind) -> Point:
    """Say what the box hangs on, and what else would do."""
    return Point("mount", mount, "the site was judged for it", *_MOUNTS[mount])


def chambers_point(best: BoxDesign, other: BoxDesign | None, wanted: Wanted) -> Point:
    """Say how many chambers of which width, for these bats."""
    bats, size = wanted.bats, wanted.quantities.small
    span = f"{size(bats.chamber_least_m)} to {size(bats.chamber_most_m)}"
    why = (
        f"for {bats.title}: chambers of {span}, {bats.chambers_least} of them at least and "
        f"{bats.chambers} rather. {best.ground.basis} ({best.ground.evidence})"
    )
    chambers = f"{best.name}, each {size(bats.chamber_m)} wide"
    second = None if other is None else other.name
    conflicts = [text for text in (bats.ground.conflict, best.ground.conflict) if text]
    ground = Ground(bats.ground.evidence, bats.ground.basis, ". ".join(conflicts) or None)
    return Point("chambers", chambers, why, second, ground)


@dataclass(frozen=True)
class Height:
    """A height above the ground [m], and what is said of it."""

    metres: float
    point: Point


def height_point(
    judged_m: float, bats: SpeciesGroup, tell: Quantities
) -> tuple[Height, tuple[str, ...]]:
    """Return the height advised: the one that was judged, unless it is below the least."""
    judged, least = judged_m, bats.height_least_m
    span = tell.heights(bats.height_from_m, bats.height_to_m)
    warnings: tuple[str, ...] = ()
    metres, why = judged, f"the sun was computed for it; {span} is wanted"
    if judged < least:
        metres, why = (
            bats.height_from_m,
            f"the sun was computed for {tell.height(judged)}, which is low",
        )
        warnings = (
            f"{tell.height(judged)} above the ground is less than {tell.height(least)}, the "
            "least that common practice names: raise mount.height and screen again",
        )
    return Height(metres, Point("height", tell.height(metres), why, span, _HEIGHT)), warnings


def vents_point(wanted: Wanted) -> Point:
    """Say what vents and shade are wanted."""
    choice = {
        "cool": "no vent, or one that can be closed",
        "moderate": "a vent slot in the front",
        "hot": "a vent slot in the front and a wide roof; shade in the afternoon",
    }[wanted.climate]
    second = None if wanted.climate == "cool" else "a paler colour, or a place with less sun"
    return Point("vents and shade", choice, summers_in_words(wanted), second, _VENTS)
