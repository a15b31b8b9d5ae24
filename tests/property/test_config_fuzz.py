"""Whatever is done to a run file, it loads or is refused with a line; units go there and back."""

from __future__ import annotations

import copy
import math
import re
import tempfile
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from pydantic import TypeAdapter, ValidationError

from suitability.config import LoadedRun, RunSettings, json_schema, load_run
from suitability.config.document import core_scalar, parse_document
from suitability.config.units import DistanceM, quantity
from suitability.errors import ConfigError

CONFIGS = Path(__file__).parents[2] / "configs"
VALID = [
    (CONFIGS / "sample_area.yaml").read_text(encoding="utf-8"),
    # Its table lies beside it, which a text alone has not.
    (CONFIGS / "grouped_criteria.yaml")
    .read_text(encoding="utf-8")
    .replace("table: water_curve.csv", "falling: [400, 1 mile]"),
]
VALUES = [parse_document(text, "run.yaml").values for text in VALID]
SCHEMA = Draft202012Validator(json_schema())

# What pydantic, Python or the YAML parser would say, and a land manager should not read.
JARGON = re.compile(r"pydantic|Input should|validation|dict\b|tuple|NoneType|instance of|Traceback")

ODD_VALUES = [
    *("true", "null", "~", ".nan", "-.inf", "1e400", "-1", "0", "9" * 400, "''", '""', "[]", "{}"),
    *("[[]]", "[1, 2, 3]", "{a: 1}", "2025-04-15", "20", "'20'", "20 ft", "4 h", "30 %", "3 deg"),
    *(
        "*x",
        "&x 1",
        "!!python/object:os.system x",
        "!!int '7'",
        "<<",
        "|",
        ">-",
        "- 1",
        ": ",
        "x: y",
    ),
    *(
        '"\\UFFFFFFFF"',
        '"\\0"',
        '"\\e"',
        "'",
        '"',
        "%",
        "@",
        "`",
        "\t",
        "\x00",
        "\ud83d",
        "é",
        "\u2028",
    ),
]


def load_text(text: str) -> LoadedRun | ConfigError:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "run.yaml"
        path.write_bytes(text.encode("utf-8", "surrogatepass"))
        try:
            return load_run(path)
        except ConfigError as exc:
            return exc


def check(text: str) -> None:
    outcome = load_text(text)
    if isinstance(outcome, LoadedRun):
        assert outcome.settings.inputs.elevation.path
        assert SCHEMA.is_valid(outcome.document.values)
        return
    said = str(outcome)
    assert not JARGON.search(said)
    told_of_file = ("says nothing", "not a text file")
    assert re.search(r"line \d+", said) or any(words in said for words in told_of_file), said
    assert "fix:" in said


@st.composite
def mutated(draw: st.DrawFn) -> str:
    """Give a shown run file after one to four accidents."""
    lines = draw(st.sampled_from(VALID)).splitlines()
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(lines) - 1))
        match draw(st.sampled_from(["drop", "twice", "indent", "value", "key", "sign", "swap"])):
            case "drop":
                del lines[at]
            case "twice":
                lines.insert(at, lines[at])
            case "indent":
                lines[at] = " " * draw(st.integers(0, 6)) + lines[at].lstrip()
            case "value":
                odd = draw(st.sampled_from(ODD_VALUES))
                lines[at] = re.sub(r":( .*)?$", lambda _, odd=odd: f": {odd}", lines[at], count=1)
            case "key":
                lines[at] = lines[at].replace(draw(st.sampled_from("aeiou")), "", 1)
            case "sign":
                column = draw(st.integers(0, len(lines[at])))
                sign = draw(st.sampled_from(ODD_VALUES))
                lines[at] = lines[at][:column] + sign + lines[at][column:]
            case "swap":
                other = draw(st.integers(0, len(lines) - 1))
                lines[at], lines[other] = lines[other], lines[at]
    return "\n".join(lines)


@settings(max_examples=150, deadline=None)
@given(mutated())
def test_a_mutated_run_file_loads_or_is_told_its_line(text: str) -> None:
    check(text)


@settings(max_examples=200, deadline=None)
@given(st.lists(st.sampled_from([*":#[]{}*&!|>-?,'\"%\n", "\n  ", ": ", "a", "<<: ", *ODD_VALUES])))
def test_scraps_of_yaml_load_or_are_told_their_line(parts: list[str]) -> None:
    check("".join(parts))


leaves = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-10, 10_000),
    st.floats(),
    st.text(max_size=8),
    st.sampled_from(["20 ft", "4 h", "3 deg", "40 %", "dem.tif", "04-15", "pole", "nlcd"]),
)
ALIKE = {
    int: st.integers(0, 40) | st.floats(0, 1),
    float: st.integers(0, 40) | st.floats(0, 1),
    str: st.sampled_from(["20 ft", "6 m", "4 h", "30 min", "3 deg", " 20 deg ", "04-15", "x.tif"]),
    type(None): st.integers(1, 5) | st.just("x"),
}
values = st.recursive(
    leaves,
    lambda inner: st.one_of(
        st.lists(inner, max_size=4), st.dictionaries(st.text(max_size=6), inner, max_size=3)
    ),
    max_leaves=6,
)


@st.composite
def changed_values(draw: st.DrawFn) -> dict[str, Any]:
    """Give a shown run's values with one of them, at any depth, replaced."""
    whole = copy.deepcopy(draw(st.sampled_from(VALUES)))
    inner: Any = whole
    while True:
        key = draw(st.sampled_from(list(inner) if isinstance(inner, dict) else range(len(inner))))
        if not isinstance(inner[key], dict | list) or not inner[key] or draw(st.booleans()):
            alike = ALIKE.get(type(inner[key]), values) if draw(st.booleans()) else values
            inner[key] = draw(alike)
            return whole
        inner = inner[key]


@settings(max_examples=300, deadline=None)
@given(changed_values())
def test_the_schema_accepts_what_the_loader_accepts(changed: dict[str, Any]) -> None:
    try:
        RunSettings.model_validate(changed)
    except ValidationError:
        return
    assert SCHEMA.is_valid(changed)


# In metres; exact by definition.
EXACT = {"m": 1.0, "km": 1000.0, "ft": 0.3048, "yd": 0.9144, "mile": 1609.344}


@given(st.floats(0, 1e6), st.sampled_from(list(EXACT)))
def test_lengths_go_there_and_back(metres: float, unit: str) -> None:
    number = metres / EXACT[unit]
    back = quantity(f"{number:.17e} {unit}", "m")
    assert math.isclose(back, metres, rel_tol=1e-15, abs_tol=1e-300)


@given(st.floats(allow_nan=False, allow_infinity=False), st.sampled_from(["m", "h", "deg", "1"]))
def test_a_bare_number_is_taken_as_it_is(number: float, unit: str) -> None:
    assert quantity(number, unit) == number


@given(st.text(max_size=12) | st.from_regex(r"\A[0-9.]{1,4} ?[a-zA-Z%/²]{1,8}\Z"))
def test_any_text_is_a_length_or_a_fault(text: str) -> None:
    adapter = TypeAdapter(DistanceM)
    try:
        number = adapter.validate_python(text)
    except ValidationError:
        return
    assert math.isfinite(number)
    assert number >= 0
    assert Draft202012Validator(adapter.json_schema()).is_valid(text)


@given(st.integers(-(10**90), 10**90))
def test_integers_are_read_as_written(number: int) -> None:
    assert core_scalar(str(number)) == number


@given(st.floats(allow_nan=False))
def test_floats_are_read_as_written(number: float) -> None:
    text = repr(number).replace("inf", ".inf")
    assert core_scalar(text) == number
