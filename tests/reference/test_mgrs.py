"""Military Grid Reference System: the letters by the published tables, and a known mark.

NGA.SIG.0012_2.0.0_UTMUPS (2014), "The Universal Grids and the Transverse Mercator and Polar
Stereographic Map Projections", chapter on MGRS; its rules from memory: columns A-H, J-R, S-Z by
zone in turn; rows A-V from the equator, in even zones from F on; bands C-X of 8 degrees without I
and O; digits are cut off, not rounded. The Norwegian and Svalbard zones are not in these samples.
"""

import numpy as np
import pandas as pd
import pyproj
import pytest

from suitability.grid import Grid
from suitability.outputs.points import add_coordinates

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
BANDS = "CDEFGHJKLMNPQRSTUVWX"


def reference_of(zone, easting, northing, lat):
    """Return the reference by the standard's tables; southern northings from 10,000 km."""
    band = BANDS[min(int((lat + 80) // 8), 19)]
    column = LETTERS[8 * ((zone - 1) % 3) + int(easting // 100_000) - 1]
    row = LETTERS[(int(northing // 100_000) + (5 if zone % 2 == 0 else 0)) % 20]
    return f"{zone:02}{band}{column}{row}{int(easting % 1e5):05}{int(northing % 1e5):05}"


def reference_by_product(code, easting, northing):
    grid = Grid(pyproj.CRS.from_epsg(code), easting - 10, northing + 10, 1.0, 20, 20)
    sites = add_coordinates(pd.DataFrame({"rank": [1], "x_m": [easting], "y_m": [northing]}), grid)
    return sites["mgrs"][0], sites["lat_deg"][0]


def test_a_known_mark():
    # Washington Monument, 18S UJ 23483 06479 (US National Grid's textbook example; from memory)
    found, _ = reference_by_product(32618, 323_483.9, 4_306_479.9)
    assert found == "18SUJ2348306479"


@pytest.mark.parametrize("south", [False, True])
def test_references_by_the_tables(south):
    rng = np.random.default_rng(12)
    for _ in range(60):
        zone = int(rng.integers(1, 61))
        # Within 53 degrees of the equator 200 km from the central meridian are in the zone. A
        # point within half a millimetre of the next metre is counted as there: keep off it.
        easting = rng.integers(300_000, 700_000) + rng.uniform(0.001, 0.999)
        northing = rng.integers(0, 5_800_000) + rng.uniform(0.001, 0.999)
        northing += 4_200_000 * south
        found, lat = reference_by_product((32700 if south else 32600) + zone, easting, northing)
        # Rows count through the equator, where the south's northing is 10,000 km = 100 rows.
        assert found == reference_of(zone, easting, northing, lat)


def test_a_grid_that_is_not_utm_gives_the_same_reference():
    lon, lat = -84.3, 40.2
    albers = pyproj.CRS.from_epsg(5070)
    x, y = pyproj.Transformer.from_crs(4326, albers, always_xy=True).transform(lon, lat)
    found, _ = reference_by_product(5070, x, y)
    utm = pyproj.Transformer.from_crs(4326, 32616, always_xy=True).transform(lon, lat)
    expected = reference_of(16, *utm, lat)
    # NAD 83 and WGS 84 may differ by a metre or so
    assert found[:5] == expected[:5]
    assert abs(int(found[5:10]) - int(expected[5:10])) <= 2
    assert abs(int(found[10:]) - int(expected[10:])) <= 2
