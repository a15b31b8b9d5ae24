"""`suitability start` as a new user runs it: on a small land, and on inputs that cannot work."""

import os

import geopandas as gpd
import numpy as np
import pytest
from command import files_in, parts, refused, succeeded
from shapely import box
from small_land import CRS, NORTH, WEST, corner, cover, heights, write_land, write_raster

from suitability.config import load_run
from suitability.config.document import parse_document
from suitability.errors import InputError, SuitabilityError
from suitability.starting import start
from suitability.starting.given import Given
from suitability.starting.text import quoted


@pytest.fixture
def land(tmp_path):
    """Return a folder of inputs without a run file; its name is awkward."""
    folder = tmp_path / "my data: #1"
    write_land(folder).unlink()
    return folder


def given(land, **more):
    files = {
        "elevation": str(land / "dem.tif"),
        "land_cover": str(land / "cover.tif"),
        "streams": (str(land / "streams.gpkg"),),
        "elevation_unit": "m",
    }
    return Given(**files | more)


def test_what_it_writes_runs_at_once(land, tmp_path):
    home = tmp_path / "home_farm"
    parcel = gpd.GeoDataFrame(
        geometry=[box(WEST + 10, NORTH - 290, WEST + 390, NORTH - 10)], crs=CRS
    )
    parcel.to_file(land / "parcel.gpkg")
    sheds = gpd.GeoDataFrame(
        {"shed_height_ft": [12.0]}, geometry=[box(WEST + 300, NORTH - 60, WEST + 310, NORTH - 50)],
        crs=CRS,
    )  # fmt: skip
    sheds.to_crs(4326).to_file(land / "sheds.gpkg")
    printed = succeeded(
        "start", home, "--elevation", land / "dem.tif", "--elevation-unit", "m", "--land-cover",
        land / "cover.tif", "--streams", land / "streams.gpkg", "--boundary",
        land / "parcel.gpkg", "--buildings", land / "sheds.gpkg",
    )  # fmt: skip
    assert "look: the legend nlcd is guessed from the codes; make sure" in printed
    assert "all water of streams.gpkg counts" in printed
    assert "missing: canopy_height" in printed
    assert "missing: boundary" not in printed
    assert files_in(home) == {"run.yaml"}
    settings = load_run(home / "run.yaml").settings
    assert settings.title == "Home farm"
    assert settings.inputs.buildings.height_field == "shed_height_ft"
    assert settings.inputs.buildings.height_unit == "ft"
    succeeded("check", home / "run.yaml")
    screened = succeeded("screen", home / "run.yaml")
    assert "Home farm: best sites" in screened
    assert (home / "results" / "sites.csv").exists()
    message = refused("start", home, "--elevation", land / "dem.tif", "--elevation-unit", "m",
                      "--land-cover", land / "cover.tif")  # fmt: skip
    assert parts(message)[0] == "there is a run file already; nothing is overwritten"


def test_comments_stay_short_enough_to_read(land, tmp_path):
    started = start(tmp_path / "new", given(land))
    lines = started.path.read_text(encoding="utf-8").splitlines()
    told = [line for line in lines if "path: " not in line]
    assert max(len(line) for line in told) <= 110
    assert "  spacing: 50 m                   # between two sites at least" in lines
    started = start(tmp_path / "us", given(land, units="us"))
    lines_us = started.path.read_text(encoding="utf-8").splitlines()
    assert "units: us                         # what people read: metric, or us" in lines_us
    assert "  spacing: 150 ft                 # between two sites at least" in lines_us
    assert "    unit: m                       # of heights, stated by you" in lines


@pytest.mark.parametrize(
    ("change", "what", "fix"),
    [
        ({"elevation_unit": None}, "in which unit the heights are", "--elevation-unit m"),
        ({"elevation": "no.tif"}, "there is no such file", ""),
        ({"streams": ("no.gpkg",)}, "cannot be opened", "correct the path"),
        ({"legend": "worldcover"}, "41 (", "nlcd"),
        ({"legend": "no.yaml"}, "no legend can be read", "name a shipped legend"),
        ({"boundary": "streams.gpkg"}, "boundary must be polygons", ""),
        ({"weather": "dem.tif"}, "neither an EPW file", "two formats"),
        (
            {"canopy_height": "trees.tif", "canopy_unit": "ft"},
            "274.32 m; heights from -500 to 150 m",
            "`unit`",
        ),
    ],
)
def test_inputs_that_cannot_work_are_told_and_nothing_is_written(
    land, tmp_path, change, what, fix, monkeypatch
):
    monkeypatch.chdir(land)
    home = tmp_path / "home"
    write_raster(land / "trees.tif", np.full((60, 80), 900, np.int16))
    with pytest.raises(SuitabilityError) as caught:
        start(home, given(land, **change))
    assert what in str(caught.value)
    assert fix in (caught.value.fix or "")
    assert caught.value.where
    assert not home.exists()


def test_land_cover_that_no_legend_fits(land, tmp_path):
    write_raster(land / "cover.tif", np.where(cover() == 41, 1, 2).astype(np.uint8))
    with pytest.raises(InputError, match="no shipped legend fits"):
        start(tmp_path / "home", given(land))
    legend = land / "mine.yaml"
    legend.write_text(
        "name: mine\nsource: own\nclasses:\n  1: {name: wood, group: forest}\n"
        "  2: {name: meadow, group: grass}\n",
        encoding="utf-8",
    )
    started = start(tmp_path / "home", given(land, legend=str(legend)))
    assert load_run(started.path).settings.inputs.land_cover.legend == os.path.normpath(legend)


def test_inputs_that_lie_apart(land, tmp_path):
    write_raster(land / "dem.tif", heights(), transform=corner(west=WEST + 90_000))
    with pytest.raises(SuitabilityError, match="they share no land"):
        start(tmp_path / "home", given(land))
    assert not (tmp_path / "home").exists()


NAMES = ["a b.tif", "null", "12", "a: b", "# c", "é.tif", "'q'", "-x", "1e3", 'say "x"', "0x1F",
         ".inf", "C:\\data\\dem.tif", "m", "a ", "~"]  # fmt: skip


@pytest.mark.parametrize("text", NAMES)
def test_names_read_back_as_written(text):
    assert parse_document(f"key: {quoted(text)}\n", "x.yaml").values == {"key": text}
