"""The permanence of NHD features, against the codes of the USGS data dictionary.

United States Geological Survey, National Hydrography Dataset, data dictionary of feature codes:
46003, 46006 and 46007 are intermittent, perennial and ephemeral streams, 39001 and 39004 ponds,
55800 artificial paths, 33400 connectors, 428xx pipelines (33600, 53700 and 55800 read in a copy,
the others from memory). Data: the Soque river, Georgia, NHDPlus, as it ships with landlab's source.
"""

import numpy as np
import pyproj
import pytest

from suitability.config.sources import Permanence, WaterSource
from suitability.grid import Grid
from suitability.inputs.permanent import lasting_of, load_permanence
from suitability.inputs.vector import read_features

NHD = load_permanence("nhd")


@pytest.mark.parametrize(
    ("code", "lasting"),
    [
        ("46006", "perennial"),
        ("46003", "intermittent"),
        ("46007", "ephemeral"),
        ("39004", "perennial"),
        ("39009", "perennial"),
        ("39001", "intermittent"),
        ("55800", "perennial"),
        ("46000", "unstated"),
        ("33600", "unstated"),
        ("33400", "no_water"),
        ("42800", "no_water"),
        ("42813", "no_water"),
    ],
)
def test_each_code_means_what_the_dictionary_says(code: str, lasting: str) -> None:
    assert NHD.lasting[code] == lasting


@pytest.mark.download
def test_a_river_network_of_the_nhd_is_read_by_its_codes(registry_package) -> None:
    folder = registry_package("landlab", "2.11.0", sdist=True)
    source = WaterSource(
        path=next(folder.rglob("Soque_Links.shp")),
        permanence=Permanence(field="FCode", table="nhd"),
    )
    grid = Grid.covering(
        pyproj.CRS.from_epsg(26917), (248_000.0, 3_830_000.0, 280_000.0, 3_860_000.0), 30.0
    )
    features, _ = read_features(source, grid)
    lasting = lasting_of(features, source.permanence, NHD, "Soque")
    found = dict(zip(*np.unique(lasting.astype(str), return_counts=True), strict=True))
    # 236 + 49 and 32 of the file's 317 lines: 46006 and 55800, 46003.
    assert found == {"perennial": 285, "intermittent": 32}
    # The 122 headwaters it tells the land of begin where less than default 50 ha drain, by half.
    heads = features["HWNodeSqKm"].dropna()
    assert heads.size > 100
    assert heads.median() == pytest.approx(0.20, abs=0.03)
