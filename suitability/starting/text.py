"""The text of a first run file: what was found, why, and what may be changed."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field
from textwrap import wrap

from suitability.config.document import core_scalar
from suitability.quantities import Units

_PLAIN = re.compile(r"[A-Za-z0-9_/.]([A-Za-z0-9_/. -]*[A-Za-z0-9_])?")
_COMMENT_AT = 34  # where comments begin below, too
_WIDTH = 100


@dataclass
class Source:
    """An input as the run file names it.

    Parameters
    ----------
    key : str
        Of `inputs`.
    paths : list of Entry
        One, or more for streams.
    """

    key: str
    entries: list[Entry]


@dataclass
class Entry:
    """A file with what is stated of it, each with its reason.

    Parameters
    ----------
    path : str
        As the run file names it.
    facts : str
        What it is, for a comment above it.
    stated : dict
        Key to value and reason; a value of None is written as null. A value that is a dict is
        written within braces.
    """

    path: str
    facts: str
    stated: dict[str, tuple[object, str]] = field(default_factory=dict)


_HEAD = """\
# A first run file, written from a look at the inputs. Run it as it is:
#   suitability check {name}
#   suitability screen {name}
# then change what you know better. Paths are seen from this file's folder. A length, time or angle
# is written with its unit ("20 ft", "6 m", "0.25 mile", "4 h", "3 deg"). `suitability schema` tells
# of every key there is; configs/sample_area.yaml shows them all.
"""

_FOOT = """\

mount:
  kind: pole                      # or wall, both: walls of `buildings`
  height: {height:24}# of the box above the ground

season:                           # when the boxes are wanted warm, month-day
  start: 04-01
  end: 09-30
{climate}
exclusions:                       # land that is out, whatever its score; null lifts a rule
  clearance: {clearance:21}# open space to canopy edge and buildings
  water_bank: {bank}
  steeper_than: 30 deg

sites:
  count: 12                       # sites wanted at most
  spacing: {spacing:23}# between two sites at least

out: results                      # folder of the results, beside this file
"""

_CLIMATE = """
climate: moderate                 # cool, moderate or hot summers: the default criteria follow it
"""

# What is suggested, round in either system.
_SUGGESTED: dict[Units, dict[str, str]] = {
    "metric": {"height": "4.5 m", "clearance": "6 m", "bank": "3 m", "spacing": "50 m"},
    "us": {"height": "15 ft", "clearance": "20 ft", "bank": "10 ft", "spacing": "150 ft"},
}


def quoted(text: str) -> str:
    """Return a text as YAML reads it back: plain where that is safe, else in double quotes."""
    if _PLAIN.fullmatch(text) and core_scalar(text) == text:
        return text
    return json.dumps(text, ensure_ascii=False)


def run_file_text(
    name: str,
    title: str,
    sources: list[Source],
    hints: list[str],
    *,
    units: Units,
    has_weather: bool,
) -> str:
    """Return the run file.

    Parameters
    ----------
    name : str
        Of the file.
    title : str
        What land it is.
    sources : list of Source
        The inputs, in the order to write them.
    hints : list of str
        What would make the result better.
    units : {"metric", "us"}
        What people read.
    has_weather : bool
        The weather chooses the climate, unless the file states one.
    """
    lines = [_HEAD.format(name=name), f"title: {quoted(title)}"]
    lines += [_commented(f"units: {units}", "what people read: metric, or us"), "", "inputs:"]
    for source in sources:
        lines += _source_lines(source)
    if hints:
        lines += ["", "# What would make the result better:"]
        lines += [line for hint in hints for line in _folded(hint, "# - ", "#   ")]
    climate = "" if has_weather else _CLIMATE
    return "\n".join(lines) + "\n" + _FOOT.format(climate=climate, **_SUGGESTED[units])


def _source_lines(source: Source) -> list[str]:
    lines = [f"  {source.key}:"]
    many = len(source.entries) > 1
    for entry in source.entries:
        lines += _folded(entry.facts, "    # ", "    # ") if entry.facts else []
        lines += _entry_lines(entry, *(("    - ", "      ") if many else ("    ", "    ")))
    return lines


def _entry_lines(entry: Entry, first: str, rest: str) -> list[str]:
    lines = [f"{first}path: {quoted(entry.path)}"]
    for key, (value, why) in entry.stated.items():
        lines.append(_commented(f"{rest}{key}: {_written(value)}", why))
    return lines


def _written(value: object) -> str:
    if value is None:
        return "null"
    if isinstance(value, dict):
        inner = ", ".join(f"{key}: {_written(part)}" for key, part in value.items())
        return f"{{{inner}}}"
    return quoted(str(value))


def _commented(text: str, comment: str) -> str:
    return (
        f"{text:{_COMMENT_AT}}# {_safe(comment)}"
        if len(text) < _COMMENT_AT
        else (f"{text}  # {_safe(comment)}")
    )


def _safe(comment: str) -> str:
    """Return a comment that stays on its line, whatever names of files and fields hold."""
    return "".join(letter if letter.isprintable() else "?" for letter in comment)


def _folded(text: str, first: str, rest: str) -> list[str]:
    """Return a comment in lines of a readable width."""
    return wrap(_safe(text), _WIDTH, initial_indent=first, subsequent_indent=rest,
                break_long_words=False, break_on_hyphens=False)  # fmt: skip
