"""The chosen sites with everything that is known of them."""

from __future__ import annotations

from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from suitability.decide import explain_place, limiting
from suitability.decide.sites import AROUND_M, merge_sites
from suitability.grid import Float64
from suitability.layers import exact_water_distance_m
from suitability.outputs.points import add_coordinates
from suitability.outputs.rasters import read_cells, read_window
from suitability.plan import Plan
from suitability.tasks import layer_names

SITE_WINDOW = 1024  # cells along the windows in which sites are looked for


def site_table(plan: Plan) -> gpd.GeoDataFrame:
    """Return the sites, best first, with every measure, value and contribution."""
    wanted, grid = plan.run.settings.sites, plan.grid
    scores = plan.store.folder / "candidates.tif"
    rows, cols = merge_sites(
        lambda window: read_window(scores, window),
        grid.tiles(SITE_WINDOW),
        grid.shape,
        count=wanted.count,
        spacing_cells=wanted.spacing / grid.cell_m,
        around_cells=round(AROUND_M / grid.cell_m),
        min_score=wanted.min_score,
    )
    x, y = grid.xy(rows, cols)
    raw = {name: read_cells(plan.store.layer(name), rows, cols) for name in layer_names(plan)}
    places = [
        explain_place(plan.criteria, {c.layer: raw[c.layer][k] for c in plan.criteria})
        for k in range(rows.size)
    ]
    limits = [limiting(parts) for parts in places]
    table: dict[str, Any] = {
        "rank": np.arange(1, rows.size + 1),
        "score": read_cells(scores, rows, cols),
        "x_m": x,
        "y_m": y,
        "limiting": ["none" if part is None else part.layer for part in limits],
    }
    table |= {name: raw[name] for name in plan.layers}
    for number, criterion in enumerate(plan.criteria):
        stem = criterion.layer.rpartition("_")[0]
        table[f"{stem}_value"] = [parts[number].value for parts in places]
        table[f"{stem}_contribution"] = [parts[number].contribution for parts in places]
    table |= {name: values for name, values in raw.items() if name not in plan.layers}
    table["water_distance_exact_m"] = _exact_water_distance(plan, raw["water_distance_m"], x, y)
    return add_coordinates(pd.DataFrame(table), grid)


def _exact_water_distance(
    plan: Plan, measured: Float64, x: Float64, y: Float64
) -> NDArray[np.float64]:
    """Return the distance to lines and polygons of water, or to land cover where that is nearer."""
    exact = exact_water_distance_m(x, y, plan.features().water)
    # Cells of a line or polygon are off by half a diagonal at most: nearer is another water.
    nearer = measured < exact - plan.grid.cell_m / np.sqrt(2)
    within_reach = measured < plan.reach_m["water_distance_m"]
    return np.where(nearer & within_reach, measured, exact)
