"""What is told about an input: what it is, what was done to it, what was assumed."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class InputReport:
    """One input, in words that `check` prints and the run's record keeps.

    Parameters
    ----------
    role : str
        What the input is for, such as `elevation`.
    path : str
        Where it was read.
    facts : tuple of str
        What it is: size, cell, CRS, unit, nodata; or features and fields.
    done : tuple of str
        What was done to bring it onto the grid.
    assumed : tuple of str
        What neither the file nor the run file states.
    warnings : tuple of str
        What changes how the result may be read.
    outside_share : float
        Share of the grid's cells (rasters) or of the features (vectors) without data here. [0..1]
    """

    role: str
    path: str
    facts: tuple[str, ...] = ()
    done: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    outside_share: float = 0.0
