"""Two runs compared by the real command, against the runs' own files."""

import json
import shutil

import numpy as np
import pandas as pd
import pytest
import rasterio
from command import files_in, parts, refused, succeeded
from PIL import Image
from rio_cogeo.cogeo import cog_validate
from small_land import CELL_M, RUN, cover, write_config, write_land, write_raster

CRITERIA = """\
criteria:
  - {layer: direct_sun_h, weight: 0.5, value: {rising: [5 h, 13 h]}}
  - {layer: water_distance_m, weight: 0.5, value: {falling: [50 m, 300 m]}}
exclusions: {steeper_than: 4 deg}
"""
LATER = (
    CRITERIA.replace("weight: 0.5, value: {rising: [5 h", "weight: 0.2, value: {rising: [4 h")
    .replace("4 deg", "3 deg")
    .replace("exclusions: {", "exclusions: {clearance: 30 ft, water_bank: null, ")
)


def screened(folder, more, *, like=None):
    """Screen a land, or a copy of its files: a GeoPackage written anew has another checksum."""
    if like is None:
        config = write_land(folder, RUN + more)
    else:
        shutil.copytree(like.parent, folder, ignore=shutil.ignore_patterns("run"))
        config = write_config(folder, RUN + more)
    succeeded("screen", config, "--out", folder / "run")
    return folder / "run"


@pytest.fixture(scope="module")
def compared(tmp_path_factory):
    folder = tmp_path_factory.mktemp("compared")
    first = screened(folder / "a", CRITERIA)
    second = screened(folder / "b", LATER, like=first)
    before = {run: files_in(run) for run in (first, second)}
    printed = succeeded("compare", first, second, "--out", folder / "out")
    assert {run: files_in(run) for run in (first, second)} == before
    return first, second, folder / "out", printed


@pytest.fixture(scope="module")
def record(compared):
    return json.loads((compared[2] / "comparison.json").read_text("utf-8"))


def raster(path):
    with rasterio.open(path) as source:
        return source.read(1)


def test_the_folder_holds_the_four_files(compared):
    _, _, out, printed = compared
    assert files_in(out) == {
        "score_change.tif", "score_change.png", "sites_compared.csv", "comparison.json",
    }  # fmt: skip
    assert f"4 files in {out}" in printed
    with Image.open(out / "score_change.png") as picture:
        assert picture.width == 1700


def test_the_raster_is_the_difference_of_the_scores(compared):
    first, second, out, _ = compared
    valid, errors, warnings = cog_validate(out / "score_change.tif", strict=True)
    assert (valid, errors, warnings) == (True, [], [])
    expected = raster(second / "candidates.tif") - raster(first / "candidates.tif")
    np.testing.assert_array_equal(raster(out / "score_change.tif"), expected)
    with rasterio.open(out / "score_change.tif") as a, rasterio.open(first / "candidates.tif") as b:
        assert (a.transform, a.crs) == (b.transform, b.crs)


def test_the_numbers_are_those_of_the_rasters(compared, record):
    first, second, _, printed = compared
    a, b = (raster(run / "candidates.tif") for run in (first, second))
    a_bits, b_bits = (raster(run / "excluded.tif") for run in (first, second))
    both = np.isfinite(a) & np.isfinite(b)
    step = b[both].astype(float) - a[both].astype(float)
    scores = record["scores"]
    assert scores["candidates_of_both"] == both.sum() > 0
    assert scores["rose"] == (step >= 0.005).sum()
    assert scores["fell"] == (step <= -0.005).sum()
    assert scores["mean_change"] == pytest.approx(step.mean())
    assert scores["mean_size_of_change"] == pytest.approx(np.abs(step).mean())
    assert scores["correlation"] == pytest.approx(np.corrcoef(a[both], b[both])[0, 1], abs=1e-6)
    came, went = np.isfinite(b) & np.isnan(a), np.isfinite(a) & np.isnan(b)
    assert scores["came_in"] == came.sum() > 0
    assert scores["went_out"] == went.sum() > 0
    # Bits 5 and 6 are water and slope, 3 is clearance.
    assert scores["came_in_was_out_by"]["on water or its bank"] == (a_bits[came] & 32 > 0).sum()
    assert scores["went_out_by"]["too steep"] == (b_bits[went] & 64 > 0).sum()
    assert (
        scores["went_out_by"]["too close to canopy or a building"] == (b_bits[went] & 8 > 0).sum()
    )
    assert f"{both.sum():,} cells are candidates in both runs" in printed
    assert f"{came.sum():,} cells came in" in printed


def test_every_setting_that_differs_is_told_and_no_other(record, compared):
    told = {each["key"]: (each["old"], each["new"]) for each in record["settings"]}
    assert told == {
        "exclusions.clearance": ("6 m", "9.144 m"),
        "exclusions.water_bank": ("3 m", "not given"),
        "exclusions.steeper_than": ("4 deg", "3 deg"),
        "criteria[direct_sun_h].weight": ("50.0%", "28.6%"),
        "criteria[direct_sun_h].value.rising": ("5 h, 13 h", "4 h, 13 h"),
        "criteria[water_distance_m].weight": ("50.0%", "71.4%"),
    }
    meanings = {each["key"]: each["meaning"] for each in record["settings"]}
    assert meanings["exclusions.clearance"].startswith("open space")
    assert all(meanings.values())
    for text in ("steeper_than", "3 deg", "9.144 m", "not given"):
        assert text in compared[3]


def test_sites_are_paired_within_half_the_spacing(compared, record):
    first, second, out, printed = compared
    table = pd.read_csv(out / "sites_compared.csv")
    a, b = (pd.read_csv(run / "sites.csv").set_index("rank") for run in (first, second))
    assert sorted(table["old_rank"].dropna()) == list(a.index)
    assert sorted(table["new_rank"].dropna()) == list(b.index)
    for row in table.itertuples():
        if row.change in ("stayed", "moved"):
            there, here = a.loc[row.old_rank], b.loc[row.new_rank]
            apart = np.hypot(there.x_m - here.x_m, there.y_m - here.y_m)
            assert row.apart_m == pytest.approx(apart, abs=0.01)
            assert apart <= 20
            assert (row.change == "stayed") == (apart < CELL_M / 2)
        elif row.change == "went":
            nearest = np.hypot(b["x_m"] - row.x_m, b["y_m"] - row.y_m)
            taken = table["new_rank"][table["change"].isin(["stayed", "moved"])]
            assert (nearest[~nearest.index.isin(taken)] > 20).all()
    counts = table["change"].value_counts()
    words = ", ".join(f"{counts.get(k, 0)} {k}" for k in ("stayed", "moved", "came", "went"))
    assert f"Sites: {words}." in printed
    assert len(record["sites"]) == len(table)
    assert table["caution"].str.contains("screening").all()


def test_a_run_compared_with_its_like_shows_no_change(compared, tmp_path):
    first = compared[0]
    shutil.copytree(first, tmp_path / "same")
    printed = succeeded("compare", first, tmp_path / "same")
    assert "No setting and no input differs." in printed
    out = tmp_path / "same" / "compared_with_run"
    record = json.loads((out / "comparison.json").read_text("utf-8"))
    assert record["scores"]["rose"] == record["scores"]["fell"] == 0
    assert record["scores"]["correlation"] == pytest.approx(1)
    assert {site["change"] for site in record["sites"]} == {"stayed"}


def test_an_input_is_known_by_its_content_wherever_it_lies(compared, tmp_path):
    again = screened(tmp_path / "again", CRITERIA, like=compared[0])
    assert "No setting and no input differs." in succeeded("compare", compared[0], again)
    codes = cover()
    codes[:5, :5] = 41
    other = shutil.copytree(tmp_path / "again", tmp_path / "other")
    write_raster(other / "cover.tif", codes)
    succeeded("screen", other / "run.yaml", "--out", other / "run")
    succeeded("compare", compared[0], tmp_path / "other" / "run", "--out", tmp_path / "out")
    told = json.loads((tmp_path / "out" / "comparison.json").read_text("utf-8"))["settings"]
    assert [each["key"] for each in told] == ["inputs.land_cover.path"]
    assert told[0]["old"] != told[0]["new"]
    assert told[0]["old"].startswith("cover.tif (SHA-256 ")


def test_runs_on_part_of_the_land_are_compared_where_both_lie(compared, tmp_path):
    from small_land import NORTH, WEST

    first = compared[0]
    boundary = (f"{{\"type\": \"Polygon\", \"coordinates\": [[[{WEST + 100}, {NORTH - 250}], "
                f"[{WEST + 300}, {NORTH - 250}], [{WEST + 300}, {NORTH - 100}], "
                f"[{WEST + 100}, {NORTH - 100}], [{WEST + 100}, {NORTH - 250}]]]}}")  # fmt: skip
    import geopandas as gpd
    from shapely import from_geojson

    config = write_land(
        tmp_path / "part",
        RUN.replace("  streams:", "  boundary: parcel.gpkg\n  streams:")
        + "grid: {margin: 20 m}\n" + CRITERIA,
    )  # fmt: skip
    gpd.GeoDataFrame(geometry=[from_geojson(boundary)], crs="EPSG:32616").to_file(
        tmp_path / "part" / "parcel.gpkg"
    )
    succeeded("screen", config, "--out", tmp_path / "part" / "run")
    printed = succeeded("compare", first, tmp_path / "part" / "run", "--out", tmp_path / "out")
    assert "Only common land is compared" in printed
    part = raster(tmp_path / "out" / "score_change.tif")
    assert part.shape == raster(tmp_path / "part" / "run" / "candidates.tif").shape
    told = json.loads((tmp_path / "out" / "comparison.json").read_text("utf-8"))
    assert told["common_land_share"]["second"] == 1
    assert 0 < told["common_land_share"]["first"] < 1
    assert told["scores"]["went_out_by"]["outside the boundary"] > 0


def test_runs_whose_cells_do_not_coincide_are_refused(compared, tmp_path):
    first = compared[0]
    for name, grid, words in (
        ("coarse", "grid: {cell: 10 m}\n", "different grids"),
        ("elsewhere", "grid: {crs: EPSG:32617}\n", "different grids"),
    ):
        other = screened(tmp_path / name, CRITERIA + grid)
        what, where, fix = parts(refused("compare", first, other, "--out", tmp_path / "out"))
        assert words in what
        assert "compare" in where
        assert "grid" in fix
        assert not (tmp_path / "out").exists()


def test_a_folder_without_a_run_is_refused(compared, tmp_path):
    message = parts(refused("compare", compared[0], tmp_path))
    assert "no finished run" in message[0]
    assert str(tmp_path) in message[1]
