"""`results` and `learn` by the command, on a register of the sample area's boxes."""

import json

import pytest
import registers
from command import refused, succeeded

from suitability.config import load_run
from suitability.finished import FinishedRun


@pytest.fixture(scope="module")
def register(sample_run, tmp_path_factory):
    """A box at each site of the run, those of odd rank in use from their second summer on."""
    path = tmp_path_factory.mktemp("register") / "boxes.gpkg"
    opened = registers.new_register(path)
    with opened.writing() as connection:
        for site in FinishedRun.of(sample_run).sites.to_dict("records"):
            name = f"box {site['rank']}"
            place = registers.add_box(
                connection, name, "2022-03-01", lon=site["lon_deg"], lat=site["lat_deg"],
                kind="pole", facing_deg=site["facing_deg"], direct_sun_h=site["direct_sun_h"],
                water_distance_m=site["water_distance_m"],
            )  # fmt: skip
            registers.add_visit(connection, name, place, "2022-07-01")
            state = "occupied" if site["rank"] % 2 else "not occupied"
            registers.add_visit(connection, name, place, "2023-07-01", state)
    return path


def test_results_are_told_and_written(register, tmp_path):
    told = succeeded("results", register, "--to", tmp_path / "report", "--title", "Cinder Fen")
    assert "6 of 12 boxes that were looked at have had bats: 50%" in told
    assert "all boxes" in told
    assert "6 of 12  (25% to 75%)" in told
    names = {path.name for path in (tmp_path / "report").iterdir()}
    assert names == {"results.pdf", "results.png", "results.html"}
    assert "Cinder Fen: who moved in" in (tmp_path / "report" / "results.html").read_text("utf-8")


def test_too_few_boxes_propose_no_weights_and_take_an_old_proposal_away(
    register, sample_run, tmp_path
):
    (tmp_path / "proposed_criteria.yaml").write_text("old")
    told = succeeded("learn", register, sample_run, "--to", tmp_path)
    assert "6 of 12 boxes that were watched for a year or more are in use" in told
    assert "too little to learn from" in told
    assert {path.name for path in tmp_path.iterdir()} == {"learned.png"}


def test_enough_boxes_propose_weights_that_a_run_file_takes(sample_run, tmp_path):
    run = FinishedRun.of(sample_run)
    opened = registers.new_register(tmp_path / "many.gpkg")
    score, bits, grid = run.small(20)
    rows, cols = ((bits == 0) & (score > 0)).nonzero()
    lon, lat = grid.lonlat(*grid.xy(rows, cols))
    good = score[rows, cols] > sorted(score[rows, cols])[rows.size // 2]
    with opened.writing() as connection:
        for at in range(rows.size):
            place = registers.add_box(connection, f"box {at}", lon=lon[at], lat=lat[at])
            odd_one = at % 5 == 0
            state = "occupied" if good[at] != odd_one else "not occupied"
            registers.add_visit(connection, f"box {at}", place, "2024-07-01", state)
    told = succeeded("learn", tmp_path / "many.gpkg", sample_run, "--to", tmp_path)
    assert "nothing was changed" in told
    patch = (tmp_path / "proposed_criteria.yaml").read_text("utf-8")
    inputs = {key: value for key, value in run.settings["inputs"].items() if value is not None}
    text = f"inputs: {json.dumps(inputs)}\n{patch}"
    layers = f"layers: {json.dumps(run.settings['layers'])}\n"
    (tmp_path / "run.yaml").write_text(text + layers, encoding="utf-8")
    criteria = load_run(tmp_path / "run.yaml").settings.criteria
    assert sum(criterion.weight for criterion in criteria) == pytest.approx(1, abs=1e-3)


def test_what_is_no_register_is_refused(tmp_path, sample_run):
    assert "error:" in refused("results", tmp_path / "none.gpkg")
    assert not (tmp_path / "none.gpkg").exists()
    assert "error:" in refused("learn", tmp_path / "none.gpkg", sample_run)
