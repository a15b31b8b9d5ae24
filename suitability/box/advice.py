"""What to put up at a site, each point with its reason, how firm that is, and a second choice."""

from __future__ import annotations

from dataclasses import dataclass, replace

from suitability.box.design import BoxDesign, Ground, MountKind
from suitability.box.facing import FaceHours, FacingChoice, choose_facing, compass_word
from suitability.box.findings import BoxHeat
from suitability.box.heat_choice import GROUND as BY_HEAT
from suitability.box.heat_choice import HeatChoice, HeatOption, choose_by_heat
from suitability.box.points import Point, chambers_point, height_point, mount_point, vents_point
from suitability.box.wanted import Wanted, suitable_designs, summers_in_words, usual_colours


@dataclass(frozen=True)
class Place:
    """What advice needs to know of a site.

    Parameters
    ----------
    lat : float
        WGS 84. [degrees]
    mount : {"pole", "wall"}
        What the box hangs on.
    mount_height_m : float
        Height that the site was judged for. [m]
    hours : FaceHours
        Of sun on faces.
    wall_deg : float or None
        The way that the wall looks. [degrees]
    """

    lat: float
    mount: MountKind
    mount_height_m: float
    hours: FaceHours
    wall_deg: float | None = None


@dataclass(frozen=True)
class Advice:
    """What to put up at a site.

    Parameters
    ----------
    facing_deg : float or None
        Clockwise from true north; None, as colour and design, where no box is recommended.
    colour : str or None
        Its name.
    design : BoxDesign or None
        With chambers as wide as the bats want them.
    mount_height_m : float
        Of the box above the ground. [m]
    points : tuple of Point
        All of it with reasons.
    warnings : tuple of str
        What speaks against it.
    """

    facing_deg: float | None
    colour: str | None
    design: BoxDesign | None
    mount_height_m: float
    points: tuple[Point, ...]
    warnings: tuple[str, ...]


def advise(place: Place, wanted: Wanted, heat: BoxHeat | None = None) -> Advice:
    """Return what to put up at a site.

    Parameters
    ----------
    place : Place
        The site.
    wanted : Wanted
        What advice goes by.
    heat : BoxHeat, optional
        Of the site, where weather is given; left out, no temperature is claimed.
    """
    tell = wanted.quantities
    height, warnings = height_point(place.mount_height_m, wanted.bats, tell)
    mount = mount_point(place.mount)
    if heat is None:
        facing, colour, design, points = _by_sun(place, wanted)
    else:
        names = tuple(box.name for box in suitable_designs(wanted, place.mount))
        found = choose_by_heat(heat, names, wanted.most_stress_h, place.wall_deg)
        facing, colour, design, points = _by_heat(found, place, wanted)
        if found.first is None:
            warnings += (_overheats(found, wanted.most_stress_h),)
    if place.hours.all_day.max() < 1:
        warnings += ("hardly any sun reaches a box here, whichever way it looks",)
    points = tuple(
        point.told_in(tell) for point in (*points, mount, height.point, vents_point(wanted))
    )
    return Advice(facing, colour, design, height.metres, points, tuple(map(tell.retold, warnings)))


_Chosen = tuple[float | None, str | None, BoxDesign | None, tuple[Point, ...]]


def _by_sun(place: Place, wanted: Wanted) -> _Chosen:
    """Choose facing, colour and design without any temperature."""
    facing = choose_facing(place.hours, wanted.climate, place.lat, place.wall_deg)
    colours = usual_colours(wanted)
    designs = suitable_designs(wanted, place.mount)
    points = (
        _facing_point(facing),
        Point(
            "colour",
            colours[0].name,
            f"{summers_in_words(wanted)}; no temperature of the box is claimed",
            colours[1].name if len(colours) > 1 else None,
            colours[0].ground,
        ),
        chambers_point(designs[0], designs[1] if len(designs) > 1 else None, wanted),
    )
    return facing.first_deg, colours[0].name, designs[0], points


def _by_heat(found: HeatChoice, place: Place, wanted: Wanted) -> _Chosen:
    """Choose facing, colour and design by heat; none of them where every box is too hot."""
    if found.first is None:
        why = _overheats(found, wanted.most_stress_h)
        return None, None, None, (Point("box", "none is recommended here", why, None, BY_HEAT),)
    designs = {box.name: box for box in suitable_designs(wanted, place.mount)}
    first, second = found.first, found.second
    best = designs[first.design]
    other = None if second is None else f"{_named(second)}: {second.in_words()}"
    points = (
        Point(
            "facing, colour, box",
            _named(first),
            first.in_words(),
            other,
            _by_heat_or_band(first, wanted),
        ),
        chambers_point(best, None, wanted),
    )
    return first.facing_deg, first.colour, best, points


def _by_heat_or_band(first: HeatOption, wanted: Wanted) -> Ground:
    """Return what the choice rests on; where common practice paints otherwise, that too."""
    usual = usual_colours(wanted)[0]
    if usual.name == first.colour:
        return BY_HEAT
    told = f"{summers_in_words(wanted)}: common practice would paint the box {usual.name}"
    return replace(BY_HEAT, conflict=f"{told}. {BY_HEAT.conflict}")


def _named(option: HeatOption) -> str:
    return f"{option.design}, {option.colour}, facing {compass_word(option.facing_deg)}"


def _overheats(found: HeatChoice, most_h: float) -> str:
    return (
        f"each of the {found.options} boxes that were tried is above 40 °C, the threshold of "
        f"stress, for more than {most_h:g} h of the season; the coolest is {_named(found.coolest)}:"
        f" {found.coolest.in_words()}. Look for a place with afternoon shade, or ask the state "
        "wildlife agency"
    )


def _facing_point(facing: FacingChoice) -> Point:
    second = None if facing.second_deg is None else compass_word(facing.second_deg)
    first = f"{compass_word(facing.first_deg)} ({round(facing.first_deg) % 360}° from true north)"
    return Point("facing", first, facing.why, second, facing.ground)
