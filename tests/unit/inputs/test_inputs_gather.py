"""All inputs of a run on its grid, and what is told about them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from gathered import Gathered
from gathered import gathered as gathered_by
from shapely import LineString, Point, box

from suitability.config import LoadedRun, load_run
from suitability.errors import InputError
from suitability.inputs.burn import burn
from suitability.inputs.common import choose_grid
from suitability.inputs.land import read_land_cover
from suitability.inputs.legend import NO_CLASS
from suitability.inputs.preflight import preflight
from suitability.inputs.report import InputReport

WEST, NORTH = 500_000.0, 4_500_000.0
Write = Callable[..., Path]

GROUND = (300 + np.arange(12, dtype=np.float32)).reshape(3, 4)
COVER = np.array([[11, 41, 41, 82], [52, 90, 0, 82], [82, 82, 82, 82]], dtype=np.uint8)

RUN = """\
inputs:
  elevation: {path: dem.tif, unit: m}
  land_cover: cover.tif
  streams:
    - streams.gpkg
    - ponds.gpkg
"""


def cells(col: float, row: float, cols: float, rows: float) -> Any:
    return box(
        WEST + col * 10, NORTH - (row + rows) * 10, WEST + (col + cols) * 10, NORTH - row * 10
    )


@pytest.fixture
def folder(tmp_path: Path, write_raster: Write, write_vector: Write) -> Path:
    write_raster(GROUND, "dem.tif")
    write_raster(COVER, "cover.tif")
    write_vector([LineString([(WEST + 1, NORTH - 25), (WEST + 38, NORTH - 25)])], "streams.gpkg")
    write_vector([cells(3.2, 0.2, 0.3, 0.3)], "ponds.gpkg")
    return tmp_path


def load(folder: Path, text: str = RUN) -> LoadedRun:
    path = folder / "run.yaml"
    path.write_text(text)
    return load_run(path)


def gathered(folder: Path, more: str = "") -> Gathered:
    return gathered_by(load(folder, RUN + more))


def of(reports: Any, role: str) -> InputReport:
    found: InputReport = next(report for report in reports if report.role == role)
    return found


def test_the_three_needed_inputs_are_enough(folder: Path) -> None:
    found = gathered(folder)
    np.testing.assert_array_equal(found.rasters.ground, GROUND)
    run = load(folder)
    codes, _, _ = read_land_cover(run.settings, found.grid, run.locate)
    assert codes.tolist() == [[11, 41, 41, 82], [52, 90, NO_CLASS, 82], [82] * 4]
    # The stream's row, the pond's one touched cell, and open water of the land cover.
    assert np.argwhere(found.water).tolist() == [[0, 0], [0, 3], [2, 0], [2, 1], [2, 2], [2, 3]]
    assert np.argwhere(found.covered).tolist() == [[0, 0]]
    np.testing.assert_array_equal(
        found.rasters.canopy, [[0, 18, 18, 0], [2, 15, np.nan, 0], [0, 0, 0, 0]]
    )
    assert "common practice" in of(found.reports, "canopy height").assumed[0]
    assert any("upper bound" in warning for warning in found.warnings)
    assert not found.rasters.buildings.any()
    vectors = found.features
    assert vectors.boundary is vectors.keep_outs is vectors.existing_boxes is None
    assert vectors.buildings is None
    assert vectors.water["source"].map(lambda path: Path(path).name).tolist() == [
        "streams.gpkg",
        "ponds.gpkg",
    ]


def test_every_input_lands_where_it_lies(
    folder: Path, write_raster: Write, write_vector: Write
) -> None:
    canopy = np.array([[0, 20, 101, 0], [-0.4, 3, 0, -9999], [0, 0, 0, 0]], dtype=np.float32)
    write_raster(canopy, "canopy.tif", nodata=-9999)
    write_vector([cells(0, 1, 2, 1), cells(3, 1, 1, 1)], "houses.gpkg", tall=[20.0, None])
    write_vector([cells(0, 0, 4, 2)], "land.gpkg")
    write_vector([cells(0.2, 0.2, 0.1, 0.1)], "keep_a.gpkg")
    write_vector([Point(WEST + 35, NORTH - 25)], "keep_b.gpkg", why=["well"])
    write_vector([Point(WEST + 15, NORTH - 5)], "boxes.gpkg")
    found = gathered(
        folder,
        "  canopy_height: canopy.tif\n"
        "  buildings: {path: houses.gpkg, height_field: tall, height_unit: ft, default_height: 4}\n"
        "  boundary: land.gpkg\n  keep_outs: [keep_a.gpkg, keep_b.gpkg]\n"
        "  existing_boxes: boxes.gpkg\n",
    )
    np.testing.assert_array_equal(
        found.rasters.canopy, np.float32([[0, 20, 101, 0], [0, 3, 0, np.nan], [0] * 4])
    )
    report = of(found.reports, "canopy height")
    assert "1 cells below the ground (lowest -0.4 m) set to 0" in report.done
    assert "heights in m: neither the file nor the run file says" in report.assumed
    assert "1 cells of canopy are taller than 100 m (up to 101 m)" in report.warnings[0]
    assert "unknown in 8.3% of the cells" in report.warnings[1]
    assert not any("assumed from land cover" in warning for warning in found.warnings)
    tall = np.float32(20 * 0.3048)
    np.testing.assert_array_equal(
        found.rasters.buildings, np.float32([[0] * 4, [tall, tall, 0, 4], [0] * 4])
    )
    assert "4 m for 1 of 2 buildings" in of(found.reports, "buildings").assumed[0]
    vectors = found.features
    assert vectors.boundary is not None
    land = burn(vectors.boundary, found.grid, all_touched=False)
    assert land.tolist() == [[True] * 4, [True] * 4, [False] * 4]
    assert vectors.keep_outs is not None
    kept_out = burn(vectors.keep_outs, found.grid, all_touched=True)
    assert np.argwhere(kept_out).tolist() == [[0, 0], [2, 3]]
    assert vectors.existing_boxes is not None
    assert vectors.existing_boxes.geometry.x.tolist() == [WEST + 15]
    assert [report.role for report in found.reports].count("keep outs") == 2


def test_optional_layers_may_be_empty(folder: Path, write_vector: Write) -> None:
    write_vector([Point(0, 0)], "boxes.gpkg")
    write_vector([], "houses.gpkg", height_m=[])
    found = gathered(folder, "  existing_boxes: boxes.gpkg\n  buildings: houses.gpkg\n")
    assert found.features.existing_boxes is not None
    assert found.features.existing_boxes.empty
    assert not found.rasters.buildings.any()
    assert any("existing boxes: none of 1" in warning for warning in found.warnings)
    assert any("buildings: houses.gpkg has no features" in w for w in found.warnings)


def test_a_stated_height_field_must_be_there(folder: Path, write_vector: Write) -> None:
    write_vector([cells(0, 1, 2, 1)], "houses.gpkg", storeys=[2])
    with pytest.raises(InputError, match="no field 'tall'") as caught:
        gathered(folder, "  buildings: {path: houses.gpkg, height_field: tall}\n")
    assert "storeys" in str(caught.value.fix)
    # The default field's absence is no mistake of the user's: heights are assumed.
    found = gathered(folder, "  buildings: houses.gpkg\n")
    assert found.rasters.buildings.max() == 5
    assert "5 m for 1 of 1 buildings" in of(found.reports, "buildings").assumed[0]


def test_buildings_that_may_miss_every_cell_are_told(folder: Path, write_vector: Write) -> None:
    write_vector([cells(0, 1, 2, 1), cells(2.6, 0.6, 0.3, 0.3)], "houses.gpkg")
    found = gathered(folder, "  buildings: houses.gpkg\n")
    assert "1 buildings are smaller than a cell" in of(found.reports, "buildings").warnings[0]
    assert np.argwhere(found.rasters.buildings).tolist() == [[1, 0], [1, 1]]  # as it did


def test_one_empty_source_of_water_is_a_warning_two_are_an_error(
    folder: Path, write_vector: Write
) -> None:
    write_vector([cells(900, 900, 1, 1)], "ponds.gpkg")
    found = gathered(folder)
    assert any("streams: none of 1 features in ponds.gpkg" in w for w in found.warnings)
    assert found.water[2].all()
    (folder / "streams.gpkg").unlink()
    write_vector([], "streams.gpkg")
    with pytest.raises(InputError, match="unknown everywhere") as caught:
        gathered(folder)
    assert "streams.gpkg has no features" in caught.value.what
    assert "ponds.gpkg reach" in caught.value.what


def test_a_surface_model_is_no_canopy_height(folder: Path, write_raster: Write) -> None:
    write_raster(GROUND + 20, "surface.tif")
    with pytest.raises(InputError, match=r"holds 320 m; heights from -500 to 150 m can be"):
        gathered(folder, "  canopy_height: surface.tif\n")


def test_preflight_tells_what_the_run_would(folder: Path) -> None:
    run = load(folder)
    grid, reports = preflight(run.settings, run.locate, {})
    assert grid == choose_grid(run.settings, run.locate)[0]
    assert [report.role for report in reports] == [
        "grid", "elevation", "land cover", "streams", "streams", "canopy height",
    ]  # fmt: skip
    assert "12 cells sampled" in of(reports, "elevation").done[0]
    assert "300.0 to 311.0 m seen" in of(reports, "elevation").facts
    assert of(reports, "land cover").outside_share == pytest.approx(1 / 12)


def test_preflight_samples_a_large_raster_all_over(
    tmp_path: Path, write_raster: Write, write_vector: Write
) -> None:
    rows, cols = np.indices((900, 1000))
    write_raster((rows * 2 + cols).astype(np.float32), "dem.tif")
    write_raster(np.where(rows < 450, 41, 82).astype(np.uint8), "cover.tif")
    write_vector([LineString([(WEST, NORTH), (WEST + 900, NORTH - 800)])], "streams.gpkg")
    write_vector([cells(1, 1, 2, 2)], "ponds.gpkg")
    run = load(tmp_path)
    elevation = of(preflight(run.settings, run.locate, {})[1], "elevation")
    assert "102,400 cells sampled" in elevation.done[0]
    assert "0.0 to 2797.0 m seen" in elevation.facts  # corner to corner


def test_what_is_kept_clear_is_kept_out_with_the_land_around_it(
    folder: Path, write_vector: Write
) -> None:
    write_vector([cells(0.2, 0.2, 0.1, 0.1)], "keep.gpkg")
    write_vector([Point(WEST + 35, NORTH - 25)], "doors.gpkg", why=["door"])
    found = gathered(
        folder,
        "  keep_outs: keep.gpkg\n  keep_clear: {path: doors.gpkg, distance: 6 m}\n",
    )
    assert found.features.keep_outs is not None
    around = found.features.keep_outs.geometry.iloc[1]
    assert around.area == pytest.approx(36 * np.pi, rel=1e-4)
    assert around.centroid.distance(Point(WEST + 35, NORTH - 25)) < 1e-6
    report = of(found.reports, "keep clear")
    assert report.done[-1] == "6 m around each is kept clear"
