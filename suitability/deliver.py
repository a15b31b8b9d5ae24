"""A run's folder: everything that was found, in files."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor, as_completed
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from suitability.config import LoadedRun
from suitability.decide import REASONS, shares
from suitability.errors import InputError
from suitability.layers.registry import LAYERS
from suitability.outputs.cautions import load_cautions, short_caution
from suitability.outputs.figure import FigureContent, draw_figure
from suitability.outputs.points import write_sites
from suitability.outputs.rasters import write_exclusions, write_raster
from suitability.outputs.record import file_hash, versions, write_record
from suitability.run import MONTHS, Progress, Screened, Stopwatch
from suitability.sun import hillshade

RECORD = "run.json"
THREADS = 2  # rasters written at once
_OWN = re.compile(r"layers/\w+\.tif|sites\.(gpkg|geojson|csv)|figure\.png")

# The light of the figure's base: from the north-west, as map readers expect.
_LIGHT_DEG = (315.0, 45.0)


def deliver(
    run: LoadedRun,
    found: Screened,
    folder: str | os.PathLike[str],
    *,
    progress: Progress | None = None,
) -> tuple[Path, ...]:
    """Write everything that a run found; its record comes last, so that it tells of a whole run.

    Parameters
    ----------
    run : LoadedRun
        The run file.
    found : Screened
        What was found.
    folder : path
        Where to; made if need be. What an earlier run left there is replaced.
    progress : callable, optional
        As for `screen`.

    Returns
    -------
    tuple of pathlib.Path
        The files, the record last.

    Raises
    ------
    InputError
        If the folder cannot be made or written into.
    """
    folder = Path(folder)
    watch = Stopwatch(progress, found.facts["seconds"])
    earlier = _open_folder(folder)
    products = _products(run, found)
    with watch.stage("writing results") as tell, ThreadPoolExecutor(THREADS) as pool:
        rasters = {name: write for name, write in products.items() if name.endswith(".tif")}
        written = [pool.submit(_write, folder / name, write) for name, write in rasters.items()]
        for done, one in enumerate(as_completed(written), start=1):
            one.result()
            tell(done / len(products))
        for name in products.keys() - rasters.keys():
            _write(folder / name, products[name])
    names = [name for product in products for name in _files_of(product)]
    for name in earlier - set(names):
        (folder / name).unlink(missing_ok=True)
    _write(folder / RECORD, lambda path: write_record(path, record_of(run, found, names)))
    return tuple(folder / name for name in (*names, RECORD))


def record_of(run: LoadedRun, found: Screened, files: list[str]) -> dict[str, Any]:
    """Return what a reader needs to repeat a run, to trust it or not, and to explain it."""
    grid, settings = found.grid, found.settings
    weights = shares(found.criteria)
    return {
        "title": settings.title,
        "written_utc": datetime.now(UTC).isoformat(timespec="seconds"),
        "versions": versions(),
        "run_file": run.path.name,
        "settings": settings.model_dump(mode="json"),
        "criteria": [
            {**c.model_dump(mode="json"), "share": share, "knots": c.knots}
            for c, share in zip(found.criteria, weights, strict=True)
        ],
        "grid": {
            "crs": grid.label,
            "cell_m": grid.cell_m,
            "rows": grid.rows,
            "cols": grid.cols,
            "bounds_m": grid.bounds,
            "meridian_convergence_deg": grid.convergence_deg(),
            "notes": found.facts["grid_notes"],
        },
        "sun": {
            "rule": found.sun.rule,
            "positions": len(found.sun),
            "lines_per_cell": settings.sun.lines_per_cell,
            "mount_height_m": settings.mount.height,
        },
        "inputs": [asdict(report) for report in found.gathered.report],
        "input_sha256": {Path(path).name: file_hash(path) for path in _input_files(run)},
        "excluded_share": {
            key: {"in_all": in_all, "alone": alone}
            for key, (in_all, alone) in found.facts["excluded"].items()
        },
        "unknown_edge": found.facts["unknown_edge"],
        "sites": found.sites[["rank", "score", "x_m", "y_m", "lon_deg", "lat_deg"]].to_dict(
            "records"
        ),
        "warnings": found.warnings,
        "cautions": [str(caution) for caution in load_cautions(settings.mount.kind)],
        "seconds": found.facts["seconds"],
        "files": files,
    }


def read_record(folder: str | os.PathLike[str]) -> dict[str, Any]:
    """Return the record of a finished run.

    Raises
    ------
    InputError
        If the folder holds none, or it cannot be read.
    """
    path = Path(folder) / RECORD
    try:
        record = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError as exc:
        msg = "this folder holds no finished run"
        fix = "name the folder that `suitability screen` wrote, or run it again"
        raise InputError(msg, where=folder, fix=fix) from exc
    except (OSError, ValueError) as exc:
        msg = f"the record of the run cannot be read: {exc}"
        raise InputError(msg, where=path, fix="run `suitability screen` again") from exc
    if not isinstance(record, dict):
        msg = "the record of the run is not what a run writes"
        raise InputError(msg, where=path, fix="run `suitability screen` again")
    return record


def _products(run: LoadedRun, found: Screened) -> dict[str, Callable[[Path], object]]:
    """Return how to write each product, by its file."""
    grid = found.grid

    def raster(values: Any, name: str, unit: str, words: str) -> Callable[[Path], object]:
        return lambda path: write_raster(
            path, values, grid, name=name, unit=unit, description=words
        )

    products: dict[str, Callable[[Path], object]] = {
        "candidates.tif": raster(
            found.score, "score", "1", "weighted mean of the criteria's values, 0 to 1"
        ),
        "excluded.tif": lambda path: write_exclusions(
            path, found.bits, grid, {reason.number: reason.words for reason in REASONS}
        ),
    }
    for name, layer in found.layers.items():
        products[f"layers/{name}.tif"] = raster(layer.values, name, layer.unit, LAYERS[name].title)
    for month, hours in found.season.months.items():
        name = f"{MONTHS[month - 1]}_sun_h"
        products[f"layers/{name}.tif"] = raster(hours, name, "h", "direct sun a day in the month")
    products["sites.gpkg"] = lambda path: write_sites(
        path.parent,
        found.sites,
        cautions=[str(caution) for caution in load_cautions(found.settings.mount.kind)],
        title=f"{found.settings.title}: bat-box sites",
    )
    products["figure.png"] = lambda path: draw_figure(path, _figure(run, found))
    return products


def _files_of(product: str) -> tuple[str, ...]:
    """Return the files that a product consists of."""
    if product == "sites.gpkg":
        return ("sites.gpkg", "sites.geojson", "sites.csv")
    return (product,)


def _figure(run: LoadedRun, found: Screened) -> FigureContent:
    settings, gathered = found.settings, found.gathered
    weights = ", ".join(
        f"{LAYERS[c.layer].title} {share:.0%}"
        for c, share in zip(found.criteria, shares(found.criteria), strict=True)
    )
    sources = ", ".join(sorted({Path(path).name for path in _input_files(run)}))
    return FigureContent(
        title=settings.title,
        grid=found.grid,
        score=found.score,
        excluded=found.bits != 0,
        sites=found.sites,
        caution=short_caution(),
        sources=f"Data: {sources}",
        date=datetime.now(UTC).date().isoformat(),
        subtitle=(
            f"Season {settings.season.start} to {settings.season.end}; "
            f"{settings.mount.kind}-mounted, {settings.mount.height:.1f} m above the ground",
            f"Weights: {weights}",
        ),
        warnings=found.warnings,
        hillshade=hillshade(found.land.surface, found.grid.cell_m, *_LIGHT_DEG),
        streams=gathered.water_features,
        boundary=gathered.boundary_features,
        buildings=gathered.buildings,
    )


def _input_files(run: LoadedRun) -> Iterator[str]:
    """Yield the path of every input that the run file names, once."""
    seen: set[str] = set()
    for _, source in run.settings.inputs:
        for one in source if isinstance(source, tuple) else (source,):
            if one is not None and str(one.path) not in seen:
                seen.add(str(one.path))
                yield str(one.path)


def _open_folder(folder: Path) -> set[str]:
    """Make the folder, take away the record of an earlier run, and return what that one wrote."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if not (folder / RECORD).exists():
            return set()
        try:
            files = read_record(folder).get("files", [])
        except InputError:
            files = []
        (folder / RECORD).unlink()
    except OSError as exc:
        raise _unwritable(folder, exc) from exc
    # Anyone may have changed that file: only what a run would write is ever taken away.
    return {name for name in files if isinstance(name, str) and _OWN.fullmatch(name)}


def _write(path: Path, write: Callable[[Path], object]) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write(path)
    except OSError as exc:
        raise _unwritable(path, exc) from exc


def _unwritable(path: Path, exc: OSError) -> InputError:
    msg = f"this cannot be written: {exc.strerror or exc}"
    return InputError(msg, where=path, fix="choose another folder with --out, or make room there")
