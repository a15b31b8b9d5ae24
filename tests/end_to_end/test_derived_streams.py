"""Land without a stream file: streams are derived, said to be so, kept, and taken away again."""

import json
import os
from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
import rasterio
import small_land
from command import files_in, parts, refused, results_in, run, succeeded

from suitability import ahead
from suitability.config import load_run
from suitability.run import screen

ROOT = Path(__file__).parents[2]
DERIVED = "derived_streams.gpkg"
WARNING = "no streams were given: they are derived from the elevation"
WITHOUT = small_land.RUN.replace("  streams: streams.gpkg\n", "") + (
    "water: {from_elevation: {area: 1 ha}}\n"
)


@pytest.fixture(scope="module")
def land(tmp_path_factory):
    """Return a folder with land whose run file names no streams."""
    folder = tmp_path_factory.mktemp("dry") / "land"
    small_land.write_land(folder, WITHOUT)
    return folder


@pytest.fixture(scope="module")
def out(land):
    """Return the folder of a run on that land."""
    out = land.parent / "out"
    succeeded("screen", land / "run.yaml", "--out", out)
    return out


def record(out):
    return json.loads((out / "run.json").read_text("utf-8"))


def test_the_run_says_that_its_streams_are_derived(out) -> None:
    told = record(out)
    assert any(text.startswith(WARNING) for text in told["warnings"])
    (report,) = [each for each in told["inputs"] if each["role"] == "streams"]
    assert report["path"] == "derived from dem.tif"
    assert "Strahler order up to" in report["facts"][0]
    assert "streams begin where 1 ha drain together (common practice" in report["assumed"][0]
    assert told["settings"]["inputs"]["streams"] is None
    assert DERIVED in told["files"]
    assert set(told["input_sha256"]) == {
        str(out.parent / "land" / name) for name in ("dem.tif", "cover.tif")
    }


def test_the_streams_lie_in_the_folder_with_order_and_land_above(out) -> None:
    streams = gpd.read_file(out / DERIVED)
    assert streams.crs == small_land.CRS
    assert set(streams.columns) == {"strahler_order", "upstream_ha", "geometry"}
    assert (streams["upstream_ha"] >= 1).all()
    # 60 × 80 cells of 5 m are 12 ha; none has more above it.
    assert streams["upstream_ha"].max() <= 12
    west, south, east, north = streams.total_bounds
    assert small_land.WEST <= west < east <= small_land.WEST + 400
    assert small_land.NORTH - 300 <= south < north <= small_land.NORTH
    assert not (out / f"{DERIVED}.aux.xml").exists()


def test_distance_is_measured_to_them(out) -> None:
    streams = gpd.read_file(out / DERIVED)
    sites = gpd.read_file(out / "sites.gpkg")
    exact = sites.geometry.apply(lambda point: streams.distance(point).min())
    np.testing.assert_allclose(sites["water_distance_exact_m"], exact, atol=0.006)


def test_check_says_so_and_writes_nothing(land) -> None:
    before = files_in(land)
    told = succeeded("check", land / "run.yaml", "--cost")
    assert WARNING in told
    assert "depressions filled" in told
    assert files_in(land) == before


def test_kept_streams_are_used_again_and_others_derived_anew(land, out, tmp_path) -> None:
    first = (out / DERIVED).stat().st_mtime_ns
    succeeded("screen", land / "run.yaml", "--out", out)
    assert (out / DERIVED).stat().st_mtime_ns == first
    assert any(text.startswith(WARNING) for text in record(out)["warnings"])
    fewer = land / "fewer.yaml"
    fewer.write_text(WITHOUT.replace("1 ha", "3 ha"))
    succeeded("screen", fewer, "--out", tmp_path / "out")
    lengths = [gpd.read_file(folder / DERIVED).length.sum() for folder in (out, tmp_path / "out")]
    assert lengths[1] < lengths[0]


def test_streams_of_an_earlier_run_go_when_others_are_given(tmp_path) -> None:
    land, out = tmp_path / "land", tmp_path / "out"
    config = small_land.write_land(land, WITHOUT)
    succeeded("screen", config, "--out", out)
    assert DERIVED in results_in(out)
    small_land.write_config(land, small_land.RUN)
    succeeded("screen", config, "--out", out)
    assert DERIVED not in results_in(out)
    assert not any(text.startswith(WARNING) for text in record(out)["warnings"])


def test_derived_streams_may_be_named_as_ones_own(land, out, tmp_path) -> None:
    kept = tmp_path / "out"
    succeeded("screen", land / "run.yaml", "--out", kept)
    named = small_land.RUN.replace("streams.gpkg", str(kept / DERIVED))
    config = land / "named.yaml"
    config.write_text(named)
    succeeded("screen", config, "--out", kept)
    assert record(kept)["settings"]["inputs"]["streams"][0]["path"] == str(kept / DERIVED)
    assert (kept / DERIVED).is_file()
    same = [(folder / "candidates.tif").read_bytes() for folder in (out, kept)]
    assert same[0] == same[1]


def test_tiles_and_workers_see_the_same_streams(land, out, tmp_path, monkeypatch) -> None:
    monkeypatch.setattr(ahead, "tile_side", lambda *_: 32)
    screen(load_run(land / "run.yaml"), tmp_path / "tiled")
    succeeded("screen", land / "run.yaml", "--out", tmp_path / "spread", "--workers", "2")
    for other in ("tiled", "spread"):
        for name in ("water_distance_m", "slope_deg"):
            paths = [folder / "layers" / f"{name}.tif" for folder in (out, tmp_path / other)]
            values = [rasterio.open(path).read(1) for path in paths]
            np.testing.assert_array_equal(*values)
        assert (out / DERIVED).read_bytes() == (tmp_path / other / DERIVED).read_bytes()


def test_land_where_too_little_drains_together_is_refused(land, tmp_path) -> None:
    config = land / "flat.yaml"
    config.write_text(WITHOUT.replace("1 ha", "1 km^2"))
    what, where, fix = parts(refused("screen", config, "--out", tmp_path / "out"))
    assert "nowhere on this land do 100 ha drain together" in what
    assert "water.from_elevation.area" in where
    assert "inputs.streams" in fix
    assert results_in(tmp_path / "out") == set()


def test_an_engine_that_is_not_there_is_refused_by_name(land, tmp_path) -> None:
    config = land / "engine.yaml"
    config.write_text(WITHOUT.replace("{area: 1 ha}", "{area: 1 ha, engine: richdem}"))
    ended = run("screen", config, "--out", tmp_path / "out")
    what, where, fix = parts(ended.stderr)
    assert "RichDEM cannot be used here" in what
    assert "line" in where
    assert "water.from_elevation.engine" in where
    assert "pyflwdir" in fix


def test_the_sample_area_without_its_streams_screens_and_says_so(tmp_path) -> None:
    text = (ROOT / "configs" / "sample_area.yaml").read_text("utf-8")
    start, end = text.index("  streams:"), text.index("  canopy_height:")
    text = (text[:start] + text[end:]).replace("../sample_area", str(ROOT / "sample_area"))
    coarser = text.replace("cell: 2 m", "cell: 8 m").replace("step: 15 min", "step: 60 min")
    (tmp_path / "run.yaml").write_text(coarser, "utf-8")
    told = succeeded("screen", tmp_path / "run.yaml", "--out", tmp_path / "out")
    assert WARNING in " ".join(told.split())
    assert "valleys may lead in from beyond the elevation data at 1 place" in " ".join(told.split())
    # The creek that the sample area's own file holds is found: most of it within 30 m.
    derived = gpd.read_file(tmp_path / "out" / DERIVED)
    creek = gpd.read_file(ROOT / "sample_area" / "streams.gpkg").iloc[0].geometry
    near = derived.union_all().buffer(30).intersection(creek).length / creek.length
    assert near > 0.7
    assert len(record(tmp_path / "out")["sites"]) == 12


def test_water_gone_in_the_season_gives_no_score_yet_keeps_boxes_off_its_bed(tmp_path) -> None:
    text = small_land.RUN.replace(
        "streams: streams.gpkg",
        "streams: {path: brooks.gpkg, permanence: {field: FCode, table: nhd}}",
    )
    config = small_land.write_land(tmp_path / "land", text)
    south = small_land.NORTH - small_land.ROWS * small_land.CELL_M
    columns = (10, 60)
    brooks = [
        [(small_land.WEST + 5 * col + 2.5, y) for y in (small_land.NORTH, south)] for col in columns
    ]
    small_land.write_lines(tmp_path / "land" / "brooks.gpkg", brooks, FCode=[46006, 46003])
    summer, spring = tmp_path / "summer", tmp_path / "spring"
    succeeded("screen", config, "--out", summer)
    config.write_text(text.replace("start: 05-01, end: 06-30", "start: 04-01, end: 05-31"))
    succeeded("screen", config, "--out", spring)
    cols = np.arange(small_land.COLS)
    for out, counting in ((summer, columns[:1]), (spring, columns)):
        with rasterio.open(out / "layers" / "water_distance_m.tif") as dataset:
            row = dataset.read(1)[30]
        wanted = np.min([abs(cols - col) for col in counting], axis=0) * small_land.CELL_M
        np.testing.assert_allclose(row, wanted, atol=1e-3)
        with rasterio.open(out / "candidates.tif") as dataset:
            score = dataset.read(1, masked=True).filled(np.nan)
        assert np.isnan(score[:, columns]).all()
        sites = gpd.read_file(out / "sites.gpkg")
        lines = gpd.read_file(tmp_path / "land" / "brooks.gpkg").geometry[: len(counting)]
        exact = sites.geometry.apply(lambda point, lines=lines: lines.distance(point).min())
        np.testing.assert_allclose(sites["water_distance_exact_m"], exact, atol=0.006)


def test_nothing_of_a_library_is_printed(land, tmp_path) -> None:
    ended = run("screen", land / "run.yaml", "--out", tmp_path / "out")
    assert (ended.returncode, ended.stderr) == (0, "")
    assert os.fspath(tmp_path) in ended.stdout
