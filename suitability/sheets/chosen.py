"""Which sites are asked for: `1-5,8`."""

from __future__ import annotations

import re
from collections.abc import Collection

from suitability.errors import ConfigError

_SPAN = re.compile(r"(\d+)(?:\s*-\s*(\d+))?")


def chosen_sites(text: str | None, ranks: Collection[int]) -> list[int]:
    """Return the ranks that a text names, in the order of ranks.

    Parameters
    ----------
    text : str or None
        Ranks and spans of them, parted by commas: `1-5,8`; None for all.
    ranks : collection of int
        Of the run's sites.

    Raises
    ------
    ConfigError
        If it is none, or names a site that the run does not list.
    """
    if text is None:
        return sorted(ranks)
    wanted: set[int] = set()
    for part in text.split(","):
        found = _SPAN.fullmatch(part.strip())
        if found is None:
            msg = f"{part.strip()!r} names no sites"
            raise ConfigError(msg, where="--sites", fix="write ranks and spans, such as 1-5,8")
        first, last = int(found[1]), int(found[2] or found[1])
        named = {rank for rank in ranks if first <= rank <= last}
        if first > last or len(named) < last - first + 1:
            # Not by counting up to a number that may have many digits.
            missing = next((n for n in range(first, first + len(named) + 1) if n not in named), 0)
            msg = f"the run lists no site {missing}" if first <= last else f"{part} goes backwards"
            known = f"its sites are {min(ranks)} to {max(ranks)}" if ranks else "it found none"
            raise ConfigError(msg, where="--sites", fix=known)
        wanted |= named
    return sorted(wanted)
