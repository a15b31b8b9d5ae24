"""The cautions that go with every result: data, with the body that has the last word on each."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Literal

from ruamel.yaml import YAML

from suitability.config.criteria import Evidence
from suitability.outputs.site_signs import SIGNS, Seen, SiteFacts
from suitability.quantities import Quantities

Mount = Literal["pole", "wall"]
Mounts = Literal["pole", "wall", "both"]


@dataclass(frozen=True)
class Caution:
    """One thing to heed.

    Parameters
    ----------
    id : str
        A plain word to refer to it.
    title : str
        What to heed, in a few words.
    text : str
        The same in whole sentences.
    defer_to : str
        Who has the last word.
    mounts : tuple of str
        Whom it concerns: boxes on a `pole`, on a `wall`.
    first_for : tuple of str
        The mounts for which it is shown before the others.
    applies : tuple of str
        What makes it apply to a site in particular: names of `site_signs.SIGNS`.
    evidence, basis : str
        How firm it is, and where it comes from.
    adds : str or None
        Name of what is known of every site alike and belongs into the text.
    """

    id: str
    title: str
    text: str
    defer_to: str
    mounts: tuple[Mount, ...]
    first_for: tuple[Mount, ...]
    applies: tuple[str, ...]
    evidence: Evidence
    basis: str
    adds: str | None = None

    def __str__(self) -> str:
        """Give text and authority in one paragraph."""
        return f"{self.text} Last word: {self.defer_to}."


@dataclass(frozen=True)
class SiteCaution:
    """A caution as it stands for one site, in the reader's units.

    Parameters
    ----------
    id, title, text, defer_to, evidence, basis : str
        As for `Caution`.
    why : tuple of str
        What at this very site makes it apply, in words; none for what holds everywhere.
    """

    id: str
    title: str
    text: str
    defer_to: str
    evidence: Evidence
    basis: str
    why: tuple[str, ...]

    @property
    def applies_here(self) -> bool:
        """Whether something at this very site makes it apply."""
        return bool(self.why)

    @property
    def reasons(self) -> str:
        """What makes it apply here, as a sentence; empty for what holds everywhere."""
        return _sentence("; ".join(self.why))

    def __str__(self) -> str:
        """Give reasons, text and authority in one paragraph."""
        return f"{self.reasons} {self.text} Last word: {self.defer_to}.".lstrip()


def load_cautions(kind: Mounts = "pole") -> tuple[Caution, ...]:
    """Return the cautions for a mount, in the order in which to show them.

    Parameters
    ----------
    kind : {"pole", "wall", "both"}
        What the boxes hang on.
    """
    mounts = {"pole", "wall"} if kind == "both" else {kind}
    those = [caution for caution in _cautions() if not mounts.isdisjoint(caution.mounts)]
    return tuple(sorted(those, key=lambda caution: mounts.isdisjoint(caution.first_for)))


def site_cautions(
    facts: SiteFacts, quantities: Quantities | None = None
) -> tuple[SiteCaution, ...]:
    """Return the cautions for a site: those that something there calls for first, with the reason.

    Parameters
    ----------
    facts : SiteFacts
        What is known of the site; of a finished run's, `FinishedRun.cautions` gives the result.
    quantities : Quantities, optional
        How quantities are told; left out, in metric units.

    Returns
    -------
    tuple of SiteCaution
        Every caution for the site's mount: what applies here, then what is of the mount itself,
        then the rest.
    """
    tell = quantities or Quantities()
    seen = Seen(facts, _data()["signs"], tell)
    found = []
    for caution in load_cautions(facts.kind):
        why = (SIGNS[name](seen) for name in caution.applies)
        added = "" if caution.adds is None else SIGNS[caution.adds](seen)
        found.append(
            SiteCaution(
                caution.id,
                tell.retold(caution.title),
                f"{tell.retold(caution.text)} {_sentence(added)}".rstrip(),
                caution.defer_to,
                caution.evidence,
                tell.retold(caution.basis),
                tuple(words for words in why if words),
            )
        )
    return tuple(sorted(found, key=lambda caution: not caution.applies_here))


def short_caution() -> str:
    """Return all of them in one line, for the foot of a map and the rows of a table."""
    return str(_data()["short"])


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}." if words else ""


@cache
def _cautions() -> tuple[Caution, ...]:
    lists = ("mounts", "first_for", "applies")
    return tuple(
        Caution(**{**entry, **{name: tuple(entry[name]) for name in lists}})
        for entry in _data()["cautions"]
    )


@cache
def _data() -> dict[str, Any]:
    text = (files("suitability.outputs") / "cautions.yaml").read_text(encoding="utf-8")
    data: dict[str, Any] = YAML(typ="safe").load(text)
    return data
