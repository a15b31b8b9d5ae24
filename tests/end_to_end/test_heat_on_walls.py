"""Weather in a run with walls: a box looks as its wall does, and its back is against it."""

import json
import shutil
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pvlib
import pytest
import shapely
import small_land
from boxes import station

from suitability.box.catalogue import load_catalogue
from suitability.box.heat import heat_model
from suitability.config import load_run
from suitability.run import screen
from suitability.walling import wall_candidates

TURN_DEG = 20.0  # so that no wall looks towards one of the sixteen facings that are modelled
RUN = """\
inputs:
  elevation: {path: dem.tif, unit: m}
  land_cover: cover.tif
  streams: streams.gpkg
  buildings: {path: barn.gpkg}
  weather: station.csv
season: {start: 06-01, end: 08-31, step: 30 min, every_days: 10}
mount: {kind: wall, height: 4 m, walls: {every: 8 m}}
layers:
  overheat_h: {box_heat: {design: two chambers, colour: black, facing: N}}
criteria:
  - {layer: overheat_h, weight: 1, value: {falling: [0 h, 1000 h]}}
box: {most_stress: 2000 h}
sites: {count: 8, spacing: 4 m}
"""


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    folder = tmp_path_factory.mktemp("walls")
    small_land.write_land(folder, RUN)
    flat = np.full((small_land.ROWS, small_land.COLS), 200, np.float32)
    small_land.write_raster(folder / "dem.tif", flat)
    small_land.write_raster(folder / "cover.tif", np.full(flat.shape, 81, np.uint8))
    barn = shapely.box(small_land.WEST + 290, small_land.NORTH - 190,
                       small_land.WEST + 310, small_land.NORTH - 170)  # fmt: skip
    turned = shapely.affinity.rotate(barn, -TURN_DEG)
    gpd.GeoDataFrame({"height_m": [9.0]}, geometry=[turned], crs=small_land.CRS).to_file(
        folder / "barn.gpkg"
    )
    shutil.copy(Path(pvlib.__file__).parent / "data" / "723170TYA.CSV", folder / "station.csv")
    return screen(load_run(folder / "run.yaml"), folder / "out")


@pytest.fixture(scope="module")
def out(found):
    return found.plan.store.folder


def test_boxes_look_as_their_walls_do(found, out):
    sites, heat = pd.read_csv(out / "sites.csv"), pd.read_csv(out / "heat.csv")
    walls = (TURN_DEG + np.arange(4) * 90 + found.plan.grid.convergence_deg()) % 360
    apart = np.abs((sites["facing_deg"].to_numpy()[:, None] - walls + 180) % 360 - 180)
    assert apart.min(axis=1).max() < 0.2
    assert (heat.groupby("rank")["facing_deg"].nunique() == 1).all()
    listed = heat.groupby("rank")["facing_deg"].first().to_numpy()
    np.testing.assert_allclose(listed, sites["facing_deg"], atol=0.1)


def test_the_layer_before_walls_is_the_full_model_of_a_box_on_the_wall(found, out):
    walls = wall_candidates(found.plan, found.look)
    shipped = load_catalogue()
    design = shipped.designs["two chambers"].with_chamber(shipped.species["any"].chamber_m)
    boxes = {
        "designs": [design],
        "colours": [shipped.colours["black"]],
        "season": ("06-01", "08-31"),
    }
    on_wall, free = (heat_model(station(), **boxes, on_wall=each) for each in (True, False))
    turn = found.plan.grid.convergence_deg()
    for facing, seen, hours in zip(
        walls.facing_deg, walls.horizons_deg, walls.measures["overheat_h"], strict=True
    ):
        told = on_wall.at(seen, convergence_deg=turn).at(facing, "black", "two chambers")
        assert hours == told["over_40_h"][1]
        behind = free.at(seen, convergence_deg=turn).at(facing, "black", "two chambers")
        assert behind["over_40_h"][1] != hours  # its back would give off heat
    listed = pd.read_csv(out / "heat.csv").query("colour == 'black' and box == 'two chambers'")
    sites = pd.read_csv(out / "sites.csv")
    np.testing.assert_allclose(listed["over_40_mid_h"], sites["overheat_h"], atol=1)


def test_walls_to_the_north_are_the_coolest(found):
    walls = wall_candidates(found.plan, found.look)
    hours, north = walls.measures["overheat_h"], np.cos(np.radians(walls.facing_deg)) > 0.9
    assert north.any()
    assert hours[north].max() < hours[~north].min()
    best = found.sites.iloc[0]
    assert np.cos(np.radians(best["facing_deg"])) > 0.9  # so the criterion hangs boxes there


def test_the_record_says_what_is_left_out_of_a_wall(out):
    heat = json.loads((out / "run.json").read_text())["boxes"]["heat"]
    assert "the wall's own warmth" in heat["on_walls"]
