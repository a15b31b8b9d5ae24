"""Opening a run file: paths, lines, limits, and files that are none."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from suitability.config import LoadedRun, load_run
from suitability.config.document import MAX_DEPTH, MAX_NODES, core_scalar, parse_document
from suitability.config.load import MAX_BYTES
from suitability.errors import ConfigError

VALID = """\
title: North field   # line 1
inputs:
  elevation: dem.tif
  land_cover: {path: data/cover.tif, legend: own/legend.yaml}
  streams:
    - path: ../water/streams.gpkg
      layer: flowlines
    - ponds.gpkg
  boundary: &land
    path: land.gpkg
    where: name = 'North'
  keep_outs:
    <<: *land
    where: name <> 'North'
criteria:
  - layer: slope_deg
    weight: 1
    value:
      falling: [10 deg, 25 deg]
out: ../runs/north
"""


def written(folder: Path, text: str | bytes, name: str = "preserve.yaml") -> Path:
    path = folder / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def refused(folder: Path, text: str | bytes) -> ConfigError:
    with pytest.raises(ConfigError) as caught:
        load_run(written(folder, text))
    assert caught.value.fix
    return caught.value


@pytest.fixture
def loaded(tmp_path: Path) -> LoadedRun:
    folder = tmp_path / "configs"
    folder.mkdir()
    return load_run(written(folder, VALID))


def test_a_run_file_is_read(loaded: LoadedRun) -> None:
    assert loaded.settings.title == "North field"
    assert loaded.text == VALID
    assert loaded.path.is_absolute()
    assert loaded.settings.criteria is not None
    assert loaded.settings.criteria[0].curve.knots == ((10, 1), (25, 0))


def test_paths_are_seen_from_the_files_folder(loaded: LoadedRun, tmp_path: Path) -> None:
    inputs = loaded.settings.inputs
    assert inputs.elevation.path == str(tmp_path / "configs" / "dem.tif")
    assert inputs.land_cover.path == str(tmp_path / "configs" / "data" / "cover.tif")
    assert inputs.land_cover.legend == str(tmp_path / "configs" / "own" / "legend.yaml")
    assert inputs.streams[0].path == str(tmp_path / "water" / "streams.gpkg")
    assert inputs.streams[1].path == str(tmp_path / "configs" / "ponds.gpkg")
    assert loaded.settings.out == tmp_path / "runs" / "north"


def test_the_working_folder_does_not_matter(
    loaded: LoadedRun, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(loaded.path.parent)
    assert load_run("preserve.yaml").settings == loaded.settings
    assert load_run(Path("../configs/preserve.yaml")).settings == loaded.settings


@pytest.mark.parametrize(
    "path",
    [
        "/data/dem.tif",
        "/vsizip//data/dem.zip/dem.tif",
        "/vsicurl/https://example.org//dem.tif",
        "https://example.org/a//dem.tif",
        "s3://bucket//dem.tif",
        "GPKG:dem.gpkg:height",
        'NETCDF:"dem.nc":z',
    ],
)
def test_what_is_no_relative_path_stays_as_written(path: str, tmp_path: Path) -> None:
    quoted = path.replace("'", "''")
    text = f"inputs: {{elevation: '{quoted}', land_cover: b.tif, streams: c.gpkg}}"
    assert load_run(written(tmp_path, text)).settings.inputs.elevation.path == path


def test_home_and_drives(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    text = "inputs: {elevation: ~/dem.tif, land_cover: 'c:b.tif', streams: 'a ü ø.gpkg'}"
    inputs = load_run(written(tmp_path, text)).settings.inputs
    assert inputs.elevation.path == str(tmp_path / "home" / "dem.tif")
    assert inputs.land_cover.path == str(tmp_path / "c:b.tif")
    assert inputs.streams[0].path == str(tmp_path / "a ü ø.gpkg")


def test_links_in_a_path_stay(tmp_path: Path) -> None:
    (tmp_path / "store").mkdir()
    (tmp_path / "dem.tif").symlink_to(tmp_path / "store" / "dem.tif")
    text = "inputs: {elevation: dem.tif, land_cover: b.tif, streams: c.gpkg}"
    path = load_run(written(tmp_path, text)).settings.inputs.elevation.path
    assert path == str(tmp_path / "dem.tif")


@pytest.mark.parametrize(
    ("key", "place"),
    [
        ("title", "line 1: title"),
        ("inputs", "line 2: inputs"),
        ("inputs.elevation", "line 3: inputs.elevation"),
        ("inputs.elevation.unit", "line 3: inputs.elevation"),
        ("inputs.land_cover.legend", "line 4: inputs.land_cover.legend"),
        ("inputs.streams[0].layer", "line 7: inputs.streams[0].layer"),
        ("inputs.streams[1]", "line 8: inputs.streams[1]"),
        ("inputs.streams[1].layer", "line 8: inputs.streams[1]"),
        ("inputs.streams[7].layer", "line 5: inputs.streams"),
        ("inputs.boundary.path", "line 10: inputs.boundary.path"),
        ("inputs.keep_outs[0].path", "line 10: inputs.keep_outs.path"),
        ("inputs.keep_outs[0].where", "line 14: inputs.keep_outs.where"),
        ("criteria[0].weight", "line 17: criteria[0].weight"),
        ("criteria[0].value.falling[1]", "line 19: criteria[0].value.falling[1]"),
        ("grid.cell", "line 1"),
        ("", "line 1"),
    ],
)
def test_every_key_is_located(loaded: LoadedRun, key: str, place: str) -> None:
    assert loaded.locate(key) == f"preserve.yaml, {place}"


def test_merged_keys_yield_to_their_own(loaded: LoadedRun) -> None:
    keep_outs = loaded.settings.inputs.keep_outs
    assert keep_outs is not None
    assert keep_outs[0].where == "name <> 'North'"
    assert keep_outs[0].path.endswith("land.gpkg")


def test_the_first_of_several_merged_wins() -> None:
    text = "a: &a {x: 1}\nb: &b {x: 2, y: 3}\nc:\n  <<: [*a, *b]\n  z: 4\n"
    assert parse_document(text, "p").values["c"] == {"z": 4, "x": 1, "y": 3}


def test_an_anchor_may_be_set_anew() -> None:
    assert parse_document("a: &x 1\nb: &x 2\nc: *x\n", "p").values == {"a": 1, "b": 2, "c": 2}


def test_byte_order_mark_and_line_ends_of_another_system(tmp_path: Path) -> None:
    run = load_run(written(tmp_path, b"\xef\xbb\xbf" + VALID.replace("\n", "\r\n").encode()))
    assert run.locate("criteria[0].weight") == "preserve.yaml, line 17: criteria[0].weight"


def test_scalars_of_yaml_1_2() -> None:
    text = (
        "a: 010\nb: 0o10\nc: 0x10\nd: yes\ne: 12:30\nf: 2025-04-15\ng: 1e3\nh: .5\ni: ~\nj:\n"
        "k: 1_000\nl: 'true'\nm: !!str 12\nn: TRUE\no: '12'\np: -.inf\nq: !!int '7'\nr: 04-15\n"
    )
    assert parse_document(text, "p").values == {
        **{"a": 10, "b": 8, "c": 16, "d": "yes", "e": "12:30", "f": "2025-04-15", "g": 1000.0},
        **{"h": 0.5, "i": None, "j": None, "k": "1_000", "l": "true", "m": "12", "n": True},
        **{"o": "12", "p": float("-inf"), "q": 7, "r": "04-15"},
    }
    assert core_scalar("9" * 5000) == "9" * 5000


@pytest.mark.parametrize(
    ("text", "what", "line"),
    [
        ("a:\n\tb: 1\n", "a tab stands", 2),
        ("a: 1\nb: 2\na: 3\n", "a is written twice, on lines 1 and 3", 3),
        ("a:\n  x: 1\n  x: 2\n", "x is written twice, on lines 2 and 3", 3),
        ("a: 1\n---\nb: 2\n", "more than one document", 2),
        ("a: b: c\n", "a colon is not expected", 1),
        ("a: 1\n b: 2\n", "a colon is not expected", 2),
        ("a:\n  b: 1\n c: 2\n", "not indented like", 3),
        ("a: 1\nb: [1, 2\nc: 3\n", "[ is not closed", 2),
        ("a: 1\nb: {x: 2\nc: 3\n", "{ is not closed", 2),
        ("a: 1\nb: 'xyz\nc: 3\n", "a quote is not closed", 2),
        ('a: "C:\\data"\n', "a \\ in double quotes is misread", 1),
        ('a: 1\nb: "\\UFFFFFFFF"\n', "a \\U in double quotes names no character", 2),
        ("a: *x\n", "has no anchor", 1),
        ("a: 1\nb: @x\n", "a sign that YAML keeps", 2),
        ("a: - b\n", "a list cannot begin here", 1),
        ("a: ]\n", "a value is missing", 1),
        ("a: !!python/object:os.system x\n", "!!python/object:os.system is not used", 1),
        ("a: !mine x\n", "the tag !mine is not used", 1),
        ("a: !!binary aGk=\n", "!!binary is not used", 1),
        ("? [a]\n: 1\n", "a key is a list or a section", 1),
        ("a: 1\nb:\n  <<: 3\n", "merges in something that has no keys", 3),
        ("%YAML 1.1\n---\na: 1\n", "another version of YAML", 2),
        ("- a\n", "does not consist of keys", 1),
        ("\n\nhello\n", "does not consist of keys", 3),
        ("inputs:elevation\n", "does not consist of keys", 1),
        ("a: 1\nb: \x07\n", "a control character", 2),
        ("a: &a\n  b: *a\n", "nested more than", 1),
        ("a: &a\n  <<: *a\n", "nested more than", 1),
        ("a: " + "[" * 100_000, "nested more than", 1),
        ("- " * 5000, "nested more than", 1),
    ],
)
def test_what_is_no_yaml_of_ours(tmp_path: Path, text: str, what: str, line: int) -> None:
    error = refused(tmp_path, text)
    assert what in error.what
    assert error.where == f"preserve.yaml, line {line}"


def test_the_depth_allowed_is_allowed() -> None:
    deep = "a: " + "[" * (MAX_DEPTH - 1) + "]" * (MAX_DEPTH - 1)
    assert "a" in parse_document(deep, "p").values


@pytest.mark.parametrize("text", ["", "\n\n", "# nothing yet\n", "---\n...\n"])
def test_an_empty_file(tmp_path: Path, text: str) -> None:
    assert "preserve.yaml" in refused(tmp_path, text).what


def _laugh(entry: str) -> str:
    """Ten anchors, each nine times the one before: 9^10 entries in a few hundred bytes."""
    lines = ["a0: &a0 {x: 1}"]
    lines += [f"a{n}: &a{n} " + entry.format(", ".join([f"*a{n - 1}"] * 9)) for n in range(1, 11)]
    return "\n".join(lines)


@pytest.mark.parametrize("entry", ["[{}]", "{{<<: [{}]}}"])
def test_aliases_cannot_grow_without_end(tmp_path: Path, entry: str) -> None:
    begin = time.perf_counter()
    error = refused(tmp_path, _laugh(entry))
    assert f"{MAX_NODES:,}" in error.what
    assert time.perf_counter() - begin < 5


def test_sizes(tmp_path: Path) -> None:
    assert "larger than 1 MB" in refused(tmp_path, "#" * (MAX_BYTES + 1)).what
    assert f"{MAX_NODES:,}" in refused(tmp_path, "a: [" + "1," * (MAX_NODES + 1) + "]").what


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"title: N\xf6rd\n", "not written in UTF-8"),
        ("title: x".encode("utf-16"), "not written in UTF-8"),
        (b"II*\x00\x08\x00\x00\x00", "not a text file"),
        (b"SQLite format 3\x00", "not a text file"),
    ],
)
def test_what_is_no_text(tmp_path: Path, data: bytes, what: str) -> None:
    error = refused(tmp_path, data)
    assert what in error.what
    assert str(tmp_path / "preserve.yaml") in str(error.where)


def test_the_line_that_is_not_utf_8(tmp_path: Path) -> None:
    error = refused(tmp_path, b"inputs:\n  # all\ntitle: N\xf6rd\n")
    assert str(error.where).endswith("preserve.yaml, line 3")


def test_what_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match="is a folder"):
        load_run(tmp_path)
    written(tmp_path, VALID)
    with pytest.raises(ConfigError, match=r"did you mean preserve\.yaml"):
        load_run(tmp_path / "perserve.yaml")
    with pytest.raises(ConfigError, match="check its name"):
        load_run(tmp_path / "q.yaml")
    with pytest.raises(ConfigError, match="its folder does not exist"):
        load_run(tmp_path / "nowhere" / "preserve.yaml")
    with pytest.raises(ConfigError, match="cannot be read"):
        load_run(tmp_path / ("x" * 5000))
    os.mkfifo(tmp_path / "pipe.yaml")
    with pytest.raises(ConfigError, match="a pipe"):
        load_run(tmp_path / "pipe.yaml")


def test_the_room_is_light_to_import() -> None:
    """`--help` waits for this import; what is heavy comes when it is needed."""
    heavy = ["rasterio", "numba", "numpy", "pandas", "pyproj", "pint", "ruamel.yaml"]
    code = (
        "import sys, suitability.config as c; c.json_schema();"
        f"print([name for name in {heavy} if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
