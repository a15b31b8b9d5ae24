"""What the YAML parser found wrong, in words for someone who has never seen a parser."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ruamel.yaml.error import YAMLError

_INDENT = "indent the keys of one section alike, with spaces"
_COLON = (
    "end the key above with its colon, and indent both lines alike; leave a blank after a colon; "
    "put text that holds ': ' in quotes"
)
_QUOTES = "put text that holds : # [ ] { } * & ! % @ ` in quotes"

# What the parser says, what that means, and what to do.
_TOLD = (
    (r"found character '\\t'", "a tab stands where only spaces may", "indent with spaces"),
    (
        r"cannot start any token|ing an? (tag|alias|anchor|block scalar|directive)|tag handle",
        "a text begins with a sign that YAML keeps for itself",
        _QUOTES,
    ),
    (r"mapping values are not allowed", "a colon is not expected here", _COLON),
    (r"could not find expected ':'", "a key has no colon", _COLON),
    (
        r"but found another document|expected '<document start>'",
        "this line does not continue what stands above it",
        _COLON,
    ),
    (r"sequence entries are not allowed", "a list cannot begin here", "begin it on its own line"),
    (r"expected <block end>", "a line is not indented like the lines above it", _INDENT),
    (r"found undefined alias", "an alias (*name) has no anchor", "set &name above it, or quote it"),
    (r"expected the node content", "a value is missing", _QUOTES),
    (r"double-quoted scalar", "a \\ in double quotes is misread", r"use single quotes: 'a\b'"),
)
# The same, where the line that opens a quote or a bracket tells more than the line of its end.
_NOT_CLOSED = (
    (r"quoted scalar.*unexpected (end|document)", "a quote is not closed", "close it: \" or '"),
    (r"expected ',' or '\]'", "a list that begins with [ is not closed", "close it with ]"),
    (r"expected ',' or '\}'", "a section that begins with { is not closed", "close it with }"),
)


def told(error: YAMLError, text: str) -> tuple[int | None, str, str]:
    """Return the line of a YAML error, counted from 1, what is wrong, and what to do."""
    position = getattr(error, "position", None)  # of a character that no YAML text may hold
    if isinstance(position, int):
        line = text.count("\n", 0, position) + 1
        what = "a control character stands in the text"
        return line, what, "delete it, or save the file anew as plain text (UTF-8)"
    begin, end = (_line(getattr(error, f"{which}_mark", None)) for which in ("context", "problem"))
    parts = (getattr(error, "context", None), getattr(error, "problem", None))
    problem = " ".join(part for part in parts if part)
    for pattern, what, fix in _NOT_CLOSED:
        if re.search(pattern, problem):
            return begin or end, what, fix
    for pattern, what, fix in _TOLD:
        if re.search(pattern, problem):
            return end or begin, what, fix
    return end or begin, f"this cannot be read as YAML ({problem})", _QUOTES


def _line(mark: Any) -> int | None:
    return None if mark is None else int(mark.line) + 1
