"""What at a site makes a caution apply to it, in words; pure functions of what is known of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from suitability.quantities import FOOT_M, Quantities

# OSHA 29 CFR 1926: people, ladders and poles keep 10 ft from lines of up to 50 kV. [m]
KEEP_OFF_M = 10 * FOOT_M
# What stands above the height that the box hangs at: the box, and the post's end. [m]
ABOVE_BOX_M = 1.0
# A ladder leans one foot out for every four up, and stands 3 ft above where one works
# (OSHA 29 CFR 1926.1053).
LADDER_ABOVE_M = 3 * FOOT_M
LADDER_LEAN = (1 + 1 / 16) ** 0.5


@dataclass(frozen=True)
class SiteFacts:
    """What is known of a site that cautions go by; None is not known, or none is there.

    Parameters
    ----------
    kind : {"pole", "wall"}
        What the box hangs on.
    mount_height_m : float
        Of the box above the ground. [m]
    wires_given : bool
        Whether the run knew of any overhead lines.
    wire_m, building_m, existing_box_m : float or None
        Distance to the nearest overhead line, building and box already up. On a wall, the building
        is another than its own. [m]
    keep_clear_m : float or None
        Distance to the nearest area kept clear around doors and the like. [m]
    boundary_m, water_m : float or None
        Distance to the boundary of the land, and to the nearest water. [m]
    slope_deg : float or None
        Of the ground. [degrees]
    material : str or None
        What the wall is made of.
    occupied : str or None
        When bats may be in the box, such as `04-01 to 10-31`.
    climate : str or None
        How warm the summers are: cool, moderate, hot.
    """

    kind: Literal["pole", "wall"]
    mount_height_m: float
    wires_given: bool = False
    wire_m: float | None = None
    building_m: float | None = None
    existing_box_m: float | None = None
    keep_clear_m: float | None = None
    boundary_m: float | None = None
    water_m: float | None = None
    slope_deg: float | None = None
    material: str | None = None
    occupied: str | None = None
    climate: str | None = None

    @property
    def fall_m(self) -> float:
        """How far what is raised here reaches as it falls: the pole, or the ladder. [m]."""
        if self.kind == "pole":
            return self.mount_height_m + ABOVE_BOX_M
        return (self.mount_height_m + LADDER_ABOVE_M) * LADDER_LEAN

    @property
    def wire_in_reach(self) -> bool:
        """Whether what falls here can come nearer to an overhead line than 10 ft."""
        return self.wire_m is not None and self.wire_m < self.fall_m + KEEP_OFF_M


@dataclass(frozen=True)
class Seen:
    """A site as signs look at it.

    Parameters
    ----------
    facts : SiteFacts
        What is known of it.
    near : mapping
        From where on something counts as near. [m, degrees]
    tell : Quantities
        How quantities are told.
    """

    facts: SiteFacts
    near: Mapping[str, float]
    tell: Quantities


# Gives the reason in words, or nothing.
Sign = Callable[[Seen], str]


def wire_sign(seen: Seen) -> str:
    """Tell of an overhead line: within reach of what falls, or near."""
    facts, metres = seen.facts, seen.tell.axis("m")
    if facts.wire_m is None:
        return ""
    away = metres.tell(facts.wire_m, 1)
    if facts.wire_in_reach:
        what = "a pole" if facts.kind == "pole" else "a ladder"
        wants = metres.tell(facts.fall_m + KEEP_OFF_M, 1)
        return (
            f"an overhead line is {away} away, and {what} wants {wants} to fall and keep "
            f"{seen.tell.retold('10 ft (3 m)')} off it: ask the utility before anything is raised, "
            "or leave the site"
        )
    if facts.wire_m < seen.near["wire_m"]:
        return f"an overhead line lies {away} from this site; lines on maps may be metres off"
    return ""


def fall_sign(seen: Seen) -> str:
    """Tell of a building on which the pole could fall."""
    away = seen.facts.building_m
    if away is None or away >= seen.facts.fall_m:
        return ""
    return f"a building stands {seen.tell.length(away)} away: the pole could fall on it"


def slope_sign(seen: Seen) -> str:
    """Tell of ground that is not level."""
    slope = seen.facts.slope_deg
    if slope is None or slope < seen.near["slope_deg"]:
        return ""
    return f"the ground slopes by {slope:.0f}° here"


def material_sign(seen: Seen) -> str:
    """Tell what the wall is made of."""
    return f"the wall here is of {seen.facts.material}" if seen.facts.material else ""


def occupied_sign(seen: Seen) -> str:
    """Tell when bats may be in the box."""
    return f"bats may be in a box here from {seen.facts.occupied}" if seen.facts.occupied else ""


def hot_sign(seen: Seen) -> str:
    """Tell of hot summers."""
    return "summers are hot here" if seen.facts.climate == "hot" else ""


def _within(name: str, words: str) -> Sign:
    """Return a sign of what is nearer than its threshold; `{}` in its words is the distance."""

    def sign(seen: Seen) -> str:
        away = getattr(seen.facts, name)
        if away is None or away >= seen.near[name]:
            return ""
        return words.format(seen.tell.length(away))

    return sign


SIGNS: dict[str, Sign] = {
    "wire": wire_sign,
    "building_in_fall": fall_sign,
    "building": _within(
        "building_m", "a building stands {} away: lines to it may lie in the ground here"
    ),
    "existing_box": _within("existing_box_m", "a box that is up already is {} away"),
    "keep_clear": _within(
        "keep_clear_m", "what is kept clear around a door or the like begins {} away"
    ),
    "boundary": _within("boundary_m", "the boundary is {} away"),
    "water": _within("water_m", "water is {} away"),
    "slope": slope_sign,
    "material": material_sign,
    "occupied": occupied_sign,
    "hot": hot_sign,
}
