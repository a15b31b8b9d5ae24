"""Five invented boxes and what a few visits saw, to be counted by hand."""

import numpy as np
import pandas as pd

PLACEMENTS = pd.DataFrame(
    {
        "placement": [1, 2, 3, 4, 5],
        "put_up": pd.to_datetime(["2022-03-01"] * 4 + ["2023-03-01"]),
        "lat_deg": [40.2] * 5,
        "kind": ["pole", "pole", "wall", "pole", "pole"],
        "facing_deg": [170.0, 135.0, 181.0, np.nan, 359.0],
        "direct_sun_h": [8.0, 4.9, 7.0, 12.0, 10.0],
        "water_distance_m": [100.0, 402.3, 403.0, 900.0, 20.0],
    }
)
VISITS = pd.DataFrame(
    [
        (1, "2022-06-09", "not occupied"),
        (1, "2022-07-09", "occupied"),
        (1, "2022-08-01", "not occupied"),  # after the first use it tells nothing of waiting
        (2, "2022-06-09", "not occupied"),
        (2, "2023-06-09", "not occupied"),
        (2, "2023-07-09", "not checked"),
        (3, "2022-06-09", "not checked"),
        (3, "2022-07-09", "occupied"),
        (4, "2022-07-09", "not checked"),
        (5, "2023-05-20", "occupied"),
    ],
    columns=["placement", "date", "state"],
).assign(date=lambda table: pd.to_datetime(table["date"]))
