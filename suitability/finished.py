"""A finished run as a value: what lies in its folder, for whatever shows or asks about it."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import geopandas
import numpy as np
import pyogrio
from numpy.typing import NDArray

from suitability.decide import Judgement
from suitability.errors import ResultError
from suitability.grid import Float32, Float64, Grid, Window
from suitability.outputs.cautions import SiteCaution, site_cautions
from suitability.outputs.geopackage import FEATURES, read_shapes, read_table
from suitability.outputs.horizon_table import read_horizon
from suitability.outputs.rasters import (
    RELIEF,
    read_cells,
    read_grid,
    read_raster,
    read_small,
    read_tags,
    read_window,
)
from suitability.outputs.record import RECORD, read_record, recorded_judgement
from suitability.outputs.site_signs import SiteFacts
from suitability.quantities import Quantities, Units

_AGAIN = "run `suitability screen` again"


@dataclass(frozen=True)
class FinishedRun:
    """A finished run; everything is read from its folder, when it is asked for.

    Parameters
    ----------
    folder : pathlib.Path
        Where it lies.
    record : dict
        What `run.json` holds.
    units : {"metric", "us"}, optional
        To tell quantities in; left out, as the run file has it.
    """

    folder: Path
    record: dict[str, Any]
    units: Units | None = None

    @classmethod
    def of(cls, folder: str | os.PathLike[str], units: Units | None = None) -> FinishedRun:
        """Open the finished run of a folder.

        Parameters
        ----------
        folder : path
            The run's.
        units : {"metric", "us"}, optional
            To tell quantities in; left out, as the run file has it.

        Raises
        ------
        InputError
            If the folder holds none.
        """
        return cls(Path(folder), read_record(folder), units)

    @property
    def title(self) -> str:
        """What land, what for."""
        return str(self.record["title"])

    @property
    def settings(self) -> dict[str, Any]:
        """The settings as the run file has them, metric."""
        return dict(self.record["settings"])

    @cached_property
    def quantities(self) -> Quantities:
        """How quantities are told to people: as wanted, else as the run file has it."""
        return Quantities(self.units or _units_of(self.record))

    def told(self, text: str) -> str:
        """Return a sentence of the record in the reader's units; the run wrote it in its own."""
        if self.quantities.units == _units_of(self.record):
            return text
        kept: dict[str, str] = self.record.get("in_other_units", {})
        return kept.get(text) or self.quantities.retold(text)

    @property
    def warnings(self) -> tuple[str, ...]:
        """What a reader of the results has to know; as `told`."""
        return tuple(map(self.told, self.record["warnings"]))

    @property
    def dated_name(self) -> str:
        """The folder's name and the day of the run."""
        return f"{self.folder.resolve().name}, {self.record['written_utc'][:10]}"

    @cached_property
    def grid(self) -> Grid:
        """Its cells.

        Raises
        ------
        ResultError
            If its rasters are of another run.
        """
        self._require_own("candidates.tif")
        return read_grid(self.folder / "candidates.tif")

    @cached_property
    def judgement(self) -> Judgement:
        """How it judged."""
        return recorded_judgement(self.record)

    @cached_property
    def reasons(self) -> dict[int, str]:
        """Why land may be out, by bit of `excluded.tif`."""
        tags = read_tags(self.folder / "excluded.tif")
        return {
            int(key.removeprefix("BIT_")): text.partition(": ")[2]
            for key, text in tags.items()
            if key.startswith("BIT_")
        }

    @cached_property
    def sites(self) -> geopandas.GeoDataFrame:
        """The sites with all that `sites.csv` tells of them, best first, in the grid's CRS.

        Raises
        ------
        ResultError
            If they cannot be read.
        """
        path = self.folder / "sites.gpkg"
        try:
            return read_table(path, "sites")
        except pyogrio.errors.DataLayerError as exc:
            msg = f"the sites of the run cannot be read: {exc}"
            raise ResultError(msg, where=path, fix=_AGAIN) from exc

    @cached_property
    def layers(self) -> tuple[str, ...]:
        """Names of its measured layers; each lies in `layers/NAME.tif`."""
        files = (Path(name) for name in self.record["files"])
        return tuple(
            file.stem for file in files if file.parts[0] == "layers" and file.stem != "obstacles"
        )

    def layer_tags(self, name: str) -> dict[str, str]:
        """Return TITLE and DESCRIPTION of a layer, with what else its file says of it."""
        return read_tags(self.layer_file(name))

    def layer_title(self, name: str) -> str:
        """Return what a layer measures, in words."""
        try:
            return self.layer_tags(name)["DESCRIPTION"].partition("; ")[0]
        except KeyError as exc:
            msg = f"the file of {name} does not say what it measures, as every run's does"
            raise ResultError(msg, where=self.layer_file(name), fix=_AGAIN) from exc

    def layer_file(self, name: str) -> Path:
        """Return the file of a layer."""
        return self.folder / "layers" / f"{name}.tif"

    def _require_own(self, *names: str) -> None:
        """Refuse rasters of another grid than the run's: it would be guessed what is where."""
        known = self.record["grid"]
        bounds = np.array(known["bounds_m"])
        for name in names:
            if name not in self._own:
                found = read_grid(self.folder / name)
                is_there = np.allclose(found.bounds, bounds, rtol=0, atol=0.01 * found.cell_m)
                if found.shape != (known["rows"], known["cols"]) or not is_there:
                    msg = f"this raster has {found.rows:,} rows and {found.cols:,} columns at "
                    msg += f"{found.west:.2f}, {found.north:.2f}; the run has {known['rows']:,} "
                    msg += f"and {known['cols']:,} at {bounds[0]:.2f}, {bounds[3]:.2f}"
                    raise ResultError(msg, where=self.folder / name, fix=_AGAIN)
                self._own.add(name)

    @cached_property
    def _own(self) -> set[str]:
        return set()

    def window(self, window: Window) -> tuple[Float32, NDArray[Any]]:
        """Return the score and the reasons' bits of a window, (rows, cols) each."""
        self._require_own("candidates.tif", "excluded.tif")
        score = read_window(self.folder / "candidates.tif", window)
        return score, read_window(self.folder / "excluded.tif", window)

    def small(self, step: int) -> tuple[Float32, NDArray[Any], Grid]:
        """Return score, reasons' bits and grid with squares of `step` cells made one.

        The score is NaN where most of the square is out.
        """
        self._require_own("candidates.tif", "excluded.tif")
        bits = read_small(self.folder / "excluded.tif", step)
        score = read_small(self.folder / "candidates.tif", step)
        return np.where(bits != 0, np.float32(np.nan), score), bits, self.grid.coarser(step)

    def measures(self, layer: str, x_m: Float64, y_m: Float64) -> Float64:
        """Return what a layer measures at places of the grid's CRS, (n,); NaN where it has none."""
        row, col = (np.floor(at + 0.5).astype(np.int64) for at in self.grid.position(x_m, y_m))
        inside = (row >= 0) & (row < self.grid.rows) & (col >= 0) & (col < self.grid.cols)
        found = np.full(row.shape, np.nan)
        found[inside] = read_cells(self.layer_file(layer), row[inside], col[inside])
        return found

    def relief(self) -> tuple[Float32, Grid] | None:
        """Return the land in light from the north-west, 0..1, with its own, coarser grid."""
        path = self.folder / RELIEF
        if not path.exists():
            return None
        light, grid, _ = read_raster(path)
        return light, grid

    def features(self, kind: str) -> geopandas.GeoDataFrame | None:
        """Return shapes that the run knew of, in the grid's CRS; None if it was given none.

        Parameters
        ----------
        kind : str
            `water`, `boundary`, `buildings`, `keep_outs`, `existing_boxes` or `wires`.
        """
        return read_shapes(self.folder / FEATURES, kind)

    def horizon(self, rank: int) -> Float64:
        """Return the horizon of a site, (360,) clockwise from true north. [degrees].

        Raises
        ------
        ResultError
            If the run keeps none of it.
        """
        return read_horizon(self.folder, rank)

    def facts(self, rank: int) -> SiteFacts:
        """Return what is known of a site that cautions go by. [m, degrees].

        Of a run with so many sites that it keeps nothing about this one, its kind and height.

        Raises
        ------
        ResultError
            If the record tells nothing about its sites at all, or holds no such site.
        """
        try:
            kept = {each["rank"]: each["about"] for each in self.record["site_cautions"]}
            site = next(each for each in self.record["sites"] if each["rank"] == rank)
            height_m = self.settings["mount"]["height"]
            return SiteFacts(**kept.get(rank, {"kind": _kind_of(site), "mount_height_m": height_m}))
        except (KeyError, StopIteration, TypeError) as exc:
            msg = f"the record of the run does not say what to heed at site {rank}"
            raise ResultError(msg, where=self.folder / RECORD, fix=_AGAIN) from exc

    def cautions(self, rank: int) -> tuple[SiteCaution, ...]:
        """Return what to heed at a site, what applies there first; in the run's units.

        Of a run with so many sites that it keeps nothing about this one, what holds everywhere.

        Raises
        ------
        ResultError
            As for `facts`.
        """
        return site_cautions(self.facts(rank), self.quantities)

    def advice(self, rank: int) -> dict[str, Any] | None:
        """Return what is advised for a site, with its `timing` and `bats`; in the reader's units.

        Parameters
        ----------
        rank : int
            Of the site.

        Returns
        -------
        dict or None
            None where the run has so many sites that it keeps no reasons of this one.

        Raises
        ------
        ResultError
            If the record holds no advice at all.
        """
        boxes = self.record.get("boxes")
        if boxes is None:
            msg = "the record of the run holds no advice on boxes, as every run's does"
            raise ResultError(msg, where=self.folder / RECORD, fix=_AGAIN)
        found = next((site for site in boxes["sites"] if site["rank"] == rank), None)
        if found is None:
            return None
        told = {key: self._retold(found[key]) for key in ("points", "warnings")}
        return {**found, **told, "timing": boxes["timing"], "bats": boxes["bats"]}

    def _retold(self, value: Any) -> Any:
        """Return texts, in lists and under names, as `told`."""
        if isinstance(value, str):
            return self.told(value)
        if isinstance(value, Mapping):
            return {key: self._retold(each) for key, each in value.items()}
        return [self._retold(each) for each in value] if isinstance(value, list | tuple) else value


def _units_of(record: Mapping[str, Any]) -> Units:
    """Return the units in which a run tells quantities, by its record."""
    return "us" if record["settings"].get("units") == "us" else "metric"


def _kind_of(site: dict[str, Any]) -> str:
    return "wall" if site.get("kind") == "wall" else "pole"
