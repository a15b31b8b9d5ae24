"""What users get wrong, through the command: told in words, and nothing half-written."""

import hashlib
import json
import os
import shutil
import signal
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import numpy as np
import pytest
import rasterio
from affine import Affine
from command import COMMAND, files_in, parts, refused, results_in, succeeded, written_since
from small_land import (
    COLS,
    NORTH,
    ROWS,
    RUN,
    WEST,
    corner,
    cover,
    heights,
    write_config,
    write_land,
    write_lines,
    write_raster,
)

from suitability.layers.registry import BUILT_IN, FORAGING

DEGREES = corner(-87.0, 40.2, 5e-5)


@pytest.fixture
def land(tmp_path):
    folder = tmp_path / "land"
    write_land(folder)
    return folder


@pytest.fixture(scope="module")
def finished(tmp_path_factory):
    """Screen the land as it is, once; return the folder of the run."""
    folder = tmp_path_factory.mktemp("finished")
    succeeded("screen", write_land(folder / "land"), "--out", folder / "out")
    return folder / "out"


@pytest.fixture
def earlier(finished, land):
    """Return the folder of a finished run that a test may change."""
    return Path(shutil.copytree(finished, land / "out"))


def told(land, text=None, *, measured=()):
    """Return the three parts of what `screen` says; into a folder that holds something.

    Layers that were `measured` before the fault was seen stay for the next run, nothing else.
    """
    config = land / "run.yaml" if text is None else write_config(land, text)
    out = land / "out"
    out.mkdir()
    (out / "notes.txt").write_text("mine")
    before = files_in(land)
    message = refused("screen", config, "--out", out)
    assert results_in(land) == before | {f"out/layers/{name}.tif" for name in measured}
    assert not any("part" in name.rpartition("/")[2] for name in files_in(land))
    return parts(message)


def test_the_land_itself_can_be_screened(finished):
    assert {"sites.csv", "figure.png", "run.json"} <= files_in(finished)


@pytest.mark.parametrize(("name", "line"), [("dem.tif", 3), ("cover.tif", 4)])
def test_no_crs(land, name, line):
    write_raster(land / name, heights() if name == "dem.tif" else cover(), crs=None)
    what, where, fix = told(land)
    assert "no coordinate reference system" in what
    assert name in where
    assert f"run.yaml, line {line}" in where
    assert "--crs" in fix


@pytest.mark.parametrize("was_there", [False, True])
def test_a_refused_run_leaves_nothing_that_was_not_there(land, was_there):
    write_raster(land / "dem.tif", heights(), crs=None)
    folder = land / "runs" / "mine"
    if was_there:
        folder.mkdir(parents=True)
    before = set(land.rglob("*"))
    refused("screen", land / "run.yaml", "--out", folder)
    assert set(land.rglob("*")) == before


def test_heights_in_degrees_without_a_unit(land):
    write_raster(land / "dem.tif", heights(), crs="EPSG:4326", transform=DEGREES)
    write_raster(land / "cover.tif", cover(), crs="EPSG:4326", transform=DEGREES)
    what, where, fix = told(land, RUN.replace(", unit: m", ""))
    assert "in which unit" in what
    assert "dem.tif" in where
    assert "unit: m" in fix


def test_inputs_that_do_not_overlap(land):
    write_raster(land / "cover.tif", cover(), transform=corner(north=NORTH + 9_000))
    what, where, fix = told(land)
    assert "share no land" in what
    assert "line 4: inputs.land_cover" in where
    assert "CRS" in fix


def test_an_unknown_land_cover_code(land):
    codes = cover()
    codes[5, 5:9] = 13
    write_raster(land / "cover.tif", codes)
    what, where, fix = told(land)
    assert "13 (4 cells)" in what
    assert "cover.tif" in where
    assert "legend" in fix


def test_an_empty_stream_layer(land):
    what, where, fix = told(land, RUN.replace(
        "streams: streams.gpkg", "streams: {path: streams.gpkg, where: \"kind = 'river'\"}"
    ))  # fmt: skip
    assert "no water" in what
    assert "line 5: inputs.streams" in where
    assert "where" in fix


def test_all_land_excluded(land):
    write_raster(land / "cover.tif", np.full((ROWS, COLS), 41, np.uint8))
    measured = {*BUILT_IN, FORAGING, "may_sun_h", "jun_sun_h", "obstacles"}
    what, where, fix = told(land, measured=measured)
    assert "every cell is excluded" in what
    assert "under canopy taller than the mount: 100%" in what
    assert "outside the boundary" not in what
    assert where == "exclusions"
    assert "loosen" in fix


def test_a_truncated_raster(land):
    whole = (land / "dem.tif").read_bytes()
    (land / "dem.tif").write_bytes(whole[: len(whole) // 2])
    what, where, fix = told(land)
    assert "cut off or damaged" in what
    assert "dem.tif" in where
    assert fix


def test_an_unknown_layer(land):
    text = RUN + "criteria:\n  - {layer: moonlight_h, weight: 1, value: {rising: [0, 9]}}\n"
    what, where, fix = told(land, text)
    assert "no layer 'moonlight_h'" in what
    assert "run.yaml, line 9" in where
    assert "criteria" in where
    assert {"direct_sun_h", "water_distance_m", "slope_deg"} <= set(fix.replace(",", "").split())


def test_a_run_file_that_is_not_there(tmp_path):
    _, where, _ = parts(refused("screen", tmp_path / "none.yaml"))
    assert "none.yaml" in where


def test_a_folder_that_cannot_be_made(land):
    (land / "taken").write_text("a file")
    (land / "streams.gpkg").unlink()  # told of after the folder: no work is done in vain
    before = files_in(land)
    message = refused("screen", land / "run.yaml", "--out", land / "taken" / "below")
    what, where, fix = parts(message)
    assert "cannot be written" in what
    assert str(land / "taken") in where
    assert "--out" in fix
    assert files_in(land) == before


@pytest.mark.skipif(sys.platform != "linux", reason="a folder closed even to root")
def test_a_folder_that_may_not_be_written(land):
    what, where, fix = parts(refused("screen", land / "run.yaml", "--out", "/proc/results"))
    assert "cannot be written" in what
    assert where == "/proc/results"
    assert "--out" in fix


def test_a_rotated_raster_is_put_right(land):
    angle = np.radians(11.0)
    a, d = 5 * np.cos(angle), 5 * np.sin(angle)
    side = 120
    x0, y0 = WEST + 200 - side / 2 * (a + d), NORTH - 150 - side / 2 * (d - a)
    row, col = np.indices((side, side)) + 0.5
    x, y = x0 + a * col + d * row, y0 + d * col - a * row
    plane = 300 + 0.05 * (x - WEST) - 0.08 * (y - NORTH)
    write_raster(land / "dem.tif", plane.astype(np.float32), transform=Affine(a, d, x0, d, -a, y0))
    succeeded("screen", land / "run.yaml", "--out", land / "out")
    with rasterio.open(land / "out" / "layers" / "slope_deg.tif") as source:
        assert (source.transform.b, source.transform.d) == (0, 0)
        slope = source.read(1)
    expected = np.degrees(np.arctan(np.hypot(0.05, 0.08)))
    assert np.nanmedian(slope) == pytest.approx(expected, abs=0.01)


# --- explain ----------------------------------------------------------------------------------


def test_explain_needs_a_run(tmp_path):
    for folder in (tmp_path, tmp_path / "none"):
        what, where, fix = parts(refused("explain", folder, "--site", 1))
        assert "no finished run" in what
        assert where == str(folder)
        assert "suitability screen" in fix
    (tmp_path / "run.json").write_text("[]")
    assert "not what a run writes" in refused("explain", tmp_path, "--site", 1)
    (tmp_path / "run.json").write_text('{"sites": [')
    assert "cannot be read" in refused("explain", tmp_path, "--at", 0, 0)
    assert "no finished run" in refused("explain", tmp_path / "run.json", "--site", 1)


def test_explain_needs_one_place(tmp_path):
    for places in ((), ("--site", 1, "--at", 1, 2)):
        what, _, fix = parts(refused("explain", tmp_path, *places))
        assert "either --site N or --at LON LAT" in what
        assert "--site 1" in fix


def test_explain_needs_the_layers_of_the_run(earlier):
    (earlier / "layers" / "slope_deg.tif").unlink()
    what, where, _ = parts(refused("explain", earlier, "--site", 1))
    assert "cannot be read" in what
    assert "slope_deg.tif" in where


@pytest.mark.parametrize(
    "arguments", [["sceen"], ["screen"], ["screen", "--fast"], ["explain", ".", "--site", "x"]]
)
def test_words_that_are_no_command(arguments):
    message = refused(*arguments)
    assert "Usage: suitability" in message
    assert "--help" in message


# --- runs that die, and runs over earlier ones ------------------------------------------------


def is_whole(path):
    """Read a file to its end."""
    if path.suffix == ".tif":
        with rasterio.open(path) as source:
            source.read(1)
            source.read(1, out_shape=(ROWS // 2, COLS // 2))  # from its overviews, where it has any
    elif path.suffix == ".json":
        json.loads(path.read_text("utf-8"))
    else:
        assert path.stat().st_size > 0


def killed_while_writing(config, out, enough):
    """Kill a run, not gently, once it wrote `enough` files; tell whether it was still at work."""
    began = time.time_ns()
    with subprocess.Popen(
        [*COMMAND, "screen", str(config), "--out", str(out), "--fresh"], stdout=subprocess.DEVNULL
    ) as process:
        while process.poll() is None:
            # What is kept for a later run is none of the results.
            results = {path for path in written_since(began, out) if ".store" not in path.parts}
            if len(results) >= enough:
                process.send_signal(signal.SIGKILL)
                process.wait()
                return process.returncode == -signal.SIGKILL
            time.sleep(0.001)
    return False


@pytest.mark.skipif(os.name != "posix", reason="kills as POSIX systems do")
def test_a_killed_run_leaves_no_half_file_and_the_next_one_finishes(tmp_path):
    land, whole = tmp_path / "land", tmp_path / "whole"
    config = write_land(land)
    fine = np.kron(heights(), np.ones((9, 9), np.float32))
    write_raster(land / "fine.tif", fine, transform=corner(cell=5 / 9))
    write_config(land, RUN.replace("dem.tif", "fine.tif") + "grid: {cell: 1 m}\n")
    succeeded("screen", config, "--out", whole)
    kills = 0
    for enough in (1, 7, 15):  # of 12 layers, and what is made of them
        # Over a finished run: what is left of it must not pass for one.
        out = Path(shutil.copytree(whole, tmp_path / f"out{enough}"))
        if not killed_while_writing(config, out, enough):
            continue
        kills += 1
        left = results_in(out)
        assert "run.json" not in left
        for name in left:
            if not Path(name).name.startswith("."):
                assert name in results_in(whole)
                is_whole(out / name)
        assert "no finished run" in refused("explain", out, "--site", 1)
    assert kills
    succeeded("screen", config, "--out", out)
    assert files_in(out) == files_in(whole)
    for name in results_in(whole) - {"run.json", "figure.png"}:
        assert (out / name).read_bytes() == (whole / name).read_bytes(), name


def test_a_run_over_an_earlier_one_leaves_nothing_of_it(land, earlier):
    out = earlier
    assert {"layers/may_sun_h.tif", "layers/jun_sun_h.tif"} <= files_in(out)
    # As a killed run leaves it: no record, and one file in the making.
    (out / "run.json").unlink()
    (out / "layers" / ".may_sun_h.part.tif").write_bytes(b"II*")
    mine = {"layers/mine.tif", "notes.txt"}
    for name in mine:
        (out / name).write_text("kept")
    other = RUN.replace("05-01", "06-01").replace("06-30", "07-31") + (
        "criteria:\n  - {layer: morning_sun_h, weight: 1, value: {rising: [0, 6]}}\n"
    )
    succeeded("screen", write_config(land, other), "--out", out)
    record = json.loads((out / "run.json").read_text("utf-8"))
    assert results_in(out) == {*record["files"]} | mine
    assert "run.json" in record["files"]
    assert "layers/jul_sun_h.tif" in record["files"]
    assert "layers/may_sun_h.tif" not in record["files"]
    assert [criterion["layer"] for criterion in record["criteria"]] == ["morning_sun_h"]
    printed = succeeded("explain", out, "--site", 1)
    assert "morning_sun_h" in printed
    assert "direct_sun_h" not in printed


def test_a_run_that_fails_leaves_an_earlier_one_alone(land, earlier):
    before = {name: (earlier / name).read_bytes() for name in files_in(earlier)}
    (land / "streams.gpkg").unlink()
    refused("screen", land / "run.yaml", "--out", earlier)
    assert {name: (earlier / name).read_bytes() for name in files_in(earlier)} == before


@pytest.mark.parametrize("fault", ["too strict", "damaged"])
def test_a_run_that_fails_late_leaves_an_earlier_one_alone(land, fault):
    """Nothing of an earlier run is replaced before it is known that there is something better."""
    earlier = land / "out"
    succeeded("screen", land / "run.yaml", "--out", earlier)
    before = {name: (earlier / name).read_bytes() for name in results_in(earlier)}
    if fault == "too strict":
        write_config(land, RUN + "exclusions: {water_bank: 800 m}\n")
    else:
        whole = (land / "dem.tif").read_bytes()
        (land / "dem.tif").write_bytes(whole[: len(whole) // 2])
    refused("screen", land / "run.yaml", "--out", earlier)
    assert {name: (earlier / name).read_bytes() for name in results_in(earlier)} == before
    assert "latitude" in succeeded("explain", earlier, "--site", 1)


# --- odd, but no mistake ----------------------------------------------------------------------


def test_no_place_good_enough_is_an_answer_and_no_error(land):
    text = RUN.replace("spacing: 40 m", "spacing: 40 m, min_score: 1") + (
        "criteria:\n  - {layer: direct_sun_h, weight: 1, value: {rising: [0, 24]}}\n"
    )
    printed = succeeded("screen", write_config(land, text), "--out", land / "out")
    assert "0 of 5 sites wanted were found" in printed
    assert "scores 1 or more" in printed
    what, _, fix = parts(refused("explain", land / "out", "--site", 1))
    assert "no site 1" in what
    assert "found none" in fix
    assert succeeded("explain", land / "out", "--at", -86.9999, 40.2).count("direct_sun_h") > 1


def test_every_input_has_its_sum_in_the_record(land):
    """Two of one name, a legend of one's own, and a raster in an archive."""
    (land / "south").mkdir()
    ditch = [(WEST + 300, NORTH - 50), (WEST + 390, NORTH - 90)]
    write_lines(land / "south" / "streams.gpkg", [ditch])
    (land / "legend.yaml").write_text(
        "name: Two kinds\nsource: ours\nnodata: [0]\nclasses:\n"
        "  41: {name: Wood, group: forest, canopy_height_m: 20}\n"
        "  81: {name: Pasture, group: grass}\n"
    )
    with zipfile.ZipFile(land / "dem.zip", "w") as archive:
        archive.write(land / "dem.tif", "dem.tif")
    archived = f"/vsizip/{land}/dem.zip/dem.tif"
    text = (
        RUN.replace("dem.tif", archived)
        .replace("cover.tif", "{path: cover.tif, legend: legend.yaml}")
        .replace("streams: streams.gpkg", "streams: [streams.gpkg, south/streams.gpkg]")
    )
    succeeded("screen", write_config(land, text), "--out", land / "out")
    record = json.loads((land / "out" / "run.json").read_text("utf-8"))
    files = ("cover.tif", "streams.gpkg", "south/streams.gpkg", "legend.yaml")
    expected = {
        str(land / name): hashlib.sha256((land / name).read_bytes()).hexdigest() for name in files
    }
    assert record["input_sha256"] == expected | {archived: None}
