"""Land in every kind of CRS: it lands where its longitudes and latitudes say, or is refused."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from pathlib import Path

import geopandas
import numpy as np
import pyproj
import pytest
import shapely
from affine import Affine

from suitability.config import RunSettings
from suitability.errors import SuitabilityError
from suitability.grid import WGS84, Grid
from suitability.inputs.common import choose_grid
from suitability.inputs.raster import read_classes, read_heights
from suitability.inputs.vector import read_features

Write = Callable[..., Path]
SIDE = 90  # cells of the raster
GEOD = pyproj.Geod(ellps="WGS84")

LOCAL = (
    'LOCAL_CS["site plan",LOCAL_DATUM["local",0],UNIT["metre",1],AXIS["E",EAST],AXIS["N",NORTH]]'
)
BOUND = pyproj.CRS.from_epsg(31467)  # Gauss-Krüger, whose datum is seven parameters off WGS 84
BOUND_WKT = pyproj.crs.BoundCRS(
    BOUND,
    WGS84,
    pyproj.crs.coordinate_operation.ToWGS84Transformation(
        BOUND.geodetic_crs, 598.1, 73.7, 418.2, 0.202, 0.045, -2.455, 6.7
    ),
).to_wkt()

FEET_AT_179 = "+proj=tmerc +lon_0=179 +units=us-ft +datum=WGS84"

# Name, the raster's CRS, longitude and latitude of its middle, edge of a cell in the CRS's unit.
ANYWHERE = [
    ("degrees", "EPSG:4326", -86.3, 39.1, 1e-4),
    ("degrees on another datum", "EPSG:4269", -86.3, 39.1, 1e-4),
    ("US survey feet", "EPSG:2965", -86.3, 39.1, 30.0),
    ("international feet", "EPSG:2913", -122.5, 45.5, 30.0),
    ("Albers, 27° to the east of its meridian", "EPSG:5070", -69.0, 45.0, 10.0),
    ("Albers, 27° to the west of its meridian", "EPSG:5070", -123.0, 45.0, 10.0),
    ("Web Mercator", "EPSG:3857", -86.3, 39.1, 13.0),
    ("Lambert, Europe", "EPSG:3035", 24.0, 60.0, 10.0),
    ("polar, upside down to the meridian", "EPSG:3413", 135.0, 71.0, 10.0),
    ("polar, at right angles", "EPSG:3413", 45.0, 72.0, 10.0),
    ("an edge of zones", "EPSG:4326", -84.0, 39.1, 1e-4),
    ("UTM beyond its zone", "EPSG:32616", -83.0, 39.1, 10.0),
    ("the south", "EPSG:32755", 147.0, -42.0, 10.0),
    ("degrees in the south", "EPSG:4283", 147.0, -42.0, 1e-4),
    ("the antimeridian in UTM", "EPSG:32701", 180.0, -16.8, 10.0),
    ("the antimeridian in a polar map", "EPSG:3413", 180.0, 71.0, 10.0),
    ("feet by the antimeridian", FEET_AT_179, 180.0, 51.9, 30.0),
    ("the antimeridian in a Mercator map", "EPSG:3832", 180.0, -16.8, 10.0),
    ("a CRS bound to WGS 84", BOUND_WKT, 9.1, 51.0, 10.0),
    ("a compound CRS in feet", "EPSG:2965+6360", -86.3, 39.1, 30.0),
]  # fmt: skip


def hill_m(lon: np.ndarray, lat: np.ndarray, at: tuple[float, float]) -> np.ndarray:
    """Return a hill of 80 m, its flanks 200 m wide, on a slope that falls to the south-east."""
    lon0 = np.full_like(lon, at[0])
    azimuth, _, distance = GEOD.inv(lon0, np.full_like(lat, at[1]), lon, lat)
    east, north = distance * np.sin(np.radians(azimuth)), distance * np.cos(np.radians(azimuth))
    return 200 + 80 * np.exp(-((distance / 200) ** 2)) - 0.02 * east + 0.03 * north


@pytest.mark.parametrize(("crs", "lon", "lat", "edge"), [case[1:] for case in ANYWHERE],
                         ids=[case[0] for case in ANYWHERE])  # fmt: skip
def test_land_lies_where_its_degrees_say(
    write_raster: Write, write_vector: Write, crs: str, lon: float, lat: float, edge: float
) -> None:
    own = pyproj.CRS.from_user_input(crs)
    flat = own.sub_crs_list[0] if own.is_compound else own
    there = pyproj.Transformer.from_crs(WGS84, flat, always_xy=True)
    x0, y0 = there.transform(lon, lat)
    half = SIDE / 2 * edge
    row, col = np.indices((SIDE, SIDE)) + 0.5
    x, y = x0 - half + col * edge, y0 + half - row * edge
    back = pyproj.Transformer.from_crs(flat, WGS84, always_xy=True)
    heights = hill_m(*back.transform(x, y), (lon, lat)).astype(np.float32)
    corner = Affine(edge, 0, x0 - half, 0, -edge, y0 + half)
    dem = write_raster(heights, "dem.tif", crs=own.to_wkt(), transform=corner)
    cover = write_raster(
        np.where(heights > 240, 41, 71).astype(np.uint8), "cover.tif", crs=own.to_wkt(),
        transform=corner,
    )  # fmt: skip
    brook = [(x0 - half / 2, y0 - half / 2), (x0, y0), (x0 + half / 3, y0 + half / 2)]
    # GDAL has no words for a bound CRS in a GeoPackage.
    known_as = flat.source_crs if flat.is_bound else flat
    streams = write_vector([shapely.LineString(brook)], "streams.gpkg", crs=known_as)
    settings = run(dem, cover, streams)
    grid, notes = choose_grid(settings, str)

    # The cells are true: neighbours lie one edge apart on the ellipsoid, rows to the south.
    assert_true_cells(grid)
    assert abs(grid.lonlat(*grid.centre)[0] - lon) % 360 < 0.01 or lon == 180
    if "UTM" in grid.crs.name:
        assert abs(grid.convergence_deg()) < 5, notes
    assert 0.4 < grid.cell_m**2 / area_of_cell_m2(x0, y0, edge, back) < 2.1, notes
    found, _ = read_heights(settings.inputs.elevation, grid)
    known = np.isfinite(found)
    assert known.mean() > 0.45
    lons, lats = cell_degrees(grid)
    expected = hill_m(lons, lats, (lon, lat))
    # Bilinear between cells of up to 13 m on a hill that curves by 2 · 80 m / (200 m)².
    np.testing.assert_allclose(found[known], expected[known], atol=0.35)
    peak = np.unravel_index(np.nanargmax(found), found.shape)
    assert GEOD.inv(lons[peak], lats[peak], lon, lat)[2] < 2 * grid.cell_m + 5
    codes, _ = read_classes(settings.inputs.land_cover, grid)
    far_from_edge = known & (np.abs(expected - 240) > 3)
    np.testing.assert_array_equal(
        codes[far_from_edge], np.where(expected > 240, 41, 71)[far_from_edge]
    )
    lines, _ = read_features(settings.inputs.streams[0], grid, buffer_m=0)
    vertices = shapely.get_coordinates(lines.geometry.to_numpy())
    wanted = np.array([back.transform(*point) for point in brook])
    seen = np.column_stack(grid.lonlat(vertices[:, 0], vertices[:, 1]))
    apart = GEOD.inv(wanted[:, 0], wanted[:, 1], seen[:, 0], seen[:, 1])[2]
    np.testing.assert_array_less(apart, 0.05)


def run(dem: Path, cover: Path, streams: Path) -> RunSettings:
    inputs = {"elevation": {"path": str(dem), "unit": "m"}, "land_cover": str(cover),
              "streams": str(streams)}  # fmt: skip
    season = {"start": "05-01", "end": "06-30"}
    return RunSettings.model_validate({"title": "x", "inputs": inputs, "season": season})


def cell_degrees(grid: Grid) -> tuple[np.ndarray, np.ndarray]:
    return grid.lonlat(*grid.xy(*np.indices(grid.shape)))


def assert_true_cells(grid: Grid) -> None:
    lons, lats = cell_degrees(grid)
    middle = grid.rows // 2, grid.cols // 2
    below, right = (middle[0] + 1, middle[1]), (middle[0], middle[1] + 1)
    for other in (below, right):
        azimuth, _, apart = GEOD.inv(lons[middle], lats[middle], lons[other], lats[other])
        assert apart == pytest.approx(grid.cell_m, rel=0.031)
        # Grid south is 180° and grid east 90°, both turned by the meridian convergence.
        expected = (180 if other == below else 90) + grid.convergence_deg()
        off = (azimuth - expected + 180) % 360 - 180
        assert abs(off) < 0.6  # an equal-area map turns its two axes apart


def area_of_cell_m2(x0: float, y0: float, edge: float, back: pyproj.Transformer) -> float:
    corners = itertools.pairwise([(0, 0), (1, 0), (1, 1), (0, 1), (0, 0)])
    ring = [back.transform(x0 + a[0] * edge, y0 + a[1] * edge) for a, _ in corners]
    return abs(GEOD.polygon_area_perimeter(*zip(*ring, strict=True))[0])


@pytest.mark.parametrize(
    ("crs", "said"),
    [
        (LOCAL, "site plan"),
        ("EPSG:4978", "WGS 84"),  # geocentric: metres from the Earth's middle
        ("EPSG:5703", "no places on the Earth"),  # a height alone
    ],
)
def test_what_is_no_map_of_the_earth_is_refused_by_its_name(
    write_raster: Write, write_vector: Write, crs: str, said: str
) -> None:
    values = np.ones((20, 20), np.float32)
    dem = write_raster(values, "dem.tif", crs=crs)
    streams = write_vector([shapely.LineString([(0, 0), (9, 9)])], "streams.gpkg", crs=crs)
    good = write_raster(values, "good.tif")
    with pytest.raises(SuitabilityError, match=said) as caught:
        choose_grid(run(dem, dem, streams), str)
    assert "dem.tif" in str(caught.value.where)
    settings = run(good, good, streams)
    with pytest.raises(SuitabilityError, match=said) as caught:
        read_features(settings.inputs.streams[0], choose_grid(settings, str)[0])
    assert "streams.gpkg" in str(caught.value.where)


def test_a_wrong_crs_that_puts_land_off_the_earth_is_refused(write_raster: Write) -> None:
    """Metres under a CRS of degrees, the commonest wrong assignment."""
    dem = write_raster(np.ones((20, 20), np.float32), "dem.tif", crs="EPSG:4326")
    with pytest.raises(SuitabilityError, match="CRS") as caught:
        choose_grid(run(dem, dem, dem), str)
    assert caught.value.fix


def test_streams_under_a_crs_of_degrees_that_are_metres_are_told(
    write_raster: Write, write_vector: Write
) -> None:
    dem = write_raster(np.ones((20, 20), np.float32), "dem.tif")
    line = shapely.LineString([(500_010, 4_499_990), (500_100, 4_499_900)])
    streams = write_vector([line], "streams.gpkg", crs="EPSG:4326")
    settings = run(dem, dem, streams)
    found, report = read_features(settings.inputs.streams[0], choose_grid(settings, str)[0])
    assert found.empty
    assert "reach this land" in report.warnings[0]


def test_features_on_both_sides_of_the_antimeridian_reach_land_on_it(
    write_raster: Write, write_vector: Write
) -> None:
    """In degrees such a file says 179.99 here and -179.99 there."""
    x0, y0 = pyproj.Transformer.from_crs(4326, 32701, always_xy=True).transform(180, -16.8)
    corner = Affine(10, 0, x0 - 500, 0, -10, y0)
    dem = write_raster(
        np.ones((SIDE, 100), np.float32), "dem.tif", crs="EPSG:32701", transform=corner
    )
    west = shapely.LineString([(179.996, -16.803), (179.999, -16.804)])
    east = shapely.LineString([(-179.996, -16.803), (-179.999, -16.804)])
    streams = write_vector([west, east], "streams.gpkg", crs="EPSG:4326")
    settings = run(dem, dem, streams)
    grid, _ = choose_grid(settings, str)
    found, _ = read_features(settings.inputs.streams[0], grid)
    assert len(found) == 2
    assert isinstance(found, geopandas.GeoDataFrame)
    both = found.geometry.iloc[0].distance(found.geometry.iloc[1])
    # From 179.999° E to 179.999° W: 0.002° of longitude at 16.8° S.
    assert both == pytest.approx(GEOD.inv(179.999, -16.804, -179.999, -16.804)[2], rel=0.002)


@pytest.mark.parametrize("west", [179.995, 273.7], ids=["across 180", "counted to 360"])
def test_degrees_beyond_180_are_refused_with_the_way_out(write_raster: Write, west: float) -> None:
    turn = Affine(1e-4, 0, west, 0, -1e-4, -16.8)
    values = np.ones((SIDE, 100), np.float32)
    dem = write_raster(values, "dem.tif", crs="EPSG:4326", transform=turn)
    with pytest.raises(SuitabilityError, match="beyond 180") as caught:
        choose_grid(run(dem, dem, dem), str)
    assert "gdalwarp -t_srs" in str(caught.value.fix)
