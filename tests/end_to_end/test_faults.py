"""What goes wrong around a run: a full disk, inputs that change, other clocks and places."""

from __future__ import annotations

import contextlib
import json
import os
import resource
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
import rasterio
from command import COMMAND, files_in, parts, refused, results_in, succeeded
from small_land import RUN, heights, write_config, write_land, write_raster

from suitability.config import load_run
from suitability.errors import ConfigError, InputError
from suitability.finished import FinishedRun
from suitability.run import screen

STREAMS_SHP = RUN.replace("streams.gpkg", "streams.shp")
DATED = {"run.json", "figure.png", "map.html"}  # they tell when, or where they lie


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Screen the land undisturbed, once; return its folder."""
    land = tmp_path_factory.mktemp("whole")
    succeeded("screen", write_land(land), "--out", land / "out")
    return land


def same_bytes(one: Path, other: Path, names: set[str]) -> None:
    for name in sorted(names):
        assert (one / name).read_bytes() == (other / name).read_bytes(), name


# --- no room ----------------------------------------------------------------------------------


@contextlib.contextmanager
def small_disk(place: Path, kilobytes: int) -> Iterator[Callable[..., int]]:
    """Yield a runner of the command into a folder with so much room.

    As root the room is that of a disk of its own; else it is the most that one file may take.
    """
    place.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", f"size={kilobytes}k", "tmpfs", str(place)]
    is_disk = os.geteuid() == 0 and subprocess.run(mount, capture_output=True).returncode == 0  # noqa: PLW1510

    def limit() -> None:
        if not is_disk:
            most = kilobytes * 1024 // 4
            resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))

    def run(*words: object) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [*COMMAND, *map(str, words)], capture_output=True, encoding="utf-8", timeout=120,
            check=False, preexec_fn=limit,
        )  # fmt: skip

    try:
        yield run
    finally:
        if is_disk:
            subprocess.run(["umount", str(place)], check=True)


@pytest.mark.parametrize("kilobytes", [180, 420, 800])
def test_a_full_disk_is_told_and_leaves_whole_files_only(
    whole: Path, tmp_path: Path, kilobytes: int
) -> None:
    """From a disk that is soon full to one that the last pictures fill."""
    out = tmp_path / "disk" / "out"
    with small_disk(tmp_path / "disk", kilobytes) as run:
        ended = run("screen", whole / "run.yaml", "--out", out)
        assert ended.returncode == 2, ended.stderr
        assert "Traceback" not in ended.stderr
        # libtiff may complain before it, unasked.
        what, where, fix = parts(ended.stderr[ended.stderr.index("error: ") :])
        assert "cannot be" in what or "damaged" in what
        assert str(out) in where or where == "the run's folder"
        assert "room" in fix
        left = results_in(out) if out.exists() else set()
        assert "run.json" not in left
        assert not any(Path(name).name.startswith(".") for name in left)
        assert left <= results_in(whole / "out")
        same_bytes(out, whole / "out", left - DATED)
        assert "no finished run" in refused("explain", out, "--site", 1)


# A process that may have so much more than it has once all is imported and it has begun.
LITTLE = """\
import resource, sys
import suitability.cli, suitability.run, suitability.commands.screen, suitability.deliver
import matplotlib.backends.backend_agg

pages = int(open("/proc/self/statm").read().split()[0])
most = pages * resource.getpagesize() + int(sys.argv.pop(1)) * 2**20
suitability.cli.require_memory = lambda: resource.setrlimit(resource.RLIMIT_AS, (most, most))
sys.argv[0] = "suitability"
suitability.cli.main()
"""


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="tells memory as Linux does")
def test_too_little_memory_leaves_whole_files_only(whole: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    ended = subprocess.run(
        [sys.executable, "-c", LITTLE, "40", "screen", whole / "run.yaml", "--out", out,
         "--memory", "1GB"],
        capture_output=True, encoding="utf-8", timeout=120, check=False,
    )  # fmt: skip
    assert ended.returncode == 2 or ended.returncode < 0, ended.stderr  # a library in C gave up
    if ended.returncode == 2:
        what, _, fix = parts(ended.stderr[ended.stderr.index("error: ") :])
        assert "memory" in what
        assert "--memory" in fix
    left = results_in(out) if out.exists() else set()
    assert "run.json" not in left
    assert left <= results_in(whole / "out")
    for name in left:  # with less room GDAL may pack the same values into other bytes
        with rasterio.open(out / name) as one, rasterio.open(whole / "out" / name) as other:
            np.testing.assert_array_equal(one.read(), other.read())


# --- inputs that change -----------------------------------------------------------------------


def higher(land: Path) -> None:
    write_raster(land / "dem.tif", heights() + np.float32(7))


def other_streams(land: Path) -> None:
    """Write to one of the files that a shapefile is made of."""
    with (land / "streams.dbf").open("ab") as file:
        file.write(b" ")


def gone(land: Path) -> None:
    (land / "cover.tif").unlink()


@pytest.mark.parametrize(
    ("change", "stage"),
    [(higher, "measuring the land"), (higher, "judging the land"),
     (other_streams, "judging the land"), (gone, "writing results")],
)  # fmt: skip
def test_an_input_that_changes_meanwhile_makes_no_run(
    tmp_path: Path, change: Callable[[Path], None], stage: str
) -> None:
    config = write_land(tmp_path, STREAMS_SHP)
    gpd.read_file(tmp_path / "streams.gpkg").to_file(tmp_path / "streams.shp")
    out, seen = tmp_path / "out", []

    def meddle(name: str, share: float | None) -> None:
        if name == stage and not seen:
            seen.append(name)
            change(tmp_path)

    with pytest.raises(InputError) as caught:
        screen(load_run(config), out, progress=meddle)
    assert seen
    assert caught.value.fix
    assert ("changed while the run was at work" in caught.value.what) == (change is not gone)
    assert not (out / "run.json").exists()
    if change is higher:  # the next run has nothing of the mixture
        screen(load_run(config), out)
        lies = np.array([500_202.5]), np.array([4_449_897.5])  # row 20, column 40
        ground = FinishedRun.of(out).measures("ground_elevation_m", *lies)
        assert ground == pytest.approx(heights()[20, 40] + 7, abs=1e-3)


def test_a_read_of_an_input_is_no_change(tmp_path: Path) -> None:
    config = write_land(tmp_path)
    screen(
        load_run(config), tmp_path / "out", progress=lambda *_: (tmp_path / "dem.tif").read_bytes()
    )
    assert (tmp_path / "out" / "run.json").exists()


# --- other clocks, languages and names --------------------------------------------------------


def test_clock_language_and_names_of_folders_do_not_matter(whole: Path, tmp_path: Path) -> None:
    """A zone 14 h ahead, a locale that knows ASCII alone, no way to PROJ's grids on the web."""
    land = tmp_path / "Wälder & 'Wiesen' 森 #1"
    land.mkdir()
    for name in ("dem.tif", "cover.tif", "streams.gpkg"):
        shutil.copy(whole / name, land / name)
    config = write_config(land, RUN)
    there = {**os.environ, "TZ": "Pacific/Kiritimati", "LC_ALL": "C", "LANG": "C",
             "PROJ_NETWORK": "OFF"}  # fmt: skip
    ended = subprocess.run(
        [*COMMAND, "screen", config, "--out", land / "out"], capture_output=True, env=there,
        timeout=120, check=False,
    )  # fmt: skip
    assert ended.returncode == 0, ended.stderr
    assert ended.stderr == b""
    assert results_in(land / "out") == results_in(whole / "out")
    same_bytes(land / "out", whole / "out", results_in(land / "out") - DATED)


# --- a record that is not what was written ----------------------------------------------------


@pytest.mark.parametrize("hand", ["a score", "a caution", "the title"])
def test_a_record_changed_by_hand_is_refused(whole: Path, tmp_path: Path, hand: str) -> None:
    out = Path(shutil.copytree(whole / "out", tmp_path / "out"))
    record = json.loads((out / "run.json").read_text("utf-8"))
    match hand:
        case "a score":
            record["sites"][0]["score"] = 1.0
        case "a caution":
            record["site_cautions"][0]["about"].clear()
        case _:
            record["title"] = "Other land"
    (out / "run.json").write_text(json.dumps(record, ensure_ascii=False, indent=2))
    with pytest.raises(InputError, match="damaged or changed since it was written") as caught:
        FinishedRun.of(out)
    assert "screen" in str(caught.value.fix)


def test_a_record_laid_out_anew_is_the_same_record(whole: Path, tmp_path: Path) -> None:
    record = json.loads((whole / "out" / "run.json").read_text("utf-8"))
    (tmp_path / "run.json").write_text(json.dumps(record))
    assert FinishedRun.of(tmp_path).record == FinishedRun.of(whole / "out").record


# --- names that would lead elsewhere ----------------------------------------------------------


@pytest.mark.parametrize("name", ["../out_m", "/tmp/out_m", "a/b_m", "..", "con\\x_m", "x\0_m"])
def test_a_layer_cannot_be_called_by_a_path(tmp_path: Path, name: str) -> None:
    layers = json.dumps({name: {"value": "dem.tif"}})
    config = write_config(tmp_path, f"{RUN}layers: {layers}\n")
    with pytest.raises(ConfigError, match="line"):
        load_run(config)


def test_a_title_is_text_and_leads_nowhere(tmp_path: Path) -> None:
    land = tmp_path / "land"
    title = "=cmd|' /C calc'!A0 ../../out <script>alert(1)</script> &x; ü"
    config = write_land(land, RUN.replace("Small land", json.dumps(title)))
    before = files_in(tmp_path)
    screen(load_run(config), land / "out")
    assert {
        name for name in files_in(tmp_path) - before if not name.startswith("land/out/")
    } == set()
    for name in ("sites.kml", "sites.gpx", "sites.sld", "map.html"):
        text = (land / "out" / name).read_text("utf-8")
        assert "<script>alert(1)" not in text


# --- layers that cannot be ---------------------------------------------------------------------


def test_more_sun_than_there_is_is_refused(whole: Path, tmp_path: Path) -> None:
    """A kept layer whose numbers were damaged, its note of what measured it whole."""
    land = Path(shutil.copytree(whole, tmp_path / "land"))
    layer = land / "out" / "layers" / "direct_sun_h.tif"
    with rasterio.open(layer, "r+", IGNORE_COG_LAYOUT_BREAK="YES") as dataset:
        values = dataset.read(1)
        values[5, 5] = 15.5  # in June at 40° N the sun is up for 15.0 h
        dataset.write(values, 1)
    message = refused("screen", land / "run.yaml", "--out", land / "out")
    what, where, fix = parts(message)
    assert "direct_sun_h holds 15.50 h a day, more than the sun counts" in what
    assert where.endswith("direct_sun_h.tif")
    assert "--fresh" in fix
    succeeded("screen", land / "run.yaml", "--out", land / "out", "--fresh")
