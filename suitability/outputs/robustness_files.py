"""The files that tell how sure a run's ranking is, in a folder of the run's."""

from __future__ import annotations

import os
from pathlib import Path

from suitability.outputs.atomic import remove

FOLDER = "robustness"
RECORD = "robustness.json"
RASTER = "stable_share.tif"
TABLE = "acceptability.csv"
PICTURES = ("acceptability.png", "swings.png", "correlation.png", "stability.png")
FILES = (RASTER, TABLE, *PICTURES, RECORD)


def forget_robustness(folder: str | os.PathLike[str]) -> None:
    """Take away what an earlier run's ranking was found to be, for it says nothing of a new one.

    Parameters
    ----------
    folder : path
        The run's folder.
    """
    place = Path(folder) / FOLDER
    for name in FILES:
        remove(place / name)
    if place.is_dir() and not any(place.iterdir()):
        place.rmdir()
