"""The cautions that go with every result: data, with the body that has the last word on each."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Literal

from ruamel.yaml import YAML

Mount = Literal["pole", "wall"]
Mounts = Literal["pole", "wall", "both"]


@dataclass(frozen=True)
class Caution:
    """One thing to heed.

    Parameters
    ----------
    id : str
        A plain word to refer to it.
    text : str
        What to heed, in whole sentences.
    defer_to : str
        Who has the last word.
    applies_to : tuple of str
        The mounts it concerns: `pole`, `wall`.
    comes_first : bool
        Whether it is shown before the others: it is of the mount itself, or it is never to be
        overlooked.
    """

    id: str
    text: str
    defer_to: str
    applies_to: tuple[Mount, ...]
    comes_first: bool

    def __str__(self) -> str:
        """Give text and authority in one paragraph."""
        return f"{self.text} Last word: {self.defer_to}."


def load_cautions(kind: Mounts = "pole") -> tuple[Caution, ...]:
    """Return the cautions for a mount, in the order in which to show them.

    Parameters
    ----------
    kind : {"pole", "wall", "both"}
        What the boxes hang on.
    """
    entries = (
        Caution(
            entry["id"],
            entry["text"],
            entry["defer_to"],
            tuple(entry["applies_to"]),
            not {"pole", "wall"}.isdisjoint(entry.get("first_for", ()))
            if kind == "both"
            else kind in entry.get("first_for", ()),
        )
        for entry in _data()["cautions"]
    )
    those = [caution for caution in entries if kind == "both" or kind in caution.applies_to]
    return tuple(sorted(those, key=lambda caution: not caution.comes_first))


def short_caution() -> str:
    """Return all of them in one line, for the foot of a map and the rows of a table."""
    return str(_data()["short"])


@cache
def _data() -> dict[str, Any]:
    text = (files("suitability.outputs") / "cautions.yaml").read_text(encoding="utf-8")
    data: dict[str, Any] = YAML(typ="safe").load(text)
    return data
