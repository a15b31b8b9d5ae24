"""What the page for a landowner says of a site: plain words, short sentences."""

from __future__ import annotations

import numpy as np
import shapely

from suitability.layers.canopy import FAR_EDGE_M
from suitability.mapping import day_in_words
from suitability.outputs.sheet_content import LandownerSheet
from suitability.quantities import Quantities
from suitability.sheets.site import SheetSite, degrees

_WAYS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
_CLOSE_M = 1.0  # a box on a wall has its own building nearer than this
_SAME = 1.25  # a shape is the thing whose distance is told if it is no further than this times it


def landowner_sheet(site: SheetSite) -> LandownerSheet:
    """Return what the page says."""
    day = site.run.record["written_utc"][:10]
    return LandownerSheet(
        title=f"A bat box at {site.text('site').lower()}",
        land=site.run.title,
        geo=site.geo,
        parts=(
            ("What to put up", _what(site)),
            ("Which way it looks", _which_way(site)),
            ("Where", _where(site)),
            ("When", _when(site)),
            ("What to expect", _EXPECT),
            ("Please do not", _do_not(site)),
        ),
        first=_first(site),
        near=site.land.near(site.rank, site.facts.kind, site.facing_deg, is_judged=False),
        wide=site.land.wide(site.rank),
        foot=(
            "This page comes from maps, not from a visit. The owner, the local building office, "
            "the utilities and the state wildlife agency have the last word. "
            f"Made from the run of {day}."
        ),
    )


_EXPECT = (
    "Bats may take a year or two to move in. Some boxes stay empty. No one can promise bats.",
    "On warm evenings, watch from a few steps away after sunset: bats drop out and fly off.",
    "Small dark droppings below the box are a good sign. Leave them where they are.",
    "Is it still empty after two full summers? Tell the person who gave you this page.",
)


def _what(site: SheetSite) -> tuple[str, ...]:
    box = site.text("box")
    if not box:
        return ("No box is recommended here. Ask the person who gave you this page.",)
    height = site.number("mount_height_m")
    wall = site.about_wall()
    on = f"on a wall ({wall})" if wall else "on a wall"
    colour = site.text("colour")
    chambers = site.number("chambers")
    is_told = chambers is None or "chamber" in box
    made = "" if is_told else f", with {chambers:.0f} chamber{'s'[: chambers != 1]}"
    sentences = [f"One bat box of the kind “{box}”{made}."]
    if colour:
        sentences.append(f"Its colour outside is {colour}.")
    sentences.append(
        f"It hangs {on if site.is_on_wall else 'on a pole of its own, not on a tree'}."
    )
    if height is not None:
        sentences.append(f"It hangs {site.tell.height(height)} above the ground.")
    return tuple(sentences)


def _which_way(site: SheetSite) -> tuple[str, ...]:
    if site.facing_deg is None:
        return ("Ask the person who gave you this page.",)
    magnetic = site.number("facing_magnetic_deg")
    told = [f"Its front looks {site.facing_word}: see the arrow on the map."]
    if magnetic is None:
        told.append(f"That is {degrees(site.facing_deg)} from true north.")
    else:
        told.append(f"With a compass in your hand, that is {degrees(magnetic)}.")
    if site.is_on_wall:
        told.append("The wall looks that way, too.")
    return tuple(told)


def _when(site: SheetSite) -> tuple[str, ...]:
    timing = site.timing
    told = [f"Have it up by {day_in_words(timing['install_by'])}. Later is fine for next year."]
    if timing["maintain"] is None:
        told.append("Bats may be in it all year. Ask before you clean or mend it.")
    else:
        first, _, last = timing["maintain"].partition(" to ")
        told.append(
            f"Clean or mend it only from {day_in_words(first)} to {day_in_words(last)}, when no "
            "bats are in it."
        )
    return tuple(told)


def _where(site: SheetSite) -> tuple[str, ...]:
    """Return where the spot is, seen from what can be seen from it."""
    facts, tell = site.facts, site.tell
    away = (
        ("Water is", facts.water_m, "water"),
        ("The next building is" if site.is_on_wall else "The nearest building is",
         facts.building_m, "buildings"),
        ("The edge of the land is", facts.boundary_m, "boundary"),
        ("An overhead line is", facts.wire_m, "wires"),
    )  # fmt: skip
    told = [
        f"{name} about {_roughly(tell, metres)} away{_way(site, kind, metres)}."
        for name, metres, kind in away
        if metres is not None
    ]
    edge = site.number("canopy_edge_m")
    if edge is not None and edge < FAR_EDGE_M:
        told.insert(
            min(1, len(told)), f"The nearest trees begin about {_roughly(tell, edge)} away."
        )
    told.append(
        f"A phone can be {tell.lengths(5, 10)} off. Take the open, sunny spot that fits the map."
    )
    return tuple(told)


def _roughly(tell: Quantities, metres: float) -> str:
    """Return a distance to two digits of the reader's unit."""
    scale = tell.axis("m")
    return tell.length(float(f"{scale.of(metres):.2g}") / scale.factor)


def _way(site: SheetSite, kind: str, metres: float) -> str:
    """Return in which direction the nearest of a kind lies, where shapes tell it."""
    shapes = site.land.shapes(kind)
    if shapes is None or shapes.empty:
        return ""
    place = shapely.Point(site.row["x_m"], site.row["y_m"])
    geometry = shapes.geometry.to_numpy()
    if kind == "boundary":
        geometry = np.array([shapely.union_all(geometry).boundary])
    distance = shapely.distance(geometry, place)
    far = np.where(distance > _CLOSE_M, distance, np.inf)
    nearest = int(far.argmin())
    if not np.isfinite(far[nearest]) or far[nearest] > metres * _SAME:
        return ""  # what is that near was no shape, but a cell of land cover
    (x0, y0), (x1, y1) = shapely.get_coordinates(shapely.shortest_line(place, geometry[nearest]))
    true = np.degrees(np.arctan2(x1 - x0, y1 - y0)) + site.land.convergence_deg(site.rank)
    return f", to the {_WAYS[round(true / 45) % 8]}"


def _do_not(site: SheetSite) -> tuple[str, ...]:
    first, _, last = site.timing["occupied"].partition(" to ")
    return (
        "Never touch a bat, alive or dead. If you did, wash at once and see a doctor the same day.",
        f"Do not open, move or knock on the box from {day_in_words(first)} to "
        f"{day_in_words(last)}.",
        "Do not stir up droppings: their dust can make you ill.",
        "No poison against insects nearby. Keep cats away.",
    )


def _first(site: SheetSite) -> tuple[str, ...]:
    """Return what comes before the work: what applies at this very spot, then the rest."""
    off = site.tell.retold("10 ft (3 m)")
    here: dict[str, list[str]] = {}  # what to do about it, by what is there
    for caution in site.cautions:
        if caution.applies_here and caution.id != "disturbance":
            here.setdefault(caution.reasons, []).append(f"{caution.title}.")
    dig = (
        "Have buried lines marked some working days before you dig. In the US, call 811."
        if not site.is_on_wall
        else "Know where cables run, and what the wall is made of, before you drill."
    )
    return (
        *(f"{what} {' '.join(wanted)}" for what, wanted in here.items()),
        dig,
        f"Look up. Keep people, ladder and pole {off} or more off any overhead line.",
        "Put a ladder on firm, level ground. Work in pairs.",
        "Ask the building office about permits, and the state wildlife agency about bats.",
    )
