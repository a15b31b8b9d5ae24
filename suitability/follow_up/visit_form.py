"""What is written down at a visit: columns, the words that fit, and what they mean.

Ways of looking and words for what is seen are common practice. Nothing in it needs a box to be
opened or a bat to be touched. Plain data, for forms, registers and reviews alike.
"""

from __future__ import annotations

from collections.abc import Sequence

from suitability.outputs.form_fields import FormField

VISITS = "visits"

OCCUPIED, NOT_OCCUPIED, NOT_CHECKED = "occupied", "not occupied", "not checked"
EMERGENCE_COUNT, NO_METHOD = "emergence count", "none"

METHODS = (
    (EMERGENCE_COUNT, "counted at dusk as they fly out, from half an hour before sunset on"),
    ("guano", "looked for droppings and stains below the box"),
    ("sight", "looked in from the ground, by camera or a dim light, a few seconds only"),
    ("acoustic", "listened with a bat detector; tells that bats fly by, not where they roost"),
    (NO_METHOD, "came by, but did not look for bats, or could not"),
)
STATES = (
    (OCCUPIED, "bats, or fresh signs of them: droppings, stains, sounds"),
    (NOT_OCCUPIED, "looked well, and found neither bats nor signs"),
    (NOT_CHECKED, "not known: did not look for bats, or could not look well"),
)
# What each state tells of the box: in use, or well looked at and empty; the rest tells nothing.
IN_USE, EMPTY = (OCCUPIED,), (NOT_OCCUPIED,)
CONDITIONS = (
    ("good", "nothing to mend"),
    ("worn", "holds another season: paint, small gaps"),
    ("damaged", "to be mended before the next season, while no bat is in"),
    ("unsafe", "pole, mount or box could fall: keep people away, mend at once"),
    ("gone", "the box is not there"),
)

MOST_BATS = 20_000
LONGEST_INITIALS = 6


def visit_fields(boxes: Sequence[tuple[str, str]]) -> tuple[FormField, ...]:
    """Return the columns of a visit.

    Parameters
    ----------
    boxes : sequence of (str, str)
        What boxes are called, and a word on each; none: any name.
    """
    return (
        FormField("box", "Box", "Which box was visited", words=tuple(boxes), needed=True),
        FormField("date", "Date", "Day of the visit", "date", needed=True),
        FormField(
            "observer", "Observer", f"Initials of who looked, {LONGEST_INITIALS} letters at most",
            needed=True,
        ),
        FormField("method", "Method", "How it was looked", words=METHODS, needed=True),
        FormField(
            "count", "Count", "How many bats were counted; empty where none could be, 0 where none "
            "came", "whole", ends=(0, MOST_BATS),
        ),
        FormField("state", "State", "What was found", words=STATES, needed=True),
        FormField("condition", "Condition", "State of box and pole", words=CONDITIONS),
        FormField("wasps", "Wasps", "Whether wasps or their nests are in it", "yes_no"),
        FormField("repair", "Repair", "What was mended, or has to be"),
        FormField("note", "Note", "Whatever else, such as weather, species, other animals"),
    )  # fmt: skip
