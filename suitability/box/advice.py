"""What to put up at a site, each point with its reason, how firm that is, and a second choice."""

from __future__ import annotations

from dataclasses import dataclass, replace

from suitability.box.catalogue import Catalogue, load_catalogue
from suitability.box.design import BoxDesign, Colour, Ground, MountKind, SpeciesGroup
from suitability.box.facing import FaceHours, FacingChoice, choose_facing, compass_word
from suitability.box.findings import BoxHeat
from suitability.box.heat_choice import GROUND as BY_HEAT
from suitability.box.heat_choice import HeatChoice, HeatOption, choose_by_heat
from suitability.config import LoadedRun
from suitability.config.settings import Climate
from suitability.errors import ConfigError
from suitability.quantities import Quantities

# A mean daily maximum of the warmest month inside each climate's band. [°C]
_WITHIN: dict[Climate, float] = {"cool": 25.0, "moderate": 32.0, "hot": 36.0}

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
class Wanted:
    """What advice goes by, the same for every site of a run.

    Parameters
    ----------
    catalogue : Catalogue
        What may be chosen.
    bats : SpeciesGroup
        Whom the boxes are for.
    climate : {"cool", "moderate", "hot"}
        How warm the summers are.
    warmest_max_c : float or None
        Mean daily maximum of the warmest month; None where no weather is given. [°C]
    most_stress_h : float
        Hours above 40 °C beyond which no box is named. [h]
    quantities : Quantities
        How lengths and temperatures are told.
    """

    catalogue: Catalogue
    bats: SpeciesGroup
    climate: Climate
    warmest_max_c: float | None
    most_stress_h: float
    quantities: Quantities


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


def wanted_of(run: LoadedRun, warmest_max_c: float | None = None) -> Wanted:
    """Return what a run's advice goes by.

    Parameters
    ----------
    run : LoadedRun
        The run file.
    warmest_max_c : float, optional
        Mean daily maximum of the warmest month, where weather is given. [°C]

    Raises
    ------
    ConfigError
        If a file of boxes, colours or bats cannot be used, or there is no such group of bats.
    """
    settings = run.settings.box
    catalogue = load_catalogue(settings.designs, settings.colours, settings.species)
    bats = catalogue.species.get(settings.bats)
    if bats is None:
        msg = f"there is no group of bats {settings.bats!r}"
        fix = f"choose from {', '.join(catalogue.species)}; or add it in a file, box.species"
        raise ConfigError(msg, where=run.locate("box.bats"), fix=fix)
    return Wanted(
        catalogue,
        bats,
        run.settings.climate,
        warmest_max_c,
        settings.most_stress,
        run.settings.quantities,
    )


def suitable_designs(wanted: Wanted, mount: MountKind) -> tuple[BoxDesign, ...]:
    """Return the boxes that suit bats and mount, the best first.

    Those with as many chambers as is better for the bats come first, then in the order of the
    file. Where none has as many as they need at least, those with most.
    """
    hang = [box for box in wanted.catalogue.designs.values() if mount in box.mounts]
    enough = [box for box in hang if box.chambers >= wanted.bats.chambers_least]
    ranked = sorted(
        enough or hang, key=lambda box: -min(box.chambers, wanted.bats.chambers)
    )  # keeps the file's order among equals
    return tuple(box.with_chamber(wanted.bats.chamber_m) for box in ranked)


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
    height, warnings = _height(place, wanted.bats, tell)
    mount = Point("mount", place.mount, "the site was judged for it", *_MOUNTS[place.mount])
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
    points = tuple(point.told_in(tell) for point in (*points, mount, height.point, _vents(wanted)))
    return Advice(facing, colour, design, height.metres, points, tuple(map(tell.retold, warnings)))


_Chosen = tuple[float | None, str | None, BoxDesign | None, tuple[Point, ...]]


def _by_sun(place: Place, wanted: Wanted) -> _Chosen:
    """Choose facing, colour and design without any temperature."""
    facing = choose_facing(place.hours, wanted.climate, place.lat, place.wall_deg)
    colours = _colours(wanted)
    designs = suitable_designs(wanted, place.mount)
    points = (
        _facing_point(facing),
        Point(
            "colour",
            colours[0].name,
            f"{_summers(wanted)}; no temperature of the box is claimed",
            colours[1].name if len(colours) > 1 else None,
            colours[0].ground,
        ),
        _chambers_point(designs[0], designs[1] if len(designs) > 1 else None, wanted),
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
        _chambers_point(best, None, wanted),
    )
    return first.facing_deg, first.colour, best, points


def _by_heat_or_band(first: HeatOption, wanted: Wanted) -> Ground:
    """Return what the choice rests on; where common practice paints otherwise, that too."""
    usual = _colours(wanted)[0]
    if usual.name == first.colour:
        return BY_HEAT
    told = f"{_summers(wanted)}: common practice would paint the box {usual.name}"
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
    first = f"{compass_word(facing.first_deg)} ({facing.first_deg:g}° from true north)"
    return Point("facing", first, facing.why, second, facing.ground)


def _colours(wanted: Wanted) -> tuple[Colour, ...]:
    """Return the colour that common practice names, and the next paler one."""
    warmest = wanted.warmest_max_c
    known = _WITHIN[wanted.climate] if warmest is None else warmest
    every = sorted(wanted.catalogue.colours.values(), key=lambda each: -each.absorptance_mid)
    at = next((n for n, colour in enumerate(every) if colour.fits(known)), len(every) - 1)
    return tuple(every[at : at + 2])


def _summers(wanted: Wanted) -> str:
    if wanted.warmest_max_c is None:
        return f"summers count as {wanted.climate} (climate, in the run file)"
    warmest = wanted.quantities.temperature(wanted.warmest_max_c)
    return f"the warmest month's mean daily maximum is {warmest}"


def _chambers_point(best: BoxDesign, other: BoxDesign | None, wanted: Wanted) -> Point:
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
class _Height:
    metres: float
    point: Point


def _height(place: Place, bats: SpeciesGroup, tell: Quantities) -> tuple[_Height, tuple[str, ...]]:
    """Return the height advised: the one that was judged, unless it is below the least."""
    judged, least = place.mount_height_m, bats.height_least_m
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
    return _Height(metres, Point("height", tell.height(metres), why, span, _HEIGHT)), warnings


def _vents(wanted: Wanted) -> Point:
    choice = {
        "cool": "no vent, or one that can be closed",
        "moderate": "a vent slot in the front",
        "hot": "a vent slot in the front and a wide roof; shade in the afternoon",
    }[wanted.climate]
    second = None if wanted.climate == "cool" else "a paler colour, or a place with less sun"
    return Point("vents and shade", choice, _summers(wanted), second, _VENTS)
