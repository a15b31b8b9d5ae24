"""A run's folder: everything that was found, in files."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import geopandas as gpd

from suitability.advising import Advised
from suitability.caveats import CoarseLook
from suitability.config.inputs import input_files
from suitability.decide import ExcludedLand, bases_of
from suitability.errors import InputError
from suitability.finished import FinishedRun
from suitability.heating import MOST_LISTED, heat_table
from suitability.heeding import recorded_cautions
from suitability.inputs.gather import Features
from suitability.inputs.report import InputReport
from suitability.mapping import map_of
from suitability.outputs.atomic import remove
from suitability.outputs.budget_table import forget_budget
from suitability.outputs.calendar_file import DAYS
from suitability.outputs.cautions import load_cautions
from suitability.outputs.exclusion_table import write_exclusion_table
from suitability.outputs.figure import draw_figure
from suitability.outputs.geopackage import FEATURES
from suitability.outputs.heat_table import HEAT, forget_heat, write_heat
from suitability.outputs.horizon_table import HORIZONS, write_horizons
from suitability.outputs.land_table import forget_land_table
from suitability.outputs.rasters import RELIEF, read_tags
from suitability.outputs.record import RECORD, judgement_record, versions, write_record
from suitability.outputs.robustness_files import forget_robustness
from suitability.outputs.sheet_files import forget_sheets
from suitability.outputs.site_files import SITE_FILES, write_site_files
from suitability.outputs.site_signs import SiteFacts
from suitability.outputs.sky_chart import forget_skies
from suitability.outputs.sld import STYLES, write_styles
from suitability.plan import Plan
from suitability.showing import keep_features, keep_relief
from suitability.store import KEY_TAG
from suitability.streams import STREAMS, is_derived
from suitability.tasks import OBSTACLES, layer_names
from suitability.web_map import MAP, page_of_run

_RESULTS = ("candidates.tif", "excluded.tif", *SITE_FILES, *STYLES,
            "exclusions.csv", HORIZONS, FEATURES, RELIEF,
            "figure.png", MAP)  # fmt: skip

# What the record tells of each site; `sites.csv` has all.
_SITE_COLUMNS = ("rank", "kind", "group", "role", "score", "x_m", "y_m", "lon_deg", "lat_deg")


@dataclass(frozen=True)
class Found:
    """What a run found; its rasters lie in its folder.

    Parameters
    ----------
    plan : Plan
        How it went about the land.
    features : Features
        Vectors.
    look : CoarseLook
        The whole land, seen coarsely.
    advised : Advised
        The sites, best first, with what to put up at each.
    about : tuple of SiteFacts
        What stands about each site that somebody has to heed.
    reports : tuple of InputReport
        What was read, and what was done to it.
    warnings : tuple of str
        What a reader of the results has to know.
    facts : dict
        Numbers about the run for its record.
    """

    plan: Plan
    features: Features
    look: CoarseLook
    advised: Advised
    about: tuple[SiteFacts, ...]
    reports: tuple[InputReport, ...]
    warnings: tuple[str, ...]
    facts: dict[str, Any]

    @property
    def sites(self) -> gpd.GeoDataFrame:
        """The sites, best first."""
        return self.advised.sites

    @property
    def files(self) -> tuple[str, ...]:
        """The files of the run, seen from its folder; the record is the last."""
        derived = (STREAMS,) if self.facts["derived_streams"] else ()
        heat = (HEAT,) if self.advised.heats else ()
        layers = (f"layers/{name}.tif" for name in (*layer_names(self.plan), OBSTACLES))
        return (*_RESULTS, *heat, *derived, *layers, RECORD)


def deliver(found: Found, folder: str | os.PathLike[str]) -> None:
    """Write sites and figure.

    Parameters
    ----------
    found : Found
        What was found.
    folder : path
        The run's folder, in which the rasters lie already.

    Raises
    ------
    InputError
        If the folder cannot be written into.
    """
    folder = Path(folder)
    settings = found.plan.run.settings
    _write(
        folder / SITE_FILES[0],
        lambda path: write_site_files(
            path.parent,
            found.sites,
            cautions=[str(caution) for caution in load_cautions(settings.mount.kind)],
            title=f"{settings.title}: bat-box sites",
            quantities=settings.quantities,
        ),
    )
    _write(
        folder / "exclusions.csv",
        lambda path: write_exclusion_table(path, found.facts["excluded"], found.plan.grid.cell_m),
    )
    kept = found.advised.horizons_deg
    ranks = found.sites["rank"].tolist()[: len(kept)]
    _write(folder / HORIZONS, lambda path: write_horizons(path, ranks, kept))
    _write_heat(found, folder / HEAT)
    _write(
        folder / FEATURES,
        lambda path: keep_features(path, found.features, found.plan.grid),
    )
    keep_relief(folder / RELIEF, found.plan, found.features)
    finished = FinishedRun(folder, record_of(found))
    content = map_of(finished)
    with ThreadPoolExecutor(1) as meanwhile:  # much of it is packing, which leaves Python to others
        page = meanwhile.submit(_write, folder / MAP, lambda path: page_of_run(finished, path))
        _write(folder / "figure.png", lambda path: draw_figure(path, content))
        page.result()
    _write(
        folder / STYLES[0],
        lambda path: write_styles(path.parent, title=settings.title, lowest=content.lowest),
    )
    _drop_other_layers(found, folder)
    _drop_other_streams(found, folder)


def keep_record(found: Found, folder: str | os.PathLike[str]) -> None:
    """Write the record; it comes last, so that it tells of a whole run and of all its stages.

    Raises
    ------
    InputError
        If the folder cannot be written into.
    """
    _write(Path(folder) / RECORD, lambda path: write_record(path, record_of(found)))


def open_folder(folder: str | os.PathLike[str]) -> tuple[Path, ...]:
    """Make a run's folder; return what had to be made, the folder and those above it.

    Raises
    ------
    InputError
        If the folder is a file, lies in one, or may not be written into.
    """
    folder = Path(folder)
    _require_writable(folder)
    missing = tuple(place for place in (folder, *folder.parents) if not place.exists())
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as exc:
        raise _unwritable(folder, exc) from exc
    return missing


def forget_earlier(folder: str | os.PathLike[str]) -> None:
    """Take away the record of an earlier run, whose results are about to be replaced.

    What was found out from them later goes, too.

    Raises
    ------
    InputError
        If it cannot be taken away.
    """
    record = Path(folder) / RECORD
    try:
        record.unlink(missing_ok=True)
        forget_robustness(folder)
        forget_skies(folder)
        forget_sheets(folder)
        forget_land_table(folder)
        forget_budget(folder)
        (Path(folder) / DAYS).unlink(missing_ok=True)
    except OSError as exc:
        raise _unwritable(record, exc) from exc


def record_of(found: Found) -> dict[str, Any]:
    """Return what a reader needs to repeat a run, to trust it or not, and to explain it."""
    plan, facts = found.plan, found.facts
    excluded: ExcludedLand = facts["excluded"]
    run, grid, settings = plan.run, plan.grid, plan.run.settings
    return {
        "title": settings.title,
        "written_utc": datetime.now(UTC).isoformat(timespec="seconds"),
        "versions": versions(),
        "run_file": run.path.name,
        "settings": _as_asked(found),
        **judgement_record(plan.judgement),
        "bases": [asdict(basis) for basis in bases_of(settings)],
        "grid": {
            "crs": grid.label,
            "cell_m": grid.cell_m,
            "rows": grid.rows,
            "cols": grid.cols,
            "bounds_m": grid.bounds,
            "meridian_convergence_deg": grid.convergence_deg(),
            "notes": facts["grid_notes"],
        },
        "sun": {
            "rule": plan.sun.rule,
            "positions": len(plan.sun),
            "lines_per_cell": settings.sun.lines_per_cell,
            "mount_height_m": settings.mount.height,
        },
        "inputs": [asdict(report) for report in found.reports],
        # None for what is read from the web or out of an archive: it has no sum of its own.
        "input_sha256": facts["input_sha256"],
        "excluded_share": {
            row.reason.key: {
                "bit": row.reason.number,
                "words": row.reason.words,
                "in_all": row.cells / excluded.cells,
                "alone": row.alone / excluded.cells,
            }
            for row in excluded.rows
        },
        "unknown_edge": facts["unknown_edge"],
        "choice": facts["choice"],
        "sites": found.sites[
            [name for name in _SITE_COLUMNS if name in found.sites.columns]
        ].to_dict("records"),
        "walls": _recorded_walls(found),
        "boxes": found.advised.record,
        "heat_layers": facts["heat_layers"],
        "warnings": found.warnings,
        "in_other_units": facts["in_other_units"],
        "cautions": [
            settings.quantities.retold(str(caution))
            for caution in load_cautions(settings.mount.kind)
        ],
        "site_cautions": recorded_cautions(found.about, settings.quantities),
        "seconds": facts["seconds"],
        "tiles": facts["tiles"],
        "files": found.files,
    }


def _write_heat(found: Found, path: Path) -> None:
    """Write how warm boxes would get, or take away what an earlier run with weather wrote."""
    heats = found.advised.heats[:MOST_LISTED]
    if not heats:
        forget_heat(path)
        return
    table = heat_table(found.sites["rank"].tolist()[: len(heats)], heats)
    _write(path, lambda place: write_heat(place, table))


def _recorded_walls(found: Found) -> list[dict[str, Any]]:
    """Return what sites on walls measure: no raster has the sun on their faces."""
    if "kind" not in found.sites:
        return []
    layers = [criterion.layer for criterion in found.plan.criteria]
    return [
        {
            "rank": site["rank"],
            "facing_deg": site["facing_deg"],
            "building": site["building"],
            "material": site["material"],
            "measures": {layer: site[layer] for layer in layers},
        }
        for site in found.sites[found.sites["kind"] == "wall"].to_dict("records")
    ]


def _drop_other_layers(found: Found, folder: Path) -> None:
    """Take away layers that an earlier run measured and this one does not; nothing else."""
    own = {folder / name for name in found.files}
    for path in set((folder / "layers").glob("*.tif")) - own:
        with suppress(InputError):  # whatever it is, no run wrote it
            if KEY_TAG in read_tags(path):
                remove(path)


def _drop_other_streams(found: Found, folder: Path) -> None:
    """Take away streams that an earlier run derived, unless this one reads them as its own."""
    path = folder / STREAMS
    if STREAMS in found.files or str(path.absolute()) in input_files(found.plan.run.settings):
        return
    if is_derived(path):
        remove(path)


def _as_asked(found: Found) -> dict[str, Any]:
    """Return the settings as the run file has them, without streams that it does not name."""
    asked = found.plan.run.settings.model_dump(mode="json")
    if found.facts["derived_streams"]:
        asked["inputs"]["streams"] = None
    return asked


def _require_writable(folder: Path) -> None:
    """Refuse a folder that nothing can be written into, before the work and not after it."""
    try:
        there = next(place for place in (folder, *folder.absolute().parents) if place.exists())
    except OSError as exc:
        raise _unwritable(folder, exc) from exc
    if not there.is_dir():
        raise _unwritable(folder, OSError(errno.ENOTDIR, f"{there.name} is a file"))
    if not os.access(there, os.W_OK | os.X_OK):
        raise _unwritable(folder, OSError(errno.EACCES, os.strerror(errno.EACCES)))


def _write(path: Path, write: Callable[[Path], object]) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write(path)
    except OSError as exc:
        raise _unwritable(path, exc) from exc


def _unwritable(path: Path, exc: OSError) -> InputError:
    msg = f"this cannot be written: {exc.strerror or exc}"
    return InputError(msg, where=path, fix="choose another folder with --out, or make room there")
