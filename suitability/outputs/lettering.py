"""Which letters the pages' own font has: what it cannot show is told, not left to chance."""

from __future__ import annotations

import unicodedata
from functools import cache

from matplotlib.font_manager import FontProperties, findfont, get_font

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
    shown = (_shown(letter) for letter in unicodedata.normalize("NFC", text))
    return " ".join("".join(shown).split())


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
