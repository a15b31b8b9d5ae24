"""Works that methods rest on: cited in a text, then listed below it."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import Any

from ruamel.yaml import YAML


class References:
    """Remembers which works of `references.yaml` a text cites."""

    def __init__(self) -> None:
        self._cited: list[str] = []

    def cite(self, name: str) -> str:
        """Return how a work stands in the text, such as `Horn 1981`.

        Raises
        ------
        KeyError
            If there is no such work.
        """
        told = str(_data()[name]["cite"])
        self._cited.append(name)
        return told

    @property
    def works(self) -> list[str]:
        """The works cited, by author; details that were written from memory are said to be."""
        return sorted(_entry(_data()[name]) for name in dict.fromkeys(self._cited))


def _entry(work: dict[str, Any]) -> str:
    text = " ".join(work["text"].split())
    unsure = work.get("from_memory")
    return text if unsure is None else f"{text} [from memory: {unsure}; check before you print it]"


@cache
def _data() -> dict[str, Any]:
    text = (files("suitability.outputs") / "references.yaml").read_text(encoding="utf-8")
    data: dict[str, Any] = YAML(typ="safe").load(text)
    return data
