"""The heat of boxes as a table."""

from __future__ import annotations

import os

import pandas as pd

from suitability.outputs.spreadsheet import forget_table, harmless, write_csv_text

HEAT = "heat.csv"
_NOTE = "screening estimate, not a measurement; low, mid and high by what is assumed"


def forget_heat(path: str | os.PathLike[str]) -> None:
    """Take away a table that `write_heat` wrote; nothing else."""
    forget_table(path, ("rank", "facing_deg", "colour", "box"))


def write_heat(path: str | os.PathLike[str], table: pd.DataFrame) -> None:
    """Write a row a box that is compared; its last column says what the numbers are.

    Parameters
    ----------
    path : path
        Where to.
    table : pandas.DataFrame
        Columns end in their unit; hours are whole, temperatures get one decimal.
    """
    rounded = table.round({name: 1 for name in table.columns if name.endswith("_c")})
    hours = {name: int for name in table.columns if name.endswith("_h")}
    named = {name: rounded[name].map(harmless) for name in ("colour", "box")}
    told = rounded.astype(hours).assign(**named, note=_NOTE)
    write_csv_text(path, told.to_csv(index=False, lineterminator="\r\n"))
