"""The choice of the grid: CRS, cell, extent, and the raster's own lines where they can be kept."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pyproj
import pytest
from affine import Affine
from shapely import box

from suitability.config import RunSettings
from suitability.errors import GridError, InputError
from suitability.grid import Grid
from suitability.inputs.common import choose_grid
from suitability.inputs.raster import read_heights

WEST, NORTH = 500_000.0, 4_500_000.0
Write = Callable[..., Path]


def run(elevation: Any, land_cover: Any, **more: Any) -> RunSettings:
    grid = more.pop("grid", {})
    inputs = {"elevation": {"path": elevation, "unit": "m"}, "land_cover": land_cover,
              "streams": "not_opened.gpkg", **more}  # fmt: skip
    return RunSettings.model_validate({"inputs": inputs, "grid": grid})


def choose(settings: RunSettings) -> tuple[Grid, str]:
    grid, notes = choose_grid(settings, lambda key: f"run.yaml: {key}")
    return grid, "; ".join(notes)


@pytest.fixture
def utm_dem(write_raster: Write) -> Path:
    # Lines that are no multiples of the cell.
    return write_raster(np.ones((100, 80), dtype=np.float32), "dem.tif", west=WEST + 3.3)


def test_the_elevations_own_cells_are_kept(utm_dem: Path, write_raster: Write) -> None:
    cover = write_raster(np.ones((30, 30), dtype=np.uint8), west=WEST + 200, cell=17)
    grid, notes = choose(run(utm_dem, cover))
    assert (grid.cell_m, grid.west) == (10.0, WEST + 3.3 + 190)
    assert grid.shape == (51, 52)  # 510 m south; from 190 (of 196.7) to 710 m (of 706.7)
    assert "elevation raster's own" in notes
    heights, report = read_heights(run(utm_dem, cover).inputs.elevation, grid)
    assert "read as they are" in report.done[0]
    assert not np.isnan(heights).any()


def test_the_boundary_and_its_margin_give_the_extent(utm_dem: Path, write_vector: Write) -> None:
    land = box(WEST + 300, NORTH - 500, WEST + 402, NORTH - 400)
    boundary = write_vector([land], crs="EPSG:32616")
    grid, notes = choose(run(utm_dem, utm_dem, boundary=boundary, grid={"margin": 100}))
    west, south, east, north = grid.bounds
    assert west == pytest.approx(WEST + 193.3)
    assert east == pytest.approx(WEST + 503.3)
    assert (south, north) == (NORTH - 600, NORTH - 300)
    assert "cut" not in notes
    wide, notes = choose(run(utm_dem, utm_dem, boundary=boundary))
    assert wide.shape == (100, 80)
    assert "cut where the elevation raster ends" in notes


def test_a_boundary_in_degrees_gives_the_same_grid(utm_dem: Path, write_vector: Write) -> None:
    land = box(WEST + 301, NORTH - 501, WEST + 399, NORTH - 402)
    boundary = write_vector([land])
    to_degrees = pyproj.Transformer.from_crs(32616, 4326, always_xy=True)
    corners = [to_degrees.transform(x, y) for x, y in land.exterior.coords]
    degrees = write_vector([type(land)(corners)], "degrees.gpkg", crs="EPSG:4326")
    grids = [
        choose(run(utm_dem, utm_dem, boundary=path, grid={"margin": 50}))[0]
        for path in (boundary, degrees)
    ]
    assert grids[0] == grids[1]


def test_a_boundary_partly_beyond_the_elevation_is_told(utm_dem: Path, write_vector: Write) -> None:
    land = box(WEST - 96.7, NORTH - 500, WEST + 103.3, NORTH - 400)
    _, notes = choose(run(utm_dem, utm_dem, boundary=write_vector([land])))
    assert "50% of the boundary lies beyond" in notes


def test_degrees_become_the_utm_zone_with_a_round_cell(write_raster: Write) -> None:
    step = 1 / 10_800  # a third of a second: 10.3 m by 7.8 m at 41° N
    turn = Affine(step, 0, -85.5, 0, -step, 41.0)
    dem = write_raster(np.ones((200, 200), dtype=np.float32), crs="EPSG:4269", transform=turn)
    grid, notes = choose(run(dem, dem))
    assert grid.label == "EPSG:32616"
    assert grid.cell_m == 9.0  # the root of 80.6 m²
    assert "is geographic" in notes
    south = Affine(step, 0, -35.0, 0, -step, -8.0)
    dem = write_raster(np.ones((200, 200), dtype=np.float32), crs="EPSG:4326", transform=south)
    assert choose(run(dem, dem))[0].label == "EPSG:32725"


@pytest.mark.parametrize(
    ("crs", "edge", "cell_m"),
    [
        (2965, 3.0, 1.0),  # US survey feet: 0.91 m
        (2965, 1.0, 0.5),  # 0.30 m: never finer than half a metre
        (3857, 20.0, 15.0),  # Web Mercator, 1.32 times too long at 40.6° N
    ],
)
def test_other_projections_become_utm(
    write_raster: Write, crs: int, edge: float, cell_m: float
) -> None:
    x, y = pyproj.Transformer.from_crs(32616, crs, always_xy=True).transform(WEST, NORTH)
    dem = write_raster(np.ones((50, 50), dtype=np.float32), crs=crs, west=x, north=y, cell=edge)
    grid, notes = choose(run(dem, dem))
    assert (grid.label, grid.cell_m) == ("EPSG:32616", cell_m)
    assert "cannot be the grid's" in notes


def test_stated_crs_and_cell_win(utm_dem: Path) -> None:
    grid, notes = choose(run(utm_dem, utm_dem, grid={"crs": "EPSG:5070", "cell": "30 ft"}))
    assert (grid.label, grid.cell_m) == ("EPSG:5070", 9.144)
    assert notes.count("stated in the run file") == 2
    lines = grid.west / 9.144
    assert lines == pytest.approx(round(lines), abs=1e-6)


@pytest.mark.parametrize(
    ("crs", "words"),
    [("EPSG:999999", "no coordinate reference system"), ("EPSG:4326", "geographic"),
     ("EPSG:2965", "US survey foot"), ("EPSG:3857", "times true")],
)  # fmt: skip
def test_a_stated_crs_that_cannot_be_used_is_refused(utm_dem: Path, crs: str, words: str) -> None:
    with pytest.raises(GridError, match=words) as caught:
        choose(run(utm_dem, utm_dem, grid={"crs": crs}))
    assert caught.value.where == "run.yaml: grid.crs"


def test_a_compound_crs_gives_its_horizontal_part(write_raster: Write) -> None:
    dem = write_raster(np.ones((20, 20), dtype=np.float32), crs="EPSG:32616+5703")
    grid, _ = choose(run(dem, dem))
    assert grid.label == "EPSG:32616"
    assert "read as they are" in read_heights(run(dem, dem).inputs.elevation, grid)[1].done[0]


def test_land_cover_of_the_whole_earth_is_cut_to_the_elevation(
    utm_dem: Path, write_raster: Write
) -> None:
    turn = Affine(1, 0, -180, 0, -1, 90)
    earth = write_raster(np.ones((180, 360), dtype=np.uint8), crs="EPSG:4326", transform=turn)
    assert choose(run(utm_dem, earth))[0].shape == (100, 80)


def test_inputs_that_lie_apart_are_refused_with_both_extents(
    utm_dem: Path, write_raster: Write, write_vector: Write
) -> None:
    cover = write_raster(np.ones((30, 30), dtype=np.uint8), west=WEST + 50_000)
    with pytest.raises(InputError, match="share no land") as caught:
        choose(run(utm_dem, cover))
    assert "covers 86.4086° W" in caught.value.what
    # 803 m east of 87° W at 84.5 km a degree.
    assert "87.0000° W to 86.9905° W" in caught.value.what
    assert caught.value.where == "run.yaml: inputs.land_cover"
    boundary = write_vector([box(0, 50, 1, 51)], crs="EPSG:4326")
    with pytest.raises(InputError, match="share no land") as caught:
        choose(run(utm_dem, utm_dem, boundary=boundary))
    assert "0.0000° E to 1.0000° E, 50.0000° N" in caught.value.what


def test_an_empty_boundary_is_refused(utm_dem: Path, write_vector: Write) -> None:
    boundary = write_vector([box(WEST, NORTH - 9, WEST + 9, NORTH)], name=["a"])
    source = {"path": boundary, "where": "name = 'b'"}
    with pytest.raises(InputError, match="none of 1 features"):
        choose(run(utm_dem, utm_dem, boundary=source))


def test_a_grid_too_large_is_refused_with_a_cell_that_fits(write_raster: Write) -> None:
    dem = write_raster(np.ones((30, 40), dtype=np.float32), cell=1000.0)
    with pytest.raises(InputError, match="1,200 million cells") as caught:
        choose(run(dem, dem, grid={"cell": 1}))
    assert "cell: 2 m" in str(caught.value.fix)
