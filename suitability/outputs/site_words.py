"""A site in a few lines, for what shows no table: handhelds and phones."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pandas as pd

from suitability.outputs.cautions import short_caution
from suitability.quantities import Quantities

Row = Mapping[str, Any]


def short_names(ranks: list[int]) -> list[str]:
    """Return names of ten characters at most, which is what handhelds show.

    Zeros in front keep a device's list in order: it sorts by letters.

    Parameters
    ----------
    ranks : list of int
        Of the sites, each once.

    Raises
    ------
    ValueError
        If a rank is too long for a name.
    """
    digits = max((len(str(rank)) for rank in ranks), default=1)
    names = [f"Site {rank:0{digits}}" for rank in ranks]
    if any(len(name) > 10 for name in names):
        msg = f"ranks of {digits} digits do not fit into ten characters"
        raise ValueError(msg)
    return names


def in_one_line(row: Row, quantities: Quantities) -> str:
    """Return what to put up: facing, box and height, as far as it is known."""
    facing, height_m = _facing(row), _number(row, "mount_height_m")
    parts = [
        _known(row, "kind"),
        "" if facing is None else f"face {facing}",
        ", ".join(word for word in (_known(row, "box"), _known(row, "colour")) if word),
        "" if height_m is None else f"box {quantities.height(height_m)} up",
    ]
    return "; ".join(part for part in parts if part)


def in_lines(row: Row, quantities: Quantities) -> list[str]:
    """Return what was found, what to put up and what to heed, a line each."""
    limiting = _known(row, "limiting")
    held = "" if limiting in ("", "none") else f", held down most by {limiting}"
    up, water_m = in_one_line(row, quantities), _number(row, "water_distance_exact_m")
    wall = " ".join(word for word in (_known(row, "material"), _known(row, "building")) if word)
    lines = [
        f"Score {row['score']:.3f}{held}",
        up[:1].upper() + up[1:],
        f"Wall: {wall}" if wall else "",
        "" if water_m is None else f"Water in {quantities.length(water_m)}",
        f"Role: {_known(row, 'role')}" if _known(row, "role") else "",
        f"MGRS {row['mgrs']}",
        short_caution(),
    ]
    return [line for line in lines if line]


def _facing(row: Row) -> str | None:
    true, needle = _number(row, "facing_deg"), _number(row, "facing_magnetic_deg")
    if true is None:
        return None
    compass = "" if needle is None else f", {round(needle) % 360}° by compass"
    return f"{round(true) % 360}° true{compass}"


def _known(row: Row, column: str) -> str:
    value = row.get(column)
    return "" if value is None or pd.isna(value) else str(value)


def _number(row: Row, column: str) -> float | None:
    value = row.get(column)
    return None if value is None or pd.isna(value) else float(value)
