"""Heat of a box as a layer of the land: against the full model, in tiles, as a rule."""

import json
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest
import small_land
from boxes import station
from command import refused, succeeded

from suitability import ahead, drawn_cells
from suitability.box.body import Assumptions
from suitability.box.catalogue import load_catalogue
from suitability.box.heat import heat_model
from suitability.box.layer_boxes import layer_boxes
from suitability.box.wanted import wanted_of
from suitability.config import load_run
from suitability.errors import ConfigError
from suitability.finished import FinishedRun
from suitability.follow_up.free_sites import heat_is_told, in_words, propose_moves
from suitability.horizons import site_horizons
from suitability.outputs.rasters import read_raster
from suitability.quantities import Quantities
from suitability.run import screen

SHIPPED = Path(pvlib.__file__).parent / "data"
WARM, COOL = "723170TYA.CSV", "703165TY.csv"
BOX = "{box_heat: {design: two chambers, colour: black, facing: S}}"
RUN = (
    small_land.RUN.replace("season:", "  weather: station.csv\nseason:").replace(
        "06-30, step: 60 min, every_days: 30", "08-31, step: 30 min, every_days: 10"
    )
    + f"""\
layers:
  overheat_h: {BOX}
exclusions:
  rules: [{{layer: overheat_h, above: 300 h, because: a box would overheat}}]
"""
)
BATS = "box: {bats_within: {number: 100, heat_each: 0.05 W, basis: invented}}\n"


def woods():
    """Return strips and squares of wood, with clearings of many widths between them."""
    codes = small_land.cover()
    for first, wide in ((2, 3), (10, 2), (16, 3), (23, 3), (56, 2), (61, 4), (70, 5)):
        codes[5:55, first : first + wide] = small_land.WOOD
    codes[::11] = small_land.WOOD
    return codes


@pytest.fixture(scope="module")
def land(tmp_path_factory):
    folder = tmp_path_factory.mktemp("heat_layer")
    small_land.write_land(folder, RUN)
    small_land.write_raster(folder / "cover.tif", woods())
    shutil.copy(SHIPPED / WARM, folder / "station.csv")
    return folder


@pytest.fixture(scope="module")
def found(land):
    return screen(load_run(land / "run.yaml"), land / "out")


@pytest.fixture(scope="module")
def told(land, found):
    return json.loads((land / "out" / "run.json").read_text())["heat_layers"]["overheat_h"]


def hours_of(folder, name="overheat_h"):
    return read_raster(folder / "layers" / f"{name}.tif")[0]


def test_cells_have_the_hours_of_the_full_model(found, land, told):
    """At cells and by a way of their own, from the darkest to the sunniest."""
    layer = hours_of(land / "out")
    cells = np.argwhere(~np.isnan(layer))
    by_hours = cells[np.argsort(layer[tuple(cells.T)])]
    some = by_hours[np.linspace(0, len(by_hours) - 1, 40).astype(int)]
    grid = found.plan.grid
    seen = site_horizons(
        found.plan,
        found.look,
        grid.west + (some[:, 1] + 0.5) * grid.cell_m,
        grid.north - (some[:, 0] + 0.5) * grid.cell_m,
    )
    shipped = load_catalogue()
    design = shipped.designs["two chambers"].with_chamber(shipped.species["any"].chamber_m)
    model = heat_model(
        station(WARM),
        designs=[design],
        colours=[shipped.colours["black"]],
        facing_deg=180,
        season=("05-01", "08-31"),
    )
    turn = grid.convergence_deg()
    full = np.array([model.at(one, convergence_deg=turn).over_40_h[0, 0, 0, 1] for one in seen])
    here = layer[tuple(some.T)]
    assert np.ptp(full) > 100  # there is something to tell apart
    assert np.sqrt(np.mean((here - full) ** 2)) < 0.12 * np.ptp(full)
    assert np.corrcoef(here, full)[0, 1] > 0.97
    assert told["cells_checked"] == 250
    assert told["rmse_h"] < 0.1 * np.ptp(full)
    assert abs(told["bias_h"]) < 0.05 * np.ptp(full)
    assert told["rmse_h"] <= told["error_95_h"]


def test_the_spread_of_the_model_is_told(land, found, told):
    low, mid, high = (told["mean_h"][case] for case in ("low", "mid", "high"))
    assert low < mid < high
    assert np.nanmean(hours_of(land / "out")) == pytest.approx(mid, rel=0.1)
    assert any("screening estimate" in text and "as assumptions go" in text
               for text in found.warnings)  # fmt: skip
    assert "screening estimate" in found.plan.layers["overheat_h"].title


def test_land_that_is_too_warm_is_out(land, found):
    layer, score = hours_of(land / "out"), read_raster(land / "out" / "candidates.tif")[0]
    assert (layer > 300).any()
    assert np.isnan(score[layer > 300]).all()
    assert np.isfinite(score[layer < 300]).any()
    sites = pd.read_csv(land / "out" / "sites.csv")
    assert (sites["overheat_h"] <= 300).all()


def test_tiles_measure_what_the_whole_does(land, found, tmp_path, monkeypatch):
    monkeypatch.setattr(ahead, "tile_side", lambda *_: 32)
    tiled = screen(load_run(land / "run.yaml"), tmp_path / "tiled")
    assert len(tiled.plan.tiles) > 1
    np.testing.assert_array_equal(hours_of(tmp_path / "tiled"), hours_of(land / "out"))


def test_what_is_kept_is_used_again_while_weather_and_boxes_are_the_same(land, found):
    again = screen(load_run(land / "run.yaml"), land / "out")
    assert "measuring the land" not in again.facts["seconds"]
    assert plain(again.facts["heat_layers"]) == plain(found.facts["heat_layers"])
    key = found.plan.store.key
    shutil.copy(SHIPPED / COOL, land / "station.csv")
    assert key_of(land, RUN) != key
    plain_run = RUN[: RUN.index("layers:")]
    cool = key_of(land, plain_run)
    shutil.copy(SHIPPED / WARM, land / "station.csv")
    assert key_of(land, plain_run) == cool  # weather is no part of other layers
    assert key_of(land, RUN.replace("black", "dark")) != key
    assert key_of(land, RUN.replace("above: 300 h", "above: 290 h")) == key
    assert key_of(land, RUN + BATS) != key
    assert key_of(land, RUN) == key


def key_of(land, text):
    run = load_run(small_land.write_config(land, text))
    small_land.write_config(land, RUN)
    ready = ahead.look_ahead(run, land / "out", memory=None, workers=1, alone=True)
    return ready.plan.store.key


def plain(record):
    return json.loads(json.dumps(record))


def test_bats_within_make_boxes_warmer_everywhere(land, found, tmp_path):
    warmer = screen(load_run(small_land.write_config(land, RUN + BATS)), tmp_path / "out")
    small_land.write_config(land, RUN)
    told = [each.facts["heat_layers"]["overheat_h"] for each in (found, warmer)]
    assert told[1]["assumed"]["bats_w"] == pytest.approx(5.0)
    assert told[1]["mean_h"]["mid"] > told[0]["mean_h"]["mid"] + 5
    heat = warmer.advised.record["heat"]
    assert heat["assumed"]["bats_w"] == pytest.approx(5.0)
    assert heat["bats_within"]["basis"] == "invented"
    assert found.advised.record["heat"]["bats_within"] is None


def test_bats_warm_a_box_by_what_a_steady_balance_says():
    """In steady state the warmth over the air is heat over what is let through, W / (W/K)."""
    shipped = load_catalogue()
    calm = station(COOL)
    still = replace(calm, dni=calm.dni * 0, dhi=calm.dhi * 0, ghi=calm.ghi * 0,
                    air_c=calm.air_c * 0 + 10, wind_m_s=calm.wind_m_s * 0)  # fmt: skip
    boxes = {"designs": [shipped.designs["one chamber"]], "colours": [shipped.colours["white"]]}
    empty, full = (
        heat_model(still, **boxes, facing_deg=0, assumed=Assumptions(bats_w=watts, sky_w_m2=0))
        for watts in (0.0, 5.0)
    )
    shade = np.full(360, 90.0)
    warmer = full.temperatures_c(shade)[-1, 0] - empty.temperatures_c(shade)[-1, 0]
    box, air = shipped.designs["one chamber"], Assumptions()
    area = 2 * box.height_m * (box.width_m + box.depth_m) + box.width_m * box.depth_m
    through = 1 / (1 / (4 + 5) + box.wall_m / air.wood_w_mk + 1 / air.film_inside_w_m2k)
    mouth = (box.width_m - 2 * box.wall_m) * box.chamber_m
    by_air = 1.2 * 1006 * air.exchange_m_s[1] * air.vented_factor * mouth
    assert warmer == pytest.approx(5.0 / (through * area + by_air), rel=0.03)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("  weather: station.csv\n", "", "no weather is given"),
        ("two chambers", "two chamberz", "there is no box 'two chamberz'"),
        ("black", "mauve", "there is no colour 'mauve'"),
        ("two chambers", "one chamber", "does not hang on a pole"),
        ("facing: S", "facing: up", "point of the compass"),
        ("overheat_h", "overheat_m", "does not end in _h"),
    ],
)
def test_mistakes_are_told_with_their_line(land, old, new, told):
    config = small_land.write_config(land, RUN.replace(old, new))
    with pytest.raises(ConfigError) as refusal:
        boxes_of(config)
    small_land.write_config(land, RUN)
    assert told in " ".join(str(refusal.value).split())
    assert "run.yaml" in str(refusal.value)
    assert "line" in str(refusal.value)


def boxes_of(config):
    run = load_run(config)
    return layer_boxes(run, wanted_of(run))


def test_a_layer_of_heat_without_weather_stops_the_command(land, tmp_path):
    config = small_land.write_config(land, RUN.replace("  weather: station.csv\n", ""))
    printed = refused("screen", config, "--out", tmp_path / "none")
    small_land.write_config(land, RUN)
    assert "no weather is given" in " ".join(printed.split())
    assert not (tmp_path / "none").exists()


def test_check_tells_what_the_layer_is(land):
    printed = " ".join(succeeded("check", land / "run.yaml", "--cost").split())
    assert "overheat_h" in printed
    assert "above 40 °C in a box (two chambers, black, facing 180°)" in printed
    assert "cost" in printed


def test_wide_land_is_drawn_from_in_pieces(found, monkeypatch):
    monkeypatch.setattr(drawn_cells, "WHOLE_CELLS", 1000)
    monkeypatch.setattr(drawn_cells, "READ_SIDE", 16)
    plan = found.plan
    pieces = drawn_cells.pieces_of(plan, found.look)
    assert len(pieces) == drawn_cells.PIECES
    assert len({(piece.row, piece.col) for piece in pieces}) == len(pieces)
    stands = read_raster(plan.store.layer("obstacles"))[0]
    for cells in (
        drawn_cells.evenly_by_sun(plan, pieces[::2], 120),
        drawn_cells.uniformly(plan, pieces[1::2], 120),
    ):
        assert 60 < len(cells) <= 120
        assert len(np.unique(cells, axis=0)) == len(cells)
        assert (stands[tuple(cells.T)] == 0).all()


def test_places_of_a_table_are_as_often_dark_as_sunny(found):
    plan = found.plan
    sun = read_raster(plan.store.layer("direct_sun_h"))[0]
    spread, any_cell = (
        sun[tuple(draw(plan, [plan.grid.whole], 200).T)]
        for draw in (drawn_cells.evenly_by_sun, drawn_cells.uniformly)
    )
    dark = 0.4 * np.nanmax(sun)
    assert (spread < dark).mean() > 1.3 * (any_cell < dark).mean()


def test_places_of_boxes_are_compared_by_it(land, found):
    run = FinishedRun.of(land / "out")
    sites = run.sites.set_index("rank")
    lon, lat = sites.loc[1, ["lon_deg", "lat_deg"]]  # a box that hangs at the best site
    nothing = dict.fromkeys(("direct_sun_h", "water_distance_m", "facing_deg"), np.nan)
    box = {"placement": 1, "box": "A", "kind": "pole", "lon_deg": lon, "lat_deg": lat}
    box |= {"colour": "black", "design": "two chambers", "empty_seasons": 2, "put_up": 0}
    standing = pd.DataFrame([box | nothing])
    (proposal,) = propose_moves(run, standing, standing)
    now, there = proposal.measures["overheat_h"]
    assert proposal.rank != 1
    hours = sites.loc[[1, proposal.rank], "overheat_h"].tolist()
    assert [now, there] == pytest.approx(hours, abs=0.006)  # the table has two decimals
    assert proposal.titles["overheat_h"].startswith("above 40 °C, two chambers, black")
    assert heat_is_told([proposal])
    assert any(f"{now:,.0f} h now" in line for line in in_words(proposal, Quantities()))
