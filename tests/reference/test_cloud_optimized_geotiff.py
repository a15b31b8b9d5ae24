"""Rasters against OGC 21-026, "OGC Cloud Optimized GeoTIFF Standard" 1.0 (2023).

Twice: by a reading of the file's own directories after TIFF 6.0 (Adobe, 1992), and by the
validator of the library rio-cogeo.
"""

import struct
from itertools import pairwise

import numpy as np
import pyproj
import pytest
import rasterio
from rio_cogeo.cogeo import cog_validate
from whole_rasters import write_exclusions, write_raster

from suitability.grid import Grid

GRID = Grid(pyproj.CRS.from_epsg(32617), 500_000.0, 4_000_000.0, 2.0, 1500, 2100)
WIDTH, HEIGHT, TILE_WIDTH, TILE_HEIGHT, TILE_OFFSETS, SUBFILE = 256, 257, 322, 323, 324, 254
FORMATS = {3: ("H", 2), 4: ("I", 4)}  # SHORT and LONG


def directories(data):
    """Return each image file directory's place and the numbers of its tags."""
    assert data[:4] == b"II*\x00"  # little-endian classic TIFF
    (at,) = struct.unpack_from("<I", data, 4)
    found = []
    while at:
        (count,) = struct.unpack_from("<H", data, at)
        tags = {}
        for entry in range(at + 2, at + 2 + 12 * count, 12):
            tag, kind, number = struct.unpack_from("<HHI", data, entry)
            if kind in FORMATS:
                letter, size = FORMATS[kind]
                inside = number * size <= 4
                place = entry + 8 if inside else struct.unpack_from("<I", data, entry + 8)[0]
                tags[tag] = struct.unpack_from(f"<{number}{letter}", data, place)
        found.append((at, tags))
        (at,) = struct.unpack_from("<I", data, at + 2 + 12 * count)
    return found


@pytest.fixture(params=["values", "bits"])
def path(tmp_path, request):
    path = tmp_path / "a.tif"
    random = np.random.default_rng(1)
    if request.param == "bits":
        bits = random.integers(0, 4, GRID.shape, np.uint16)
        write_exclusions(path, bits, GRID, {0: "water", 1: "slope"}, tiles=GRID.tiles(768))
    else:
        values = random.random(GRID.shape, dtype=np.float32)
        values[:600, :600] = np.nan
        words = {"name": "score", "unit": "1", "description": "Score."}
        write_raster(path, values, GRID, tiles=GRID.tiles(768), **words)
    return path


def test_directories_stand_first_and_small_overviews_before_large(path):
    data = path.read_bytes()
    found = directories(data)
    sizes = [(tags[WIDTH][0], tags[HEIGHT][0]) for _, tags in found]
    assert sizes[0] == (GRID.cols, GRID.rows)
    assert max(sizes[-1]) <= 512  # the smallest is one tile
    for larger, smaller in pairwise(sizes):
        np.testing.assert_allclose(smaller, np.array(larger) / 2, atol=0.5)
    assert [tags.get(SUBFILE, (0,))[0] for _, tags in found] == [0, 1, 1, 1]  # reduced images
    assert all(tags[TILE_WIDTH] == tags[TILE_HEIGHT] == (512,) for _, tags in found)
    places = [[at for at in tags[TILE_OFFSETS] if at] for _, tags in found]  # 0: an empty tile
    assert max(at for at, _ in found) < min(map(min, places))
    for larger, smaller in pairwise(places):
        assert max(smaller) < min(larger)


def test_an_independent_validator_has_nothing_to_say(path):
    assert cog_validate(path, strict=True) == (True, [], [])


def test_place_and_meaning_of_a_cell(path):
    with rasterio.open(path) as source:
        assert source.crs.to_epsg() == 32617
        assert source.transform == GRID.transform
        assert source.tags()["AREA_OR_POINT"] == "Area"  # a value stands for its cell
        assert source.compression.name == "deflate"  # TIFF's own, read everywhere
