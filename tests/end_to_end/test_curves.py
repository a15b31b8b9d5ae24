"""The pages of curves as a user gets them: measured land, counted exactly, drawn the same again."""

import json

import numpy as np
import pytest
import rasterio
import small_land
from command import files_in, parts, refused, succeeded

from suitability import assembling
from suitability.config import load_run
from suitability.curves import curves_of
from suitability.run import measured

GROUPED = """\
combine: weighted geometric mean
criteria:
  - {layer: direct_sun_h, weight: 2, value: {logistic: [5 h, 7 h]}}
  - group: ground and water
    weight: 1
    combine: limiting criterion
    criteria:
      - {layer: slope_deg, weight: 1, value: {steps: {below: 1, then: [[4 deg, 0.3]]}}}
      - {layer: water_distance_m, weight: 1, value: {falling: [100 m, 150 m]}, basis: a guess}
  - {layer: canopy_edge_m, weight: 0, value: {hump: [6 m, 10 m, 30 m, 100 m]}}
"""


def pages_in(folder):
    """Return the bytes of the pages of curves in a folder, by name."""
    return {path.name: path.read_bytes() for path in folder.glob("curves*")}


@pytest.fixture(scope="module")
def land(tmp_path_factory):
    return small_land.write_land(tmp_path_factory.mktemp("land"), small_land.RUN + GROUPED)


@pytest.fixture(scope="module")
def drawn(land):
    """Return the folder of a run whose curves were drawn before it was screened, and the bytes."""
    out = land.parent / "out"
    printed = succeeded("curves", land, "--out", out)
    pages = pages_in(out)
    pictures = sorted(str(out / name) for name in pages if name.endswith(".png"))
    assert printed.split() == [*pictures, str(out / "curves.pdf")]
    assert pictures[0] == str(out / "curves.png")
    assert len(pages) == len(pictures) + 1 >= 3
    succeeded("screen", land, "--out", out)
    return out, pages


def test_they_measure_the_land_and_leave_its_layers_to_the_screening(drawn):
    out, _ = drawn
    record = json.loads((out / "run.json").read_text("utf-8"))
    assert "looking ahead" in record["seconds"]
    assert "measuring the land" not in record["seconds"]


def test_the_same_run_gives_the_same_bytes_from_layers_that_stand(land, drawn):
    out, pages = drawn
    layers = {path: path.stat().st_mtime_ns for path in (out / "layers").glob("*.tif")}
    succeeded("curves", land, "--out", out)
    assert pages_in(out) == pages
    assert {path: path.stat().st_mtime_ns for path in (out / "layers").glob("*.tif")} == layers
    assert (out / "run.json").exists()


def test_counts_are_those_of_the_whole_rasters(land, drawn):
    out, _ = drawn
    with measured(load_run(land), out) as plan:
        panels = {panel.title: panel for panel in curves_of(plan).panels}
    with rasterio.open(out / "candidates.tif") as source:
        is_candidate = ~np.isnan(source.read(1))
    titles = {"direct_sun_h": "direct sun a day", "slope_deg": "slope of the ground",
              "water_distance_m": "distance to water"}  # fmt: skip
    for name, title in titles.items():
        panel = panels[title]
        with rasterio.open(out / "layers" / f"{name}.tif") as source:
            layer = source.read(1).astype(np.float64)
        # numpy's own histogram, the reference library here.
        for spread, cells in ((panel.land, layer.ravel()), (panel.candidates, layer[is_candidate])):
            expected, edges = np.histogram(cells[~np.isnan(cells)], panel.bins.edges)
            assert spread.counts.tolist() == expected.tolist()
            assert spread.missing == np.isnan(cells).sum()
            assert spread.below == (cells < edges[0]).sum()
            assert spread.above == (cells > edges[-1]).sum()
    assert panels["direct sun a day"].land.missing > 0


def test_weights_groups_and_bases_are_in_words(land, drawn):
    with measured(load_run(land), drawn[0]) as plan:
        sun, slope, water, edge = curves_of(plan).panels
    assert sun.head == ("weight 67% of the whole; own",)
    in_group = "its group's lowest value counts, weight 33% of the whole; own"
    assert slope.head == water.head == (in_group, "in ground and water")
    assert edge.head == ("weight 0, does not count; own",)
    assert water.grounds == ("A guess.",)
    assert sun.value(np.array([5.0, 7.0])).tolist() == pytest.approx([0.5, 0.9])
    assert sun.bins.first == 0  # a logistic curve has no end, hours of sun do
    assert slope.value(np.array([3.9, 4.1])).tolist() == pytest.approx([1, 0.3])


def test_windows_do_not_matter(land, drawn, monkeypatch):
    with measured(load_run(land), drawn[0]) as plan:
        whole = curves_of(plan)
        monkeypatch.setattr(assembling, "JUDGED_SIDE", 16)
        assert len(assembling.judged_windows(plan)) > 10
        parted = curves_of(plan)
    for one, other in zip(whole.panels, parted.panels, strict=True):
        assert one.bins == other.bins
        for a, b in ((one.land, other.land), (one.candidates, other.candidates)):
            assert a.counts.tolist() == b.counts.tolist()
            assert (a.below, a.above, a.missing) == (b.below, b.above, b.missing)
    assert (whole.land, whole.candidates) == (parted.land, parted.candidates)


def test_land_beyond_the_boundary_is_not_counted(tmp_path):
    text = small_land.RUN.replace("inputs:\n", "inputs:\n  boundary: parcel.gpkg\n")
    config = small_land.write_land(tmp_path, text)
    west, north = small_land.WEST, small_land.NORTH
    small_land.write_parcel(tmp_path / "parcel.gpkg", west + 100, north - 200, west + 200, north)
    with measured(load_run(config), tmp_path / "out") as plan:
        content = curves_of(plan)
    # 100 m by 200 m in cells of 5 m.
    assert {panel.land.measured + panel.land.missing for panel in content.panels} == {800}
    assert content.land == "land inside the boundary, 2 ha"


def test_a_screening_with_other_curves_draws_the_pages_that_stand_anew(tmp_path):
    config = small_land.write_land(tmp_path)
    out = tmp_path / "out"
    succeeded("screen", config, "--out", out)
    assert not pages_in(out)
    succeeded("curves", config, "--out", out)
    earlier = (out / "curves.png").read_bytes()
    small_land.write_config(tmp_path, small_land.RUN + GROUPED)
    succeeded("screen", config, "--out", out)
    assert (out / "curves.png").read_bytes() != earlier


def test_mistakes_leave_nothing(tmp_path):
    config = small_land.write_land(tmp_path, small_land.RUN.replace("dem.tif", "no.tif"))
    what, where, _ = parts(refused("curves", config, "--out", tmp_path / "out"))
    assert "no.tif" in f"{what}{where}"
    assert not any(name.startswith("curves") for name in files_in(tmp_path / "out"))
    assert "amount of memory" in refused("curves", config, "--memory", "lots")


def test_in_us_units_the_pages_show_the_same_land(tmp_path):
    config = small_land.write_land(tmp_path, small_land.RUN + "units: us\n")
    with measured(load_run(config), tmp_path / "out") as plan:
        content = curves_of(plan)
    water = next(panel for panel in content.panels if panel.layer == "water_distance_m")
    edges = water.scale.of(water.bins.edges)
    assert water.scale.unit == "ft"
    assert edges == pytest.approx(water.bins.edges / 0.3048)
    assert content.land == "all land, 29.7 acres"  # 60 by 80 cells of 5 m: 12 ha
    assert "15.1 ft above the ground" in content.lines[0]
    heights = next(basis for basis in content.bases if basis.key == "mount.height")
    assert heights.shown == "15.1 ft"  # 4.6 m
    assert "13.1 ft and more by agency guidance" in heights.conflict
