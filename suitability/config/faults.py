"""What is wrong with the values of a run file, all of it in one error, in a land manager's words.

pydantic finds the faults; its wording speaks of types and is replaced here.
"""

from __future__ import annotations

import difflib
import json
import math
from collections.abc import Callable, Iterable, Iterator
from contextvars import ContextVar
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from suitability.config.criteria import KINDS, Criterion, Group
from suitability.config.document import Document, Key, key_text
from suitability.config.settings import RunSettings
from suitability.config.unfit import UnfitValueError, shown
from suitability.errors import ConfigError

if TYPE_CHECKING:
    from pydantic import ValidationError
    from pydantic_core import ErrorDetails


# A fault's key tells which kind of entry a list's entry was taken for; the file has no such key.
_KINDS: dict[Any, type[BaseModel]] = {KINDS[0]: Criterion, KINDS[1]: Group}

# The section that the keys of a file begin in, while its faults are told.
_ROOT: ContextVar[type[BaseModel]] = ContextVar("root", default=RunSettings)

MOST_TOLD = 50
MOST_HOMES = 2  # of a key that stands in the wrong section


@dataclass(frozen=True)
class Fault:
    """One thing to put right in the run file."""

    key: Key
    what: str
    fix: str


def config_error(
    error: ValidationError, document: Document, root: type[BaseModel] = RunSettings
) -> ConfigError:
    """Return one error that lists every fault, in the order of the file's lines.

    Parameters
    ----------
    error : ValidationError
        What pydantic found.
    document : Document
        The file that was read.
    root : type
        The section that its keys begin in.
    """
    token = _ROOT.set(root)
    try:
        found = _faults(error)
    finally:
        _ROOT.reset(token)
    faults = sorted(found, key=lambda fault: document.lines[document.nearest(fault.key)])
    if len(faults) == 1:
        only = faults[0]
        return ConfigError(only.what, where=document.place(only.key), fix=only.fix)
    told = [f"{document.name} has {len(faults)} faults:"]
    for fault in faults[:MOST_TOLD]:
        place = document.place(fault.key).removeprefix(f"{document.name}, ")
        told += [f"- {place}: {fault.what}", f"    fix: {fault.fix}"]
    if len(faults) > MOST_TOLD:
        told.append(f"- and {len(faults) - MOST_TOLD} more")
    return ConfigError("\n".join(told))


def _faults(error: ValidationError) -> list[Fault]:
    details = [detail for detail in error.errors(include_url=False) if not _is_echo(detail)]
    faults = [_fault(detail) for detail in details]
    renamed = {
        (*fault.key[:-1], near)
        for fault, detail in zip(faults, details, strict=True)
        if detail["type"] == "extra_forbidden" and (near := _nearest_key(fault.key))
    }
    wanted = [
        fault
        for fault, detail in zip(faults, details, strict=True)
        if not (detail["type"] == "missing" and tuple(detail["loc"]) in renamed)
    ]
    return list(dict.fromkeys(replace(fault, key=_as_written(fault.key)) for fault in wanted))


def _as_written(key: Key) -> Key:
    """Return a key without the kinds of entries."""
    return tuple(step for step in key if step not in _KINDS)


def _is_echo(detail: ErrorDetails) -> bool:
    """Tell whether a list is called too short only because its entries have faults."""
    return detail["type"] == "too_short" and len(detail["input"]) >= detail["ctx"]["min_length"]


def _fault(detail: ErrorDetails) -> Fault:
    key, kind, value = detail["loc"], detail["type"], detail["input"]
    if kind in _OF_KEYS:
        return _OF_KEYS[kind](key, value)
    if kind == "value_error":
        return _told_already(key, detail["ctx"]["error"])
    if value is None:
        return Fault(key, f"{_name(key)} is empty", _fill(key))
    if kind in _OF_NUMBERS and not math.isfinite(value):
        return Fault(key, f"{shown(value)} is not a finite number", "write a number")
    if kind in _OF_VALUES:
        return Fault(key, *_OF_VALUES[kind](key, value, detail.get("ctx", {})))
    return Fault(key, f"{shown(value)} cannot be used here", _fill(key))


def _told_already(key: Key, error: Exception) -> Fault:
    if isinstance(error, UnfitValueError):
        return Fault((*key, *error.within), error.what, error.fix)
    return Fault(key, str(error), _fill(key))


def _missing(key: Key, value: Any) -> Fault:
    if isinstance(key[-1], int):  # of a list of fixed length
        return Fault(key[:-1], f"{len(value)} entries are too few", _fill(key))
    return Fault(key, f"{_name(key)} is missing", f"add {_example(key)}")


def _unknown(key: Key, _: Any) -> Fault:
    return Fault(
        key,
        f"{shown(key[-1])} is not a key of {_text(key[:-1]) or _whole()}",
        f"{_what_to_do_with(key)}; the keys are {', '.join(_keys_beside(key))}",
    )


def _whole() -> str:
    return "the run file" if _ROOT.get() is RunSettings else "the file"


def _what_to_do_with(unknown: Key) -> str:
    homes = list(_homes(unknown[-1], _ROOT.get(), ()))
    if 1 <= len(homes) <= MOST_HOMES:
        return f"move it {' or '.join(homes)}"
    near = _nearest_key(unknown)
    return f"write {near} instead" if near else "delete it"


def _not_a_section(key: Key, value: Any) -> Fault:
    field = _field_at(key)
    keys = ", ".join(_section_in(_annotation_at(key)).model_fields)
    if value is None:
        away = "" if field.is_required() else ", or delete the line to use the defaults"
        return Fault(key, f"{_name(key)} is empty", f"indent its keys under it ({keys}){away}")
    blank = "; leave a blank after the colon" if isinstance(value, str) and ":" in value else ""
    alone = "write the file's path, or " if keys.startswith("path") else ""
    what = f"{shown(value)} is not what {_name(key)} needs"
    return Fault(key, what, f"{alone}indent keys under it ({keys}){blank}")


_OF_KEYS: dict[str, Callable[[Key, Any], Fault]] = {
    "missing": _missing,
    "extra_forbidden": _unknown,
    "model_type": _not_a_section,
}

_OF_NUMBERS = {"finite_number", "greater_than_equal", "less_than_equal"}

_Told = tuple[str, str]


def _not_text(key: Key, value: Any, _: Any) -> _Told:
    if isinstance(value, dict | list):
        return f"{shown(value)} is not a text", _fill(key)
    example = _field_at(key).examples
    such = f', such as "{example[0]}"' if example else ""
    return f"{shown(value)} is not a text", f"write a text in quotes{such}"


def _no_choice(_: Key, value: Any, ctx: dict[str, Any]) -> _Told:
    choices = ctx["expected"].replace("'", "").replace(" or ", ", ").split(", ")
    near = _nearest(str(value), choices)
    which = f"write {choices[0]}" if len(choices) == 1 else f"write one of {', '.join(choices)}"
    hint = f" (nearest: {near})" if near and len(choices) > 1 else ""
    return f"{shown(value)} is not a choice here", which + hint


def _no_list(key: Key, value: Any, _: Any) -> _Told:
    of_sections = _section_or_none(_field_at(key).annotation) is not None
    fix = 'begin each entry with "- "' if of_sections else _fill(key)
    return f"{shown(value)} stands where a list belongs", fix


def _empty_list(key: Key, value: Any, ctx: dict[str, Any]) -> _Told:
    what = f"{len(value)} entries are too few" if value else "the list is empty"
    return what, f"give {ctx['min_length']} or more: {_fill(key)}"


_OF_VALUES: dict[str, Callable[[Key, Any, dict[str, Any]], _Told]] = {
    "literal_error": _no_choice,
    "string_type": _not_text,
    "path_type": _not_text,
    "tuple_type": _no_list,
    "too_short": _empty_list,
    "too_long": lambda key, value, _: (f"{len(value)} entries are too many", _fill(key)),
    "int_type": lambda _k, v, _c: (f"{shown(v)} is not a whole number", "write a whole number"),
    **dict.fromkeys(
        ("bool_type", "bool_parsing"),
        lambda _k, v, _c: (f"{shown(v)} is neither yes nor no", "write true or false"),
    ),
    "float_type": lambda _k, v, _c: (f"{shown(v)} is not a number", "write a bare number"),
    "string_too_short": lambda key, _v, _c: (f"{_name(key)} is empty", _fill(key)),
    "string_too_long": lambda key, v, ctx: (
        f"{_name(key)} has {len(v)} characters",
        f"shorten it to {ctx['max_length']}",
    ),
    "greater_than_equal": lambda _k, v, ctx: (
        f"{shown(v)} is too small",
        f"write {ctx['ge']:g} or more",
    ),
    "less_than_equal": lambda _k, v, ctx: (
        f"{shown(v)} is too large",
        f"write {ctx['le']:g} or less",
    ),
}


def _name(key: Key) -> str:
    """Return the last step of a key that has a name, with its numbers."""
    return _text(key[_last_name(key) :])


def _text(key: Key) -> str:
    return key_text(_as_written(key))


def _last_name(key: Key) -> int:
    """Return where the last name in a key stands."""
    named = (at for at, step in enumerate(key) if isinstance(step, str) and step not in _KINDS)
    return max(named, default=0)


def _fill(key: Key) -> str:
    field = _field_at(key)
    away = "" if field.is_required() or isinstance(key[-1], int) else ", or delete the line"
    return f"write {_example(key)}{away}"


def _example(key: Key) -> str:
    """Return a key as it may be written, with an example or what belongs there."""
    name, field = key[_last_name(key)], _field_at(key)
    if field.examples:
        return f"{name}: {_written(field.examples[0])}"
    if (section := _section_or_none(field.annotation)) is not None:
        needed = [name for name, each in section.model_fields.items() if each.is_required()]
        keys = ", ".join(needed or section.model_fields)
        return f"{name}: with its keys {keys}"
    return f"{name}: {_written(field.default)}"


def _written(value: Any) -> str:
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)


def _nearest(word: str, words: Iterable[str]) -> str | None:
    return next(iter(difflib.get_close_matches(word, list(words), n=1, cutoff=0.6)), None)


def _nearest_key(key: Key) -> str | None:
    return _nearest(str(key[-1]), _keys_beside(key))


def _keys_beside(key: Key) -> list[str]:
    """Return the keys that may stand where an unknown one does."""
    return list(_section_in(_annotation_at(key[:-1])).model_fields)


def _homes(name: str | int, section: type[BaseModel], above: Key) -> Iterator[str]:
    """Yield where a key would belong, in a section or below it."""
    if name in section.model_fields:
        yield f"under {key_text(above)}" if above else "to the left margin"
    for own, field in section.model_fields.items():
        inner = _section_or_none(field.annotation)
        if inner is not None and _named_type(field.annotation) is None:
            yield from _homes(name, inner, (*above, own))


def _field_at(key: Key) -> FieldInfo:
    """Return the setting that a key names, or that its list entry belongs to."""
    last = _last_name(key)
    above = _annotation_at(key[:last])
    named = _named_type(above)
    if named is not None:
        return FieldInfo.from_annotation(named)
    return _section_in(above).model_fields[str(key[last])]


def _annotation_at(key: Key) -> Any:
    annotation: Any = _ROOT.get()
    for step in key:
        if step in _KINDS:
            annotation = _KINDS[step]
        elif isinstance(step, str):
            named = _named_type(annotation)
            annotation = named or _section_in(annotation).model_fields[step].annotation
    return annotation


def _named_type(annotation: Any) -> Any:
    """Return the type of the entries that a mapping holds by names of the user's choice."""
    return get_args(annotation)[1] if get_origin(annotation) is dict else None


def _section_in(annotation: Any) -> type[BaseModel]:
    section = _section_or_none(annotation)
    if section is None:
        msg = f"no section of the run file in {annotation}"
        raise TypeError(msg)
    return section


def _section_or_none(annotation: Any) -> type[BaseModel] | None:
    """Return the section in a setting's type, whether optional or in a list."""
    if get_origin(annotation) is None and isinstance(annotation, type):
        return annotation if issubclass(annotation, BaseModel) else None
    inner = (_section_or_none(part) for part in get_args(annotation))
    return next((section for section in inner if section), None)
