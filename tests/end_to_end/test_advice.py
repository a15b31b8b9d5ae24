"""Advice as a user meets it: columns of the sites, the record, and mistakes in the box section."""

import json

import numpy as np
import pandas as pd
import pytest
from command import parts, refused, succeeded
from PIL import Image
from small_land import CELL_M, NORTH, ROWS, RUN, WEST, write_land, write_lines

from suitability.errors import ResultError
from suitability.finished import FinishedRun
from suitability.outputs.horizon_table import read_horizon


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Screen a small land; return the folder of the run."""
    land = tmp_path_factory.mktemp("land")
    text = RUN + "box: {bats: large, compass_date: '2026-03-01', install_by: 03-10}\n"
    succeeded("screen", write_land(land, text), "--out", land / "out")
    return land / "out"


@pytest.fixture(scope="module")
def sites(folder):
    return pd.read_csv(folder / "sites.csv")


@pytest.fixture(scope="module")
def record(folder):
    return json.loads((folder / "run.json").read_text("utf-8"))


def test_sites_tell_what_to_put_up(sites):
    assert (sites["box"] == "four chambers").all()
    assert (sites["chambers"] == 4).all()
    assert (sites["colour"] == "dark").all()  # moderate summers
    assert (sites["mount_height_m"] == 4.6).all()
    assert sites["facing_deg"].between(90, 225).all()


def test_a_compass_shows_the_facing_less_the_declination(sites, record):
    # 40.2 N, 87 W: 4.1 degrees west in 2026 by the World Magnetic Model.
    turn = (sites["facing_magnetic_deg"] - sites["facing_deg"]) % 360
    assert turn.between(3, 6).all()
    assert "west of true north on 2026-03-01" in record["boxes"]["sites"][0]["declination"]


def test_the_record_holds_reasons(record, sites):
    boxes = record["boxes"]
    assert boxes["bats"]["name"] == "large"
    assert boxes["timing"]["install_by"] == "03-10"
    assert [site["rank"] for site in boxes["sites"]] == sites["rank"].tolist()
    for site in boxes["sites"]:
        assert site["box"]["chamber_m"] == pytest.approx(0.0254)
        assert {"facing", "colour", "chambers", "mount", "height"} <= {
            point["topic"] for point in site["points"]
        }
        for point in site["points"]:
            assert point["why"]
            assert point["ground"]["basis"]


def test_each_site_has_its_horizon(folder, sites):
    for rank in sites["rank"]:
        assert read_horizon(folder, rank).shape == (360,)


def test_explain_says_what_to_put_up_and_draws_the_sky(folder, record, sites):
    printed = " ".join(succeeded("explain", folder, "--site", 2).split())
    site = record["boxes"]["sites"][1]
    for point in site["points"]:
        assert " ".join(point["why"].split()) in printed
        assert point["choice"] in printed
        assert f"({point['ground']['evidence']})" in printed
    assert f"{sites['facing_magnetic_deg'][1]:.0f}° magnetic" in printed
    assert "Have it up by 03-10" in printed
    assert "World Magnetic Model 2025 (2025-2030)" in printed
    assert "Never handle bats. Last word: public-health agency" in printed
    with Image.open(folder / "sky" / "site_2.png") as picture:
        pixels = np.asarray(picture.convert("RGB"), dtype=int)
    assert (np.abs(pixels - (0x1F, 0x5F, 0xA8)).sum(axis=2) < 30).sum() > 300  # the facing
    assert (np.abs(pixels - (0x3D, 0x42, 0x47)).sum(axis=2) < 30).sum() > 1000  # the land


def test_the_sheet_is_a_pdf_that_stays_the_same(folder, tmp_path):
    printed = succeeded("box-sheet", folder, "--site", 1)
    written = folder / "boxes" / "site_1.pdf"
    assert printed.strip() == str(written)
    assert written.read_bytes().startswith(b"%PDF")
    succeeded("box-sheet", folder, "--site", 1, "--out", tmp_path / "again.pdf")
    assert (tmp_path / "again.pdf").read_bytes() == written.read_bytes()


def test_no_sheet_of_a_site_that_is_not_listed(folder):
    what, where, fix = parts(refused("box-sheet", folder, "--site", 99))
    assert "no advice for site 99" in what
    assert str(folder) in where
    assert fix


@pytest.mark.parametrize(
    ("box", "what", "where"),
    [
        ("{bats: tiny}", "no group of bats 'tiny'", "run.yaml, line 8: box.bats"),
        ("{designs: none.yaml}", "there is no such file of designs", "none.yaml"),
        ("{compass_date: 03-01}", "'03-01' is not a date", "line 8: box.compass_date"),
        ("{most_stress: 3 m}", "not a time", "line 8: box.most_stress"),
    ],
)
@pytest.mark.parametrize("command", ["check", "screen"])
def test_mistakes_are_told_before_any_work(tmp_path, command, box, what, where):
    said, place, _ = parts(refused(command, write_land(tmp_path, f"{RUN}box: {box}\n")))
    assert what in said
    assert where in place


def test_a_layer_may_not_take_the_name_of_a_column(tmp_path):
    text = RUN + "layers: {facing_deg: {aspect: {level_below: 1 deg}}}\n"
    said, place, fix = parts(refused("check", write_land(tmp_path, text)))
    assert "another column" in said
    assert "line 8: layers.facing_deg" in place
    assert "own_facing_deg" in fix


def test_sites_near_an_overhead_line_are_warned_of(tmp_path):
    land = tmp_path / "land"
    config = write_land(land, RUN.replace("  streams", "  wires: wires.gpkg\n  streams"))
    south = NORTH - ROWS * CELL_M
    lines = [[(WEST + x, NORTH), (WEST + x, south)] for x in range(5, 400, 10)]
    write_lines(land / "wires.gpkg", lines)
    printed = " ".join(succeeded("screen", config, "--out", land / "out").split())
    assert "site 1: an overhead line is" in printed
    assert "wires" in succeeded("check", config)
    record = json.loads((land / "out" / "run.json").read_text("utf-8"))
    assert any("overhead line" in warning for warning in record["warnings"])
    first = record["site_cautions"][0]
    assert 0 < first["about"]["wire_m"] <= 5  # the lines are 10 m apart
    assert next(iter(first["apply_here"])) == "overhead_lines"
    table = pd.read_csv(land / "out" / "sites.csv")
    assert table["heed"].str.contains("an overhead line is").all()
    heed = FinishedRun.of(land / "out").cautions(1)
    assert heed[0].id == "overhead_lines"
    assert heed[0].applies_here
    assert not heed[-1].applies_here
    with pytest.raises(ResultError, match="heed at site 99"):
        FinishedRun.of(land / "out").cautions(99)
