import os
import signal
import subprocess
import sys
import time

import numpy as np
import pytest
import rasterio

from suitability.outputs.atomic import write_text, written

NEVER_ENDING = """
import sys
from suitability.outputs.atomic import written
with written(sys.argv[1]) as temporary, temporary.open("wb") as file:
    while True:
        file.write(b"half" * 10_000)
        file.flush()
        print("writing", flush=True)
"""

OVER_AND_OVER = """
import sys, itertools, pathlib
import numpy as np, pyproj
from suitability.grid import Grid
from suitability.outputs.rasters import assemble_raster, write_part
path = pathlib.Path(sys.argv[1])
part = path.parent / "part" / path.name
grid = Grid(pyproj.CRS.from_epsg(32617), 500_000, 4_000_000, 2.0, 1500, 1500)
noise = np.random.default_rng(1).random(grid.shape, dtype=np.float32) / 2
for turn in itertools.count(1):
    write_part(part, noise + np.float32(turn))
    assemble_raster(path, {grid.whole: part}, grid, name="n", unit="1", description="d")
    print("written", flush=True)
"""


def start(script, path):
    return subprocess.Popen(
        [sys.executable, "-c", script, str(path)], stdout=subprocess.PIPE, text=True
    )


def end(child):
    os.kill(child.pid, signal.SIGKILL)
    child.wait()
    child.stdout.close()


def test_a_file_appears_whole_and_alone(tmp_path):
    with written(tmp_path / "new" / "a.txt") as temporary:
        temporary.write_text("whole")
        assert temporary.name.startswith(".")
        assert temporary.suffix == ".txt"
        assert not (tmp_path / "new" / "a.txt").exists()
    assert [path.name for path in (tmp_path / "new").iterdir()] == ["a.txt"]
    assert (tmp_path / "new" / "a.txt").read_text() == "whole"


def write_half(path):
    with written(path) as temporary:
        temporary.write_text("half")
        temporary.with_name(temporary.name + ".aux.xml").write_text("notes")
        temporary.with_name(temporary.name + "-journal").write_text("journal")
        msg = "disk full"
        raise RuntimeError(msg)


def test_a_failure_keeps_the_old_file_and_nothing_else(tmp_path):
    path = tmp_path / "a.tif"
    path.write_text("old")
    with pytest.raises(RuntimeError, match="disk full"):
        write_half(path)
    assert [left.name for left in tmp_path.iterdir()] == ["a.tif"]
    assert path.read_text() == "old"


def test_notes_on_a_replaced_file_go_with_it(tmp_path):
    path = tmp_path / "a.tif"
    path.write_text("old")
    (tmp_path / "a.tif.aux.xml").write_text("statistics of the old file")
    write_text(path, "new")
    assert [left.name for left in tmp_path.iterdir()] == ["a.tif"]


def test_line_ends_are_kept(tmp_path):
    write_text(tmp_path / "a.csv", "a\r\nb\n")
    assert (tmp_path / "a.csv").read_bytes() == b"a\r\nb\n"


def test_a_kill_in_the_middle_leaves_no_half_file_and_the_next_write_clears_up(tmp_path):
    path = tmp_path / "a.gpkg"
    child = start(NEVER_ENDING, path)
    assert child.stdout.readline() == "writing\n"
    end(child)
    assert not path.exists()
    assert any(tmp_path.iterdir()), "the kill came too early to show anything"
    with written(path) as temporary:
        temporary.write_text("whole")
    assert [left.name for left in tmp_path.iterdir()] == ["a.gpkg"]


@pytest.mark.parametrize("delay_s", [0.02, 0.11, 0.23])
def test_a_raster_under_a_kill_is_always_a_whole_one(tmp_path, delay_s):
    path = tmp_path / "a.tif"
    child = start(OVER_AND_OVER, path)
    assert child.stdout.readline() == "written\n"
    time.sleep(delay_s)
    end(child)
    with rasterio.open(path) as source:
        values = source.read(1)
    assert len(np.unique(np.floor(values))) == 1  # all cells are of one turn
