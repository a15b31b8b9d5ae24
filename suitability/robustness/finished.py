"""A finished run as what can be asked about its ranking: values, weights, candidates."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from suitability.decide import value_of
from suitability.decide.robustness_tree import Weighing, weighing_of
from suitability.decide.robustness_weights import VALUE_STEP, in_steps
from suitability.decide.sites import AROUND_M, merge_sites
from suitability.errors import ResultError
from suitability.finished import FinishedRun
from suitability.grid import Float64, Grid, Window
from suitability.outputs.rasters import read_cells, read_grid, read_window
from suitability.outputs.record import RECORD, recorded_judgement
from suitability.quantities import Quantities, Units

Index = NDArray[np.int64]
SIDE = 1024  # cells along the windows in which the land is read
_AGAIN = "run `suitability screen` again"


@dataclass(frozen=True)
class Finished:
    """A finished run.

    Parameters
    ----------
    folder : pathlib.Path
        Where it lies.
    title : str
        What land, what for.
    grid : Grid
        Its cells.
    weighing : Weighing
        Its weights, and how they judge.
    rows, cols : numpy.ndarray
        Cells of the listed sites, best first.
    spacing_cells, min_score : float
        By which sites were chosen.
    quantities : Quantities
        How measures are told.
    """

    folder: Path
    title: str
    grid: Grid
    weighing: Weighing
    rows: Index
    cols: Index
    spacing_cells: float
    min_score: float
    quantities: Quantities

    @property
    def windows(self) -> tuple[Window, ...]:
        """Windows that cover the land."""
        return self.grid.tiles(SIDE)

    def candidates(self, window: Window) -> NDArray[np.bool_]:
        """Return which cells of a window have a score, (rows, cols)."""
        return np.asarray(np.isfinite(read_window(self.folder / "candidates.tif", window)))

    def values(self, window: Window, wanted: NDArray[np.bool_]) -> Float64:
        """Return the criteria's values of cells of a window, (m, n).

        Parameters
        ----------
        window : Window
            Where.
        wanted : numpy.ndarray
            (rows, cols) which of its cells.
        """
        return self._valued(int(wanted.sum()), lambda path: read_window(path, window)[wanted])

    def values_at(self, rows: Index, cols: Index) -> Float64:
        """Return the criteria's values of single cells, (m, n)."""
        return self._valued(rows.size, lambda path: read_cells(path, rows, cols))

    def _valued(self, count: int, read: Callable[[Path], NDArray[Any]]) -> Float64:
        curves = {leaf.name: leaf.curve for leaf in self.weighing.judgement.leaves}
        found = np.empty((count, len(self.weighing.layers)))
        for at, layer in enumerate(self.weighing.layers):
            found[:, at] = value_of(read(self.folder / "layers" / f"{layer}.tif"), curves[layer])
        return in_steps(found, VALUE_STEP)

    def more_places(self, count: int) -> tuple[Index, Index]:
        """Return the cells of places that would be listed next, as far apart as sites are.

        Parameters
        ----------
        count : int
            How many, together with the sites.
        """
        rows, cols = merge_sites(
            lambda window: read_window(self.folder / "candidates.tif", window),
            self.windows,
            self.grid.shape,
            count=count,
            spacing_cells=self.spacing_cells,
            around_cells=round(AROUND_M / self.grid.cell_m),
            min_score=self.min_score,
        )
        listed = set(zip(self.rows.tolist(), self.cols.tolist(), strict=True))
        others = [k for k in range(rows.size) if (int(rows[k]), int(cols[k])) not in listed][
            : max(0, count - self.rows.size)
        ]
        return rows[others], cols[others]


def read_finished(folder: str | os.PathLike[str], units: Units | None = None) -> Finished:
    """Return the finished run of a folder.

    Parameters
    ----------
    folder : path
        The run's.
    units : {"metric", "us"}, optional
        To tell measures in; left out, those of the run.

    Raises
    ------
    InputError
        If the folder holds none, or its rasters cannot be read.
    ResultError
        If an older program wrote it, it lists no sites or some on walls, or fewer than two
        criteria count.
    """
    run = FinishedRun.of(folder, units)
    record, folder = run.record, run.folder
    weighing = weighing_of(recorded_judgement(record))
    try:
        chosen = record["settings"]["sites"]
        spacing_m, min_score = float(chosen["spacing"]), float(chosen["min_score"])
        places = [(float(site["x_m"]), float(site["y_m"])) for site in record["sites"]]
        title = str(record["title"])
        on_walls = any(site.get("kind") == "wall" for site in record["sites"])
    except (KeyError, TypeError, ValueError) as exc:
        msg = "the record of the run is not what this program writes; an older one may have"
        raise ResultError(msg, where=folder / RECORD, fix=_AGAIN) from exc
    if not weighing.branches:
        msg = "no weight of this run can move: its score never weighs one criterion with another"
        fix = "give two criteria or more a weight above 0, and not the limiting criterion alone"
        raise ResultError(msg, where=folder / RECORD, fix=fix)
    if on_walls:
        msg = "sites of this run are on walls, and robustness is told of sites on land alone"
        fix = "screen with mount.kind: pole into another folder, and ask there"
        raise ResultError(msg, where=folder / RECORD, fix=fix)
    if not places:
        msg = "the run lists no sites, so there is no ranking to ask about"
        raise ResultError(msg, where=folder / RECORD, fix="see its warnings; lower sites.min_score")
    grid = read_grid(folder / "candidates.tif")
    cells = [grid.cell_of(x, y) for x, y in places]
    if any(cell is None for cell in cells):
        msg = "a listed site lies outside the run's rasters"
        raise ResultError(msg, where=folder, fix=_AGAIN)
    rows, cols = np.array(cells, np.int64).T
    return Finished(
        folder=folder,
        title=title,
        grid=grid,
        quantities=run.quantities,
        weighing=weighing,
        rows=rows,
        cols=cols,
        spacing_cells=spacing_m / grid.cell_m,
        min_score=min_score,
    )
