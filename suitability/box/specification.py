"""What to build or to buy: the advised box as a list of parts with their sizes."""

from __future__ import annotations

from dataclasses import dataclass

from suitability.box.design import BoxDesign, MountKind
from suitability.quantities import workshop

# Common practice. [m]
VENT_M, VENT_ABOVE_M = 0.0127, 0.1524
GROOVES_M = 0.0127


@dataclass(frozen=True)
class Item:
    """A part of a box.

    Parameters
    ----------
    part : str
        What it is.
    size : str
        In inches and millimetres, or in words.
    note : str
        What to heed about it.
    """

    part: str
    size: str
    note: str


def specification(
    box: BoxDesign, colour: str, mount: MountKind, mount_height_m: float
) -> tuple[Item, ...]:
    """Return the parts of a box with their sizes.

    Parameters
    ----------
    box : BoxDesign
        The box.
    colour : str
        Of its outside.
    mount : {"pole", "wall"}
        What it hangs on.
    mount_height_m : float
        Of its lower end above the ground. [m]
    """
    width, height, depth = workshop(box.width_m), workshop(box.height_m), workshop(box.depth_m)
    slot = f"across the front, {workshop(VENT_ABOVE_M)} from its lower edge"
    vent = (Item("vent slot", workshop(VENT_M), slot),) if box.vented else ()
    return (
        Item("outside", f"{width} wide, {height} tall", f"{depth} deep, without roof and landing"),
        Item("chambers", f"{box.chambers} of {workshop(box.chamber_m)}", _chambers(box)),
        *_partitions(box),
        Item("outer walls", workshop(box.wall_m), "exterior plywood or boards, untreated"),
        Item("landing", workshop(box.landing_m), "below the entrance; rough like the inside"),
        Item(
            "inside", "rough",
            f"rough-sawn, or grooved across every {workshop(GROOVES_M)} or closer; no mesh that "
            "frays",
        ),
        *vent,
        Item("roof", workshop(box.overhang_m), "beyond the front; sealed, the joints too"),
        Item("outside colour", colour, "water-based stain or paint; none inside"),
        Item("below", "open", "no floor: droppings fall out, air comes in"),
        _hung(box, mount, mount_height_m),
    )  # fmt: skip


def _chambers(box: BoxDesign) -> str:
    return "in rings about the post" if box.is_around_post else "one behind the other"


def _partitions(box: BoxDesign) -> tuple[Item, ...]:
    if box.chambers < 2 and not box.is_around_post:
        return ()
    note = "between chambers, with a gap at the top to pass from one to the next; rough both sides"
    return (Item("partitions", workshop(box.partition_m), note),)


def _hung(box: BoxDesign, mount: MountKind, height_m: float) -> Item:
    """Return what it hangs on; what is below the ground is for local codes to say."""
    if mount == "wall":
        where = f"its lower end {height_m:.1f} m ({height_m / 0.3048:.1f} ft) above the ground"
        return Item("wall", where, "fixings by the wall's kind; ask the owner")
    above = height_m + box.height_m
    edge = f", {workshop(box.post_m)} square" if box.is_around_post else ""
    size = f"{above:.1f} m ({above / 0.3048:.1f} ft) above the ground{edge}"
    return Item(
        "post", size, "plus what goes into the ground: depth and footing by local code and soil"
    )
