"""Which letters the pages' own font has: what it cannot show is told, not left to chance."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping
from functools import cache

from matplotlib.font_manager import FontProperties, findfont, get_font

from suitability.errors import ConfigError

# In place of a letter that cannot be shown.
LACKING = "□"
# Written from right to left, or joined and stacked by rules that the drawing library lacks.
_UNSHAPED = ("R", "AL", "AN")


def printable(text: str) -> str:
    """Return a text with a box in place of each letter that pages to print cannot show.

    The font that comes with the drawing library (DejaVu Sans) has Latin, Greek, Cyrillic,
    Armenian and Georgian letters, but no Chinese, Japanese, Korean or Indian ones; Arabic and
    Hebrew would stand in the wrong order, and are not shown either.

    Parameters
    ----------
    text : str
        From data; line breaks and what is no letter at all become blanks.
    """
    if text.isascii() and text.isprintable():
        return " ".join(text.split())
    shown = (_shown(letter) for letter in unicodedata.normalize("NFC", text))
    return " ".join("".join(shown).split())


def unprintable(texts: Iterable[str]) -> tuple[str, ...]:
    """Return those texts that pages cannot show as they are, each once."""

    def is_whole(text: str) -> bool:
        return printable(text).count(LACKING) == text.count(LACKING)

    return tuple(text for text in dict.fromkeys(texts) if not is_whole(text))


def lacking_in_words(named: str) -> str:
    """Return the note that pages show these texts with boxes in them."""
    return f"the pages' font lacks letters of {named}: {LACKING} stands in their place"


def require_letters(texts: Mapping[str, str]) -> None:
    """Refuse words of a user's own that pages cannot show: boxes would warn nobody.

    Parameters
    ----------
    texts : mapping of str to str
        The words, by where they were given.

    Raises
    ------
    ConfigError
        If the pages' font lacks a letter.
    """
    for where, text in texts.items():
        if unprintable([text]):
            msg = f"the pages' font lacks letters of it: {printable(text)}"
            fix = "write it in Latin, Greek, Cyrillic, Armenian or Georgian letters"
            raise ConfigError(msg, where=where, fix=fix)


def _shown(letter: str) -> str:
    if letter.isspace() or unicodedata.category(letter)[0] == "C":
        return " "
    is_known = ord(letter) in _letters() and unicodedata.bidirectional(letter) not in _UNSHAPED
    return letter if is_known else LACKING


@cache
def _letters() -> frozenset[int]:
    """Return the letters of both weights that pages are set in."""
    fonts = [
        get_font(findfont(FontProperties(family="DejaVu Sans", weight=weight)))
        for weight in ("normal", "bold")
    ]
    regular, bold = (frozenset(font.get_charmap()) for font in fonts)
    return regular & bold
