"""What a run keeps in its folder: used again while nothing has changed that it depends on."""

import json
import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import rasterio
import small_land
from command import COMMAND, files_in, parts, refused, results_in, succeeded

from suitability import ahead, store
from suitability.config import load_run
from suitability.run import screen

# The map's look and the scores differ with the weights; layers do not.
OTHER_WEIGHTS = """\
criteria:
  - {layer: direct_sun_h, weight: 1, value: {rising: [2, 9]}}
  - {layer: slope_deg, weight: 2, value: {falling: [1, 12]}}
"""
MEASURING = "measuring the land"


@pytest.fixture
def tiled(monkeypatch):
    monkeypatch.setattr(ahead, "tile_side", lambda *_: 32)  # 2 x 3 tiles


@pytest.fixture
def land(tmp_path):
    """Return a piece of land that a test may change."""
    return small_land.write_land(tmp_path / "land").parent


@pytest.fixture(scope="module")
def steady(tmp_path_factory):
    """Return a piece of land that no test changes, and the folder of a run on it."""
    top = tmp_path_factory.mktemp("steady")
    land = small_land.write_land(top / "land").parent
    screened(land, top / "out")
    return land, top / "out"


@pytest.fixture
def same(steady):
    return steady[0]


@pytest.fixture
def out(steady, tmp_path):
    """Return a copy of the run on the steady land."""
    return Path(shutil.copytree(steady[1], tmp_path / "out"))


def screened(land, out, text=small_land.RUN, *, fresh=False):
    """Screen the land, perhaps by another run file; tell whether it was measured."""
    found = screen(load_run(small_land.write_config(land, text)), out, fresh=fresh)
    seconds = found.facts["seconds"]
    assert (MEASURING in seconds) == ("assembling layers" in seconds)
    assert {"looking ahead", "judging the land", "choosing sites"} <= set(seconds)
    return MEASURING in seconds


def contents(folder):
    """Return the bytes of every result, the record without what tells the time."""
    found = {name: (folder / name).read_bytes() for name in results_in(folder)}
    record = json.loads(found.pop("run.json"))
    for changing in ("written_utc", "seconds", "sha256_of_the_rest"):
        del record[changing]
    return found | {"run.json": record}


def layers(folder):
    return {path: path.stat().st_mtime_ns for path in (folder / "layers").glob("*.tif")}


# --- used again -------------------------------------------------------------------------------


def test_other_weights_measure_nothing_and_give_the_bytes_of_a_fresh_run(same, out, tmp_path):
    before, first = layers(out), contents(out)
    assert len(before) == 13
    text = small_land.RUN + OTHER_WEIGHTS
    assert not screened(same, out, text)
    assert layers(out) == before
    assert screened(same, tmp_path / "anew", text)
    again = contents(out)
    assert again == contents(tmp_path / "anew")
    assert again["sites.csv"] != first["sites.csv"]
    assert again["candidates.tif"] != first["candidates.tif"]
    # And back: what was found at first.
    assert not screened(same, out, small_land.RUN)
    assert contents(out) == first


@pytest.mark.parametrize(
    "more",
    [
        "exclusions: {clearance: 30 m, water_bank: 40 m, steeper_than: 4 deg}\n",
        "climate: hot\n",
    ],
)
def test_rules_and_climate_are_judged_anew_and_not_measured(same, out, tmp_path, more):
    first = contents(out)
    text = small_land.RUN + more
    assert not screened(same, out, text)
    assert screened(same, tmp_path / "anew", text)
    assert contents(out) == contents(tmp_path / "anew")
    assert contents(out)["candidates.tif"] != first["candidates.tif"]


def test_another_count_and_title_are_no_cause_to_measure(same, out):
    text = small_land.RUN.replace("count: 5", "count: 2").replace("Small land", "My land")
    assert not screened(same, out, text)
    record = json.loads((out / "run.json").read_text("utf-8"))
    assert (len(record["sites"]), record["title"]) == (2, "My land")


@pytest.mark.usefixtures("tiled")
def test_layers_of_tiles_are_used_again_too_whatever_the_tiles(land, tmp_path, monkeypatch):
    out = tmp_path / "out"
    assert screened(land, out)
    before = contents(out)
    monkeypatch.setattr(ahead, "tile_side", lambda *_: 48)
    assert not screened(land, out)
    after = contents(out)
    assert after["run.json"].pop("tiles") == before["run.json"].pop("tiles") - 2
    assert after == before


def test_land_and_results_that_moved_together_are_the_same(land, tmp_path):
    first = tmp_path / "first"
    shutil.copytree(land, first / "land")
    assert screened(first / "land", first / "out")
    before = layers(first / "out")
    moved = first.rename(tmp_path / "moved")
    assert not screened(moved / "land", moved / "out")
    assert set(layers(moved / "out").values()) == set(before.values())
    record = json.loads((moved / "out" / "run.json").read_text("utf-8"))
    read = [Path(report["path"]) for report in record["inputs"]]
    assert moved / "land" / "dem.tif" in read
    assert not any(path.is_relative_to(first) for path in read)


def test_layers_are_the_same_bytes_wherever_their_files_lie(land, tmp_path):
    for name in ("here", "there"):
        shutil.copytree(land, tmp_path / name)
        assert screened(tmp_path / name, tmp_path / f"{name}_out")
    for path in layers(tmp_path / "here_out"):
        there = tmp_path / "there_out" / "layers" / path.name
        assert there.read_bytes() == path.read_bytes()


def test_a_touched_file_of_the_same_content_is_the_same(same, out):
    os.utime(same / "dem.tif")
    assert not screened(same, out)


# --- measured anew ----------------------------------------------------------------------------


def measures(out, layer):
    with rasterio.open(out / "layers" / f"{layer}.tif") as source:
        return source.read(1)


def raised(land):
    heights = small_land.heights()
    heights[5, 5] += 0.5
    small_land.write_raster(land / "dem.tif", heights)


def wooded(land):
    cover = small_land.cover()
    cover[50:55, 60:70] = small_land.WOOD
    small_land.write_raster(land / "cover.tif", cover)


def diverted(land):
    """Let the brook flow elsewhere."""
    (land / "streams.gpkg").unlink()
    east = small_land.WEST + small_land.COLS * small_land.CELL_M
    brook = [(east - 20, small_land.NORTH), (east - 30, small_land.NORTH - 400)]
    small_land.write_lines(land / "streams.gpkg", [brook], kind=["brook"])


@pytest.mark.parametrize(
    ("change", "layer"),
    [(raised, "ground_elevation_m"), (wooded, "canopy_edge_m"), (diverted, "water_distance_m")],
)
def test_another_content_of_an_input_is_measured(land, tmp_path, change, layer):
    out = tmp_path / "out"
    screened(land, out)
    old = measures(out, layer)
    change(land)
    assert screened(land, out)
    assert not np.array_equal(measures(out, layer), old)
    assert not screened(land, out)
    # In a process that has seen the other content as in one that has not.
    if change is diverted:
        new = contents(out)
        succeeded("screen", land / "run.yaml", "--out", tmp_path / "elsewhere")
        assert contents(tmp_path / "elsewhere") == new


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("start: 05-01", "start: 05-11"),
        ("end: 06-30", "end: 07-31"),
        ("step: 60 min", "step: 30 min"),
        ("sites:", "mount: {height: 2 m}\nsites:"),
        ("sites:", "sun: {lines_per_cell: 2}\nsites:"),
        ("sites:", "sun: {rule: altitude}\nsites:"),
        ("sites:", "grid: {cell: 4 m}\nsites:"),
        ("dem.tif, unit: m", "dem.tif, unit: ft"),
    ],
)
def test_other_measures_are_measured(same, out, old, new):
    assert old in small_land.RUN
    assert screened(same, out, small_land.RUN.replace(old, new))


def test_a_curve_that_reaches_further_is_measured_as_far(same, out):
    curve = "criteria:\n  - {layer: canopy_edge_m, weight: 1, value: {rising: [0 m, %s]}}\n"
    assert not screened(same, out, small_land.RUN + curve % "300 m")
    assert screened(same, out, small_land.RUN + curve % "500 m")
    with rasterio.open(out / "layers" / "canopy_edge_m.tif") as source:
        assert "500 m stands for this far and further" in source.tags()["DESCRIPTION"]


def test_another_code_measures(same, out, monkeypatch):
    monkeypatch.setattr(store, "code_hash", lambda: "another")
    assert screened(same, out)
    assert not screened(same, out)


def test_the_code_is_all_files_that_may_change_a_measure(tmp_path, monkeypatch):
    copy = tmp_path / "suitability"
    shutil.copytree(store.__file__.rpartition("/")[0], copy)
    monkeypatch.setattr(store, "__file__", str(copy / "store.py"))
    store.code_hash.cache_clear()
    seen = [store.code_hash()]
    legend = next(copy.rglob("*.yaml"))
    for path in (copy / "kernels" / "sweep.py", copy / "layers" / "new.py", legend):
        with path.open("a") as file:
            file.write("# more\n")
        store.code_hash.cache_clear()
        seen.append(store.code_hash())
    (copy / "notes.txt").write_text("no code")
    store.code_hash.cache_clear()
    seen.append(store.code_hash())
    store.code_hash.cache_clear()
    assert len(set(seen)) == len(seen) - 1
    assert seen[-1] == seen[-2]


@pytest.mark.usefixtures("tiled")
def test_fresh_measures_whatever_is_kept(land, tmp_path):
    out = tmp_path / "out"
    screened(land, out)
    before, times = contents(out), layers(out)
    assert screened(land, out, fresh=True)
    assert contents(out) == before
    assert all(layers(out)[path] > time for path, time in times.items())


def test_fresh_is_a_word_of_the_command(same, out):
    times = layers(out)
    run_file = small_land.write_config(same, small_land.RUN)
    succeeded("screen", run_file, "--out", out, "--fresh")
    assert all(layers(out)[path] > time for path, time in times.items())


# --- deleted or damaged -----------------------------------------------------------------------


def delete(out):
    shutil.rmtree(out / ".store")


def damage_notes(out):
    notes = out / ".store" / "measured.json"
    notes.write_bytes(notes.read_bytes()[:50])


def empty_notes(out):
    (out / ".store" / "measured.json").write_text("[]")


def damage_layer(out):
    layer = out / "layers" / "slope_deg.tif"
    layer.write_bytes(layer.read_bytes()[:100])


def replace_layer(out):
    shutil.copy(out / "candidates.tif", out / "layers" / "slope_deg.tif")


def delete_layer(out):
    (out / "layers" / "jun_sun_h.tif").unlink()


@pytest.mark.parametrize(
    "fault", [delete, damage_notes, empty_notes, damage_layer, replace_layer, delete_layer]
)
def test_what_is_gone_or_damaged_is_measured_anew(same, out, fault):
    before = contents(out)
    fault(out)
    assert screened(same, out)
    assert contents(out) == before
    assert not screened(same, out)


@pytest.mark.parametrize("left", [0, 60, 1000])
def test_a_damaged_coarse_look_is_taken_anew(same, out, left):
    before = contents(out)
    (look,) = (out / ".store").glob("look-*.npz")
    whole = look.read_bytes()
    look.write_bytes(whole[:left])
    assert not screened(same, out)
    assert contents(out) == before
    assert look.read_bytes() == whole


@pytest.mark.parametrize("left", [0, 60, 1000])
def test_a_damaged_relief_is_made_anew(same, out, left):
    before = contents(out)
    relief = out / "relief.tif"
    whole = relief.read_bytes()
    relief.write_bytes(whole[:left])
    assert not screened(same, out)
    assert contents(out) == before
    assert relief.read_bytes() == whole


def cut_in_the_middle(path):
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])


@pytest.mark.usefixtures("tiled")
@pytest.mark.parametrize("fault", ["gone", "empty", "cut"])
def test_a_damaged_part_of_a_finished_tile_is_measured_anew(land, tmp_path, fault):
    """A power cut may leave a tile's note and not its parts, for they are not waited for."""
    out, whole = tmp_path / "out", tmp_path / "whole"
    screened(land, whole)
    stopped_after_measuring(land, out)
    part = min((out / ".store" / "parts").rglob("slope_deg.tif"))
    {"gone": part.unlink, "empty": lambda: part.write_bytes(b""),
     "cut": lambda: cut_in_the_middle(part)}[fault]()  # fmt: skip
    screened(land, out)
    assert contents(out) == contents(whole)


def stopped_after_measuring(land, out):
    """Stop a run as it begins to put its layers together."""

    def stop(stage, _):
        if stage == "assembling layers":
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        screen(load_run(land / "run.yaml"), out, progress=stop)
    assert len(list((out / ".store" / "parts").rglob("tile.json"))) == 6


@pytest.mark.usefixtures("tiled")
def test_finished_tiles_of_a_stopped_run_are_not_measured_again(land, tmp_path):
    out, whole = tmp_path / "out", tmp_path / "whole"
    screened(land, whole)
    stopped_after_measuring(land, out)
    written = {path: path.stat().st_mtime_ns for path in (out / ".store").rglob("parts/**/*.tif")}
    assert len(written) == 6 * 13
    seen = []

    def watch(stage, _):
        if stage == "assembling layers" and not seen:
            seen.append({path: path.stat().st_mtime_ns for path in written})

    screen(load_run(land / "run.yaml"), out, progress=watch)
    assert seen == [written]
    assert contents(out) == contents(whole)
    assert not list((out / ".store" / "parts").glob("*"))  # swept away in the end


@pytest.mark.usefixtures("tiled")
def test_parts_of_another_run_are_swept_away(land, tmp_path):
    out = tmp_path / "out"
    stopped_after_measuring(land, out)
    (before,) = (out / ".store" / "parts").iterdir()
    raised(land)
    stopped_after_measuring(land, out)
    (after,) = (out / ".store" / "parts").iterdir()
    assert before.name != after.name


def test_what_lies_beside_the_store_is_left_alone(same, out):
    mine = out / "notes.txt"
    mine.write_text("mine")
    assert screened(same, out, fresh=True)
    assert mine.read_text() == "mine"
    assert {name for name in files_in(out) if ".store/" in name} >= {".store/measured.json"}


# --- two runs in one folder -------------------------------------------------------------------

HOLD = """
import sys
from pathlib import Path
from suitability.store import only_run
with only_run(Path(sys.argv[1])):
    print("held", flush=True)
    sys.stdin.read()
"""


def held(folder):
    return subprocess.Popen(
        [sys.executable, "-c", HOLD, str(folder)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


def test_a_folder_in_use_is_refused_and_left_alone(same, out):
    before = contents(out)
    with held(out) as other:
        assert other.stdout.readline() == "held\n"
        what, where, fix = parts(refused("screen", same / "run.yaml", "--out", out, "--fresh"))
        assert what == "another run is at work in this folder"
        assert where == str(out)
        assert "--out" in fix
        assert contents(out) == before
        assert other.poll() is None
        other.stdin.close()
    assert other.returncode == 0
    assert not screened(same, out)


def test_a_killed_run_holds_its_folder_no_longer(same, out):
    with held(out) as other:
        assert other.stdout.readline() == "held\n"
        other.kill()
    assert (out / ".store" / "lock").exists()
    assert not screened(same, out)


@pytest.mark.skipif(os.name != "posix", reason="stops as POSIX systems do")
def test_a_real_run_keeps_another_out(land, tmp_path):
    """The second starts while the first is in the midst of its work, stopped for that long."""
    out, run_file = tmp_path / "out", land / "run.yaml"
    command = [*COMMAND, "screen", str(run_file), "--out", str(out)]
    with subprocess.Popen(command, stdout=subprocess.DEVNULL) as first:
        while not list((out / ".store").glob("parts/*/*/*.tif")):
            assert first.poll() is None
        first.send_signal(signal.SIGSTOP)
        try:
            message = refused("screen", run_file, "--out", out)
        finally:
            first.send_signal(signal.SIGCONT)
    assert first.returncode == 0
    assert "another run is at work in this folder" in message
    assert (out / "run.json").exists()
