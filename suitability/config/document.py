"""A YAML text (1.2, one document) as plain values, with the line of every key.

The text comes from anywhere, so it is bounded (size, depth, number of nodes once aliases are
followed) and makes text, numbers, yes/no, null, lists and mappings: never an object.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from suitability.config.syntax import told
from suitability.config.unfit import shown
from suitability.errors import ConfigError

if TYPE_CHECKING:
    from ruamel.yaml import YAML, Node

MAX_DEPTH = 20
MAX_NODES = 10_000

Key = tuple[str | int, ...]

_LONGEST_KEY = 60
_STEP = re.compile(r"([^.\[\]]+)|\[(\d+)\]")


@dataclass(frozen=True)
class Document:
    """What a run file says.

    Parameters
    ----------
    name : str
        Name of the file.
    values : dict
        Plain values.
    lines : mapping of key to int
        Line of every key and list entry as written, counted from 1; () is the whole.
    """

    name: str
    values: dict[str, Any]
    lines: Mapping[Key, int]

    def nearest(self, key: Key) -> Key:
        """Return the key as written, or the nearest parent that is.

        A list of one may be written without its brackets: its first entry is then the key itself.
        """
        found: Key = ()
        for step in key:
            if (*found, step) in self.lines:
                found = (*found, step)
            elif step != 0:
                break
        return found

    def locate(self, key: str) -> str:
        """Return the place of a key such as `inputs.streams[0].layer`: file, line, written key."""
        steps = (int(index) if index else name for name, index in _STEP.findall(key))
        return self.place(tuple(steps))

    def place(self, key: Key) -> str:
        """Return the place of a key: file, line, and the key as written."""
        written = self.nearest(key)
        place = f"{self.name}, line {self.lines[written]}"
        return f"{place}: {key_text(written)}" if written else place


def key_text(key: Key) -> str:
    """Return a key as people write it: `criteria[2].layer`."""
    steps = (f"[{step}]" if isinstance(step, int) else f".{_tame(step)}" for step in key)
    return "".join(steps).removeprefix(".")


def _tame(name: str) -> str:
    """Keep an endless key, or one that would steer a terminal, out of an error."""
    tame = name.isprintable() and 0 < len(name) <= _LONGEST_KEY
    return name if tame else shown(name)


RUN_FILE_BEGINS = (
    "inputs: into it, with its keys elevation, land_cover and streams indented under it"
)


def parse_document(text: str, name: str, *, begins: str = RUN_FILE_BEGINS) -> Document:
    """Read a YAML text.

    Parameters
    ----------
    text : str
        The text.
    name : str
        Name of its file, for errors.
    begins : str
        What to write into one that is empty, or that holds no keys.

    Raises
    ------
    ConfigError
        If it is not YAML, is not one mapping, says a key twice, or is too large.
    """
    node = _compose(text, name)
    if node is None:
        what = f"{name} says nothing"
        raise ConfigError(what, where=name, fix=f"write {begins}")
    builder = _Builder(name)
    values = builder.build(node, ())
    if not isinstance(values, dict):
        what = f"{name} does not consist of keys and their values"
        raise ConfigError(
            what,
            where=f"{name}, line {_line(node)}",
            fix=f"write {begins}; leave a blank after each colon",
        )
    return Document(name, values, builder.lines)


def _compose(text: str, name: str) -> Node | None:
    from ruamel.yaml.error import YAMLError  # noqa: PLC0415 - not needed for a `--help`

    try:
        _check_events(text, name)
        node: Node | None = _yaml().compose(text)
    except ConfigError:
        raise
    except YAMLError as exc:
        line, what, fix = told(exc, text)
        raise ConfigError(what, where=f"{name}, line {line}", fix=fix) from exc
    except (ValueError, OverflowError) as exc:  # ruamel's own, for "\\UFFFFFFFF"
        line = text.count("\n", 0, text.find("\\U")) + 1
        what = "a \\U in double quotes names no character"
        raise ConfigError(what, where=f"{name}, line {line}", fix="use single quotes") from exc
    return node


def _yaml() -> YAML:
    from ruamel.yaml import YAML  # noqa: PLC0415

    yaml = YAML(typ="safe", pure=True)
    yaml.composer.warn_double_anchors = False  # YAML 1.2.2, 3.2.2.2: an anchor may be set anew
    return yaml


def _check_events(text: str, name: str) -> None:
    """Bound the text before it is composed, which recurses and keeps every node."""
    from ruamel.yaml import events as kinds  # noqa: PLC0415

    depth = documents = 0
    for count, event in enumerate(_yaml().parse(text)):
        where = f"{name}, line {event.start_mark.line + 1}"
        if isinstance(event, kinds.DocumentStartEvent):
            documents += 1
            if documents > 1:
                what = f"{name} holds more than one document"
                raise ConfigError(what, where=where, fix="keep one run a file: drop the --- line")
            if event.version not in {None, (1, 2)}:
                what = f"{name} asks for another version of YAML than 1.2"
                raise ConfigError(what, where=where, fix="drop the %YAML line")
        opens = isinstance(event, kinds.MappingStartEvent | kinds.SequenceStartEvent)
        closes = isinstance(event, kinds.MappingEndEvent | kinds.SequenceEndEvent)
        depth += opens - closes
        _check_size(depth, count, where)


def _check_size(depth: int, count: int, where: str) -> None:
    if depth > MAX_DEPTH:
        what = f"the keys are nested more than {MAX_DEPTH} deep"
        raise ConfigError(what, where=where, fix="close what is open; let no anchor hold itself")
    if count > MAX_NODES:
        what = f"the file grows to more than {MAX_NODES:,} entries"
        raise ConfigError(what, where=where, fix="shorten the lists; use fewer anchors")


def _line(node: Node) -> int:
    return int(node.start_mark.line) + 1


class _Builder:
    """Nodes to plain values, aliases followed."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.lines: dict[Key, int] = {}
        self.count = 0

    def build(self, node: Node, key: Key) -> Any:
        from ruamel.yaml.nodes import MappingNode, SequenceNode  # noqa: PLC0415

        self._bound(node, len(key))
        self.lines.setdefault(key, _line(node))
        if isinstance(node, MappingNode):
            return self._mapping(node, key)
        if isinstance(node, SequenceNode):
            return [self.build(item, (*key, index)) for index, item in enumerate(node.value)]
        return self._scalar(node)

    def _mapping(self, node: Node, key: Key) -> dict[str, Any]:
        values: dict[str, Any] = {}
        for name, key_node, value_node in self._pairs(node, len(key)):
            if name not in values:  # own keys come first, then those merged in
                self.lines[(*key, name)] = _line(key_node)
                values[name] = self.build(value_node, (*key, name))
        return values

    def _pairs(self, node: Node, depth: int) -> Iterator[tuple[str, Node, Node]]:
        """Yield a mapping's own keys, then those of the mappings that it merges in (<<)."""
        self._bound(node, depth)
        merged: list[Node] = []
        seen: dict[str, int] = {}
        for key_node, value_node in node.value:
            name = self._name(key_node)
            if name in seen:
                self._refuse(
                    f"{_tame(name)} is written twice, on lines {seen[name]} and {_line(key_node)}",
                    key_node,
                    "keep one of the two",
                )
            seen[name] = _line(key_node)
            if key_node.tag == "tag:yaml.org,2002:merge":
                merged = self._to_merge(value_node)
            else:
                yield name, key_node, value_node
        for other in merged:
            yield from self._pairs(other, depth + 1)

    def _to_merge(self, node: Node) -> list[Node]:
        from ruamel.yaml.nodes import MappingNode, SequenceNode  # noqa: PLC0415

        nodes = node.value if isinstance(node, SequenceNode) else [node]
        if not all(isinstance(each, MappingNode) for each in nodes):
            self._refuse("<<: merges in something that has no keys", node, "name an anchor: <<: *x")
        return list(nodes)

    def _name(self, node: Node) -> str:
        from ruamel.yaml.nodes import ScalarNode  # noqa: PLC0415

        if not isinstance(node, ScalarNode):
            self._refuse("a key is a list or a section", node, "write a word before the colon")
        return str(node.value)

    def _scalar(self, node: Node) -> Any:
        kind = str(node.tag).removeprefix("tag:yaml.org,2002:")
        if kind == "str":
            return node.value
        if kind not in _PLAIN_KINDS:
            shown = kind if kind.startswith("!") else f"!!{kind}"
            self._refuse(f"the tag {shown} is not used in run files", node, "write the plain value")
        return core_scalar(node.value)

    def _bound(self, node: Node, depth: int) -> None:
        self.count += 1
        _check_size(depth, self.count, f"{self.name}, line {_line(node)}")

    def _refuse(self, what: str, node: Node, fix: str) -> None:
        raise ConfigError(what, where=f"{self.name}, line {_line(node)}", fix=fix)


# What a plain scalar may be taken for; a date is text in YAML 1.2.
_PLAIN_KINDS = {"null", "bool", "int", "float", "timestamp", "value"}
_LONGEST_NUMBER = 100

_CORE = (
    (re.compile(r"null|Null|NULL|~|"), lambda _: None),
    (re.compile(r"true|True|TRUE"), lambda _: True),
    (re.compile(r"false|False|FALSE"), lambda _: False),
    (re.compile(r"[-+]?[0-9]+"), int),
    (re.compile(r"0o[0-7]+"), lambda text: int(text[2:], 8)),
    (re.compile(r"0x[0-9a-fA-F]+"), lambda text: int(text[2:], 16)),
    (re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?"), float),
    (re.compile(r"[-+]?\.(inf|Inf|INF)"), lambda text: float(text.replace(".", ""))),
    (re.compile(r"\.(nan|NaN|NAN)"), lambda _: float("nan")),
)


def core_scalar(text: str) -> Any:
    """Return what a plain scalar means in the core schema of YAML 1.2.2, §10.3.2."""
    if len(text) > _LONGEST_NUMBER:
        return text
    for pattern, value in _CORE:
        if pattern.fullmatch(text):
            return value(text)
    return text
