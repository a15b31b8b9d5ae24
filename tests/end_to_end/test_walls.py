"""Walls as candidates beside poles, on small flat land with a farmstead, and in a real city."""

import json
import re
import shutil

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
import small_land
from city import city_data, write_city
from command import parts, refused, succeeded
from shapely import Point, box
from small_land import COLS, CRS, NORTH, PASTURE, ROWS, WEST, WOOD

from suitability import horizons, walling
from suitability.config import load_run
from suitability.run import screen
from suitability.walling import wall_candidates

TEXT = """\
title: Farmstead
inputs:
  elevation: {path: dem.tif, unit: m}
  land_cover: cover.tif
  streams: streams.gpkg
  buildings: {path: farm.gpkg, id_field: name, material_field: cladding}
season: {start: 05-01, end: 08-31, step: 15 min, every_days: 10}
mount: {kind: both, height: 4 m, walls: {every: 4 m}}
sites: {count: 60, spacing: 12 m}
"""
FARM = {  # shape, from the land's north-western corner, height and cladding
    "barn": (box(40, -160, 64, -148), 9.0, "timber"),
    "house": (box(64, -160, 74, -150), 7.0, "brick"),  # against the barn's eastern wall
    "shed": (box(90, -150, 96, -145), 3.0, "steel"),  # too low
    "mill": (box(300, -280, 312, -270), 12.0, None),
}
TOLD = ("rank", "kind", "score", "facing_deg", "building", "material", "direct_sun_h")


def write_farm(folder, text=TEXT, *, wood=False):
    """Write flat land with a farmstead; return the run file."""
    config = small_land.write_land(folder, text)
    small_land.write_raster(folder / "dem.tif", np.full((ROWS, COLS), 200, np.float32))
    codes = np.full((ROWS, COLS), PASTURE, np.uint8)
    if wood:  # west of the barn, its edge 20 m away
        codes[20:44, :4] = WOOD
    small_land.write_raster(folder / "cover.tif", codes)
    at = [shapely.affinity.translate(one, WEST, NORTH) for one, _, _ in FARM.values()]
    columns = {
        "name": list(FARM),
        "height_m": [height for _, height, _ in FARM.values()],
        "cladding": [cladding for _, _, cladding in FARM.values()],
    }
    gpd.GeoDataFrame(columns, geometry=at, crs=CRS).to_file(folder / "farm.gpkg")
    return config


@pytest.fixture(scope="module")
def farm(tmp_path_factory):
    folder = tmp_path_factory.mktemp("farm")
    config = write_farm(folder)
    told = succeeded("screen", config, "--out", folder / "out")
    return folder, told


@pytest.fixture(scope="module")
def sites(farm):
    return pd.read_csv(farm[0] / "out" / "sites.csv")


def test_walls_and_poles_are_ranked_in_one_list(farm, sites):
    assert set(sites["kind"]) == {"pole", "wall"}
    assert sites["score"].is_monotonic_decreasing
    places = sites[["x_m", "y_m"]].to_numpy()
    apart = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
    assert apart[~np.eye(len(places), dtype=bool)].min() >= 12 - 0.01
    told = {name for name in TOLD if name in sites}
    assert told == set(TOLD)
    geojson = json.loads((farm[0] / "out" / "sites.geojson").read_text())
    package = gpd.read_file(farm[0] / "out" / "sites.gpkg")
    assert package["kind"].tolist() == sites["kind"].tolist()
    assert [one["properties"]["kind"] for one in geojson["features"]] == sites["kind"].tolist()


def test_walls_name_their_building_and_poles_none(sites):
    walls, poles = (sites[sites["kind"] == kind] for kind in ("wall", "pole"))
    assert poles["building"].isna().all()
    assert set(walls["building"]) <= {"barn", "house", "mill"}
    made = walls.set_index("building")["material"]
    assert (made[made.index == "barn"] == "timber").all()
    assert made[made.index == "mill"].isna().all()


def test_faces_have_the_sun_of_the_open_sky_before_them(farm):
    """The season's sun of the run itself, with nothing but the face's own wall in its way."""
    folder, _ = farm
    found = screen(load_run(folder / "run.yaml"), folder / "out")
    walls = wall_candidates(found.plan, found.look)
    mill = walls.building == "mill"  # nothing stands near it
    sun, hours = found.plan.sun, walls.measures["direct_sun_h"]
    assert set(walls.facing_deg[mill].round(1)) == {
        round(turn % 360 + found.plan.grid.convergence_deg(), 1) % 360 for turn in range(0, 360, 90)
    }
    for facing, found_h in zip(walls.facing_deg[mill], hours[mill], strict=True):
        ahead = np.cos(np.radians(sun.azimuth_deg - facing)) > 0
        # The barn hides a degree or so of the lowest sun in the north-west, the land is level.
        assert found_h == pytest.approx(sun.season_hours[ahead].sum(), abs=0.1)
    morning, afternoon = (walls.measures[f"{part}_sun_h"] for part in ("morning", "afternoon"))
    np.testing.assert_allclose(morning + afternoon, hours, atol=1e-9)
    months = [walls.measures[f"{month}_sun_h"] for month in ("may", "jun", "jul", "aug")]
    shares = [sun.share_of_season[month] for month in (5, 6, 7, 8)]
    np.testing.assert_allclose(np.einsum("mn,m->n", months, shares), hours, atol=1e-9)
    np.testing.assert_allclose(walls.measures["darkest_month_sun_h"], np.min(months, axis=0))
    east = np.abs(walls.facing_deg - 90) < 5
    assert (morning[east] > afternoon[east] + 3).all()
    # Shared, and too low: no place there.
    assert "shed" not in walls.building
    out = walls.facts["out"]
    assert out["wall too low"] > 0
    assert out["wall shared with the next building"] == 5  # three of the barn, two of the house


def test_trees_before_a_wall_take_its_sun(tmp_path):
    """A wood of 15 m and more stands 20 m west of the barn."""
    open_land = screen(load_run(write_farm(tmp_path / "open")), tmp_path / "open" / "out")
    wooded = screen(load_run(write_farm(tmp_path / "wood", wood=True)), tmp_path / "wood" / "out")
    with_trees, without = (wall_candidates(one.plan, one.look) for one in (wooded, open_land))

    def west_of_barn(walls):
        looks = np.abs(walls.facing_deg - 270) < 5
        return walls.measures["direct_sun_h"][looks & (walls.building == "barn")]

    assert west_of_barn(with_trees).max() < west_of_barn(without).min() - 0.5
    text = TEXT + "exclusions: {clearance: 30 m}\n"
    near = screen(load_run(write_farm(tmp_path / "near", text, wood=True)), tmp_path / "near/out")
    walls = wall_candidates(near.plan, near.look)
    assert walls.facts["out"]["too close to canopy"] > 0
    assert not ((walls.building == "barn") & (np.abs(walls.facing_deg - 270) < 5)).any()


def test_explain_tells_a_wall_by_its_own_sun(farm, sites):
    folder, told = farm
    wall = sites[sites["kind"] == "wall"].iloc[0]
    text = succeeded("explain", folder / "out", "--site", int(wall["rank"]))
    assert f"on a wall of {wall['building']}" in text
    assert f"facing {wall['facing_deg']:.0f}°" in text
    assert f"score {wall['score']:.3f}" in text
    (hours,) = re.findall(r"direct_sun_h\s+│\s+([\d.]+) h", text)
    assert float(hours) == pytest.approx(wall["direct_sun_h"], abs=0.006)
    pole = sites[sites["kind"] == "pole"].iloc[0]
    assert "on a wall" not in succeeded("explain", folder / "out", "--site", int(pole["rank"]))
    # What each kind of mount wants to be told, and what makes the two differ.
    assert "Ask the owner of a wall" in told
    assert "buried lines" in told
    assert "reaches its face" in " ".join(told.split())
    what, _, fix = parts(refused("robustness", folder / "out"))
    assert "on walls" in what
    assert "pole" in fix


def test_boxes_on_walls_look_as_the_wall_does(farm, sites):
    record = json.loads((farm[0] / "out" / "run.json").read_text())
    for wall in record["walls"]:
        told = sites.set_index("rank").loc[wall["rank"]]
        assert told["facing_deg"] == pytest.approx(wall["facing_deg"], abs=0.01)
        assert told["direct_sun_h"] == pytest.approx(wall["measures"]["direct_sun_h"], abs=0.01)
    assert len(record["walls"]) == (sites["kind"] == "wall").sum()
    assert any("Ask the owner of a wall" in caution for caution in record["cautions"])


def test_doors_boundaries_and_the_most_looked_at(farm, tmp_path):
    folder = tmp_path / "land"
    shutil.copytree(farm[0], folder, ignore=shutil.ignore_patterns("out"))
    door = Point(WEST + 50, NORTH - 160)  # in the barn's southern wall
    gpd.GeoDataFrame(geometry=[door], crs=CRS).to_file(folder / "doors.gpkg")
    small_land.write_parcel(
        folder / "parcel.gpkg", WEST + 20, NORTH - 250, WEST + 400, NORTH - 100
    )  # the mill lies south of it
    text = TEXT.replace("kind: both", "kind: wall").replace(
        "inputs:\n",
        "inputs:\n  boundary: parcel.gpkg\n  keep_clear: {path: doors.gpkg, distance: 5 m}\n",
    )
    found = screen(load_run(small_land.write_config(folder, text)), folder / "out")
    assert (found.sites["kind"] == "wall").all()
    assert set(found.sites["building"]) == {"barn", "house"}
    walls = wall_candidates(found.plan, found.look)
    assert walls.places.points.size == len(walls.score)
    assert shapely.distance(walls.places.points, door).min() > 5
    assert walls.facts["out"]["in a keep-out area"] > 0
    assert walls.facts["out"]["outside the boundary"] > 0
    few = text.replace("every: 4 m", "every: 4 m, most: 3")
    few_found = screen(load_run(small_land.write_config(folder, few)), folder / "few")
    assert any("3 of" in warning and "looked at" in warning for warning in few_found.warnings)
    assert len(few_found.sites) <= 3


def test_no_wall_is_told_with_its_reasons(tmp_path):
    text = TEXT.replace("kind: both, height: 4 m", "kind: wall, height: 14 m")
    config = write_farm(tmp_path, text)
    out = tmp_path / "out"
    told = " ".join(succeeded("screen", config, "--out", out).split())
    assert "no wall is a candidate" in told
    assert "wall too low" in told
    assert (out / "sites.csv").read_text().count("\n") == 1  # the header
    assert (out / "figure.png").is_file()


def test_rules_on_layers_hold_for_the_sun_of_walls(farm, tmp_path):
    folder = tmp_path / "land"
    shutil.copytree(farm[0], folder, ignore=shutil.ignore_patterns("out"))
    text = TEXT + "exclusions: {rules: [{layer: direct_sun_h, below: 7 h, because: too dark}]}\n"
    found = screen(load_run(small_land.write_config(folder, text)), folder / "out")
    assert found.sites["direct_sun_h"].min() >= 7
    walls = wall_candidates(found.plan, found.look)
    assert walls.facts["out"]["too dark"] > 0
    assert len(walls.score) > 0


def test_wide_land_is_looked_at_around_each_wall(farm, monkeypatch):
    folder, _ = farm
    found = screen(load_run(folder / "run.yaml"), folder / "out")
    whole = wall_candidates(found.plan, found.look)
    for module in (horizons, walling):
        monkeypatch.setattr(module, "WHOLE_CELLS", 0)
        monkeypatch.setattr(module, "AROUND_M", 60.0)
    monkeypatch.setattr(horizons, "READ_SIDE", 16)
    parts_of_it = wall_candidates(found.plan, found.look)
    np.testing.assert_array_equal(parts_of_it.places.points, whole.places.points)
    hours = (one.measures["direct_sun_h"] for one in (parts_of_it, whole))
    np.testing.assert_allclose(*hours, atol=0.15)  # the mill is seen coarsely from the barn


@pytest.mark.download
def test_walls_of_a_city(registry_package, tmp_path):
    """Central Gothenburg at 1 m; party walls, courtyards, invalid footprints."""
    data = city_data(registry_package)
    text, _ = write_city(tmp_path, data)
    text += "mount: {kind: wall}\nsites: {count: 20, spacing: 15 m}\n"
    found = screen(load_run(small_land.write_config(tmp_path, text)), tmp_path / "out")
    assert len(found.sites) == 20
    outlines = gpd.read_file(data / "buildings.shp", columns=[]).make_valid().union_all()
    walls = wall_candidates(found.plan, found.look)
    points = walls.places.points
    distance = shapely.distance(points, outlines)
    assert distance.max() < 0.3
    assert distance.min() > 0.1
    assert not shapely.contains(outlines, points).any()
    ahead = np.radians(walls.places.facing_deg)
    further = shapely.points(
        walls.places.x_m + 3 * np.sin(ahead), walls.places.y_m + 3 * np.cos(ahead)
    )
    assert not shapely.intersects(outlines, further).any()
    assert walls.facts["out"]["wall shared with the next building"] > 0
    assert walls.facts["out"]["too close to a wall ahead"] > 0
    hours = walls.measures["direct_sun_h"]
    southern = np.abs(walls.facing_deg - 180) < 45
    northern = np.cos(np.radians(walls.facing_deg)) > np.cos(np.radians(45))
    assert hours[southern].mean() > hours[northern].mean() + 1
    # A face never has more than the sky before it, and in a street it has less.
    sun = found.plan.sun
    sky = np.array(
        [
            sun.season_hours[np.cos(np.radians(sun.azimuth_deg - one)) > 0].sum()
            for one in walls.facing_deg
        ]
    )
    assert (hours <= sky + 1e-9).all()
    assert hours.mean() < 0.8 * sky.mean()
    # Places beyond the data, or whose cells hold no data, are none.
    assert np.isfinite(walls.score).all()
