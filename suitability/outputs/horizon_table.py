"""The horizons of a run's sites as a table, and one of them back from it."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from suitability.errors import ResultError
from suitability.grid import Float32, Float64
from suitability.outputs.atomic import write_text

HORIZONS = "horizons.csv"


def write_horizons(
    path: str | os.PathLike[str], ranks: Sequence[int], horizons_deg: Float32
) -> None:
    """Write a row for each whole degree of azimuth, a column for each site.

    Parameters
    ----------
    path : path
        Where to.
    ranks : sequence of int
        Of the sites.
    horizons_deg : numpy.ndarray
        (n, 360) altitudes of the horizon, clockwise from true north. [degrees]
    """
    head = ",".join(["azimuth_deg", *(f"site_{rank}_deg" for rank in ranks)])
    rows = (
        ",".join([str(azimuth), *(f"{altitude:.1f}" for altitude in horizons_deg[:, azimuth])])
        for azimuth in range(360)
    )
    write_text(path, "\r\n".join([head, *rows]) + "\r\n")


def read_horizon(folder: str | os.PathLike[str], rank: int) -> Float64:
    """Return the horizon of a site of a finished run, (360,) clockwise from true north. [degrees].

    Raises
    ------
    ResultError
        If the run's folder does not hold it.
    """
    path = Path(folder) / HORIZONS
    try:
        head, *rows = path.read_text(encoding="utf-8").splitlines()
        column = head.split(",").index(f"site_{rank}_deg")
        found = np.array([float(row.split(",")[column]) for row in rows])
    except (OSError, ValueError, IndexError) as exc:
        msg = f"the run keeps no horizon of site {rank}"
        raise ResultError(msg, where=path, fix="run `suitability screen` again") from exc
    return found
