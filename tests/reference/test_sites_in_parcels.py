"""Which parcel a site lies in, against the spatial join of geopandas."""

import geopandas as gpd
import numpy as np
import shapely
from shapely import box

from suitability.sheets.books import sites_held


def test_sites_are_held_as_geopandas_joins_them():
    rng = np.random.default_rng(3)
    corners = rng.integers(0, 90, (40, 2))
    sizes = rng.integers(1, 30, (40, 2))
    shapes = [box(x, y, x + w, y + h) for (x, y), (w, h) in zip(corners, sizes, strict=True)]
    names = [f"parcel {number % 23}" for number in range(len(shapes))]
    # On whole numbers, so that some lie on edges and corners.
    points = shapely.points(rng.integers(0, 120, (500, 2)).astype(float))
    sites = gpd.GeoDataFrame({"rank": range(500)}, geometry=points)
    parcels = gpd.GeoDataFrame({"name": names, "order": range(40)}, geometry=shapes)
    joined = gpd.sjoin(sites, parcels, how="inner", predicate="intersects")
    joined = joined.sort_values(["rank", "order"], kind="stable")
    wanted = {rank: list(dict.fromkeys(its["name"])) for rank, its in joined.groupby("rank")}
    found = sites_held(points, np.array(shapes), names)
    assert {rank: its for rank, its in enumerate(found) if its} == wanted
    assert 50 < len(wanted) < 450
    assert max(map(len, found)) > 2
