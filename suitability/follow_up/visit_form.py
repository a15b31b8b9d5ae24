"""What is written down at a visit: columns, the words that fit, and what they mean.

Ways of looking and words for what is seen are common practice. Nothing in it needs a box to be
opened or a bat to be touched.
"""

from __future__ import annotations

from collections.abc import Sequence

from suitability.outputs.form_geopackage import FormField

VISITS = "visits"

METHODS = (
    ("emergence count", "counted at dusk as they fly out, from half an hour before sunset on"),
    ("light from below", "looked into from the ground with a dim light, a few seconds only"),
    ("droppings", "looked for droppings and stains below the box"),
    ("camera", "pictures or heat pictures from the ground"),
    ("ultrasound", "listened with a bat detector; tells that bats fly by, not where they roost"),
    ("other", "say which in the notes"),
)
STATES = (
    ("bats seen", "bats were in the box, or came out of it"),
    ("signs of bats", "droppings, stains or sounds, no bat seen"),
    ("no sign", "looked well, and found nothing"),
    ("not known", "could not look well, such as for rain"),
)
# What each state tells of the box: in use, or well looked at and empty; the rest tells nothing.
IN_USE = ("bats seen", "signs of bats")
EMPTY = ("no sign",)
DAMAGES = (
    ("none", "nothing to mend"),
    ("wear", "holds another season: paint, small gaps"),
    ("mend", "to be mended before the next season, while no bat is in"),
    ("unsafe", "pole, mount or box could fall: keep people away, mend at once"),
    ("gone", "the box is not there"),
)


def visit_fields(boxes: Sequence[tuple[str, str]]) -> tuple[FormField, ...]:
    """Return the columns of a visit.

    Parameters
    ----------
    boxes : sequence of (str, str)
        What boxes are called, and a word on each.
    """
    return (
        FormField("box", "Box", "Which box was visited", words=tuple(boxes), needed=True),
        FormField("date", "Date", "Day of the visit", "date", needed=True),
        FormField("start_time", "Start", "Local time, hours and minutes, such as 20:45"),
        FormField("observer", "Observer", "Who looked"),
        FormField("method", "Method", "How it was looked", words=METHODS, needed=True),
        FormField("state", "State", "What was found", words=STATES, needed=True),
        FormField(
            "bats", "Bats", "How many were counted; empty where none could be, 0 where none came",
            "whole", ends=(0, 20_000),
        ),
        FormField("species", "Species", "If known for sure, and by whom"),
        FormField(
            "pups", "Pups", "Whether young were seen or heard; then leave the box alone", "yes_no"
        ),
        FormField(
            "air_c", "Air, °C", "Temperature of the air at the box", "number", ends=(-50, 60)
        ),
        FormField("damage", "Damage", "State of box and pole", words=DAMAGES),
        FormField("others", "Other animals", "Wasps, birds, mice, ants and what else lives there"),
        FormField("notes", "Notes", "Whatever else"),
    )  # fmt: skip
