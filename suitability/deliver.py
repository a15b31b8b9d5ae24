"""A run's folder: everything that was found, in files."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor, as_completed
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from suitability.config import LoadedRun
from suitability.config.paths import SHIPPED_LEGENDS, is_local
from suitability.decide import REASONS, shares
from suitability.errors import InputError
from suitability.layers.registry import LAYERS
from suitability.outputs.atomic import remove
from suitability.outputs.cautions import load_cautions, short_caution
from suitability.outputs.figure import FigureContent, draw_figure
from suitability.outputs.points import write_sites
from suitability.outputs.rasters import write_exclusions, write_raster
from suitability.outputs.record import RECORD, file_hash, versions, write_record
from suitability.run import MONTHS, Progress, Screened, Stopwatch
from suitability.sun import hillshade

THREADS = 2  # rasters written at once

# What some runs write and others do not; of a folder's files, only such are ever taken away.
_LAYER_FILES = {f"layers/{name}.tif" for name in (*LAYERS, *(f"{month}_sun_h" for month in MONTHS))}

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
    products = _products(run, found)
    _open_folder(folder, _LAYER_FILES - products.keys())
    with watch.stage("writing results") as tell, ThreadPoolExecutor(THREADS) as pool:
        rasters = {name: write for name, write in products.items() if name.endswith(".tif")}
        written = [pool.submit(_write, folder / name, write) for name, write in rasters.items()]
        for done, one in enumerate(as_completed(written), start=1):
            one.result()
            tell(done / len(products))
        for name in products.keys() - rasters.keys():
            _write(folder / name, products[name])
    names = [name for product in products for name in _files_of(product)]
    _write(folder / RECORD, lambda path: write_record(path, record_of(run, found, names)))
    return tuple(folder / name for name in (*names, RECORD))


def require_writable(folder: str | os.PathLike[str]) -> None:
    """Refuse a folder that nothing can be written into, before the work and not after it.

    Raises
    ------
    InputError
        If the folder is a file, lies in one, or may not be written into; nothing is made.
    """
    folder = Path(folder)
    try:
        there = next(place for place in (folder, *folder.absolute().parents) if place.exists())
    except OSError as exc:
        raise _unwritable(folder, exc) from exc
    if not there.is_dir():
        raise _unwritable(folder, OSError(errno.ENOTDIR, f"{there.name} is a file"))
    if not os.access(there, os.W_OK | os.X_OK):
        raise _unwritable(folder, OSError(errno.EACCES, os.strerror(errno.EACCES)))


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
        # None for what is read from the web or out of an archive: it has no sum of its own.
        "input_sha256": {
            path: file_hash(path) if is_local(path) else None for path in _input_files(run)
        },
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
    """Yield the path of every input that the run file names, once; a legend of one's own too."""
    paths: list[str] = []
    for _, source in run.settings.inputs:
        paths += [one.path for one in (source if isinstance(source, tuple) else (source,)) if one]
    legend = run.settings.inputs.land_cover.legend
    yield from dict.fromkeys(paths if legend in SHIPPED_LEGENDS else (*paths, legend))


def _open_folder(folder: Path, stale: set[str]) -> None:
    """Make the folder; take away the record of an earlier run and what would not be replaced."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / RECORD).unlink(missing_ok=True)
        for name in stale:
            remove(folder / name)
    except OSError as exc:
        raise _unwritable(folder, exc) from exc


def _write(path: Path, write: Callable[[Path], object]) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write(path)
    except OSError as exc:
        raise _unwritable(path, exc) from exc


def _unwritable(path: Path, exc: OSError) -> InputError:
    msg = f"this cannot be written: {exc.strerror or exc}"
    return InputError(msg, where=path, fix="choose another folder with --out, or make room there")
