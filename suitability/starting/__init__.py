"""A first run file from a look at the inputs: it says what was found, and what is guessed."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from suitability.climate import climate_of
from suitability.config import LoadedRun, RunSettings
from suitability.config.load import parse_run
from suitability.config.paths import SHIPPED_LEGENDS, is_local
from suitability.errors import InputError
from suitability.inputs.common import choose_grid
from suitability.inputs.guesses import (
    Layer,
    codes_met,
    fitting_legend,
    height_field,
    look_at_layer,
    permanence_field,
    unit_of_heights,
    unknown_codes,
)
from suitability.inputs.legend import load_legend
from suitability.inputs.opening import describe_raster
from suitability.inputs.preflight import preflight
from suitability.inputs.report import InputReport
from suitability.inputs.vector import ANY_KIND, Kind
from suitability.inputs.weather import read_weather
from suitability.outputs.atomic import write_text
from suitability.plan import checked_judgement, reaches_of
from suitability.starting.given import Given, Started
from suitability.starting.text import Entry, Source, run_file_text

RUN_FILE = "run.yaml"

_POLYGON: frozenset[Kind] = frozenset({"polygon"})
_POINT: frozenset[Kind] = frozenset({"point"})
_WATER: frozenset[Kind] = frozenset({"line", "polygon"})


def start(folder: str | os.PathLike[str], given: Given) -> Started:
    """Look at the inputs and write a run file that runs at once.

    Parameters
    ----------
    folder : path
        Where to; made if it is not there.
    given : Given
        The inputs.

    Raises
    ------
    InputError, GridError
        If a run file is there already, an input cannot be used, or only the user can know what
        it is.
    """
    folder = Path(folder)
    path = folder / RUN_FILE
    if path.exists():
        msg = "there is a run file already; nothing is overwritten"
        raise InputError(msg, where=path, fix="name another folder, or move that file away")
    started = Started(path)
    sources = [_elevation(given, folder, started), _cover(given, folder, started)]
    sources += _optional(given, folder, started)
    _hint(given, started)
    title = given.title or folder.absolute().name.replace("_", " ").capitalize() or "My land"
    text = run_file_text(RUN_FILE, title[:80], sources, started.hints,
                         units=given.units, has_weather=given.weather is not None)  # fmt: skip
    run = parse_run(text, path)
    started.doubts += _checked(run, given)
    try:
        write_text(path, text)
    except OSError as exc:
        msg = f"this cannot be written: {exc.strerror or exc}"
        raise InputError(msg, where=path, fix="name another folder") from exc
    return started


def _elevation(given: Given, folder: Path, started: Started) -> Source:
    try:
        unit = unit_of_heights(given.elevation, given.elevation_unit)
    except InputError as exc:
        if exc.fix is None or "state `unit" not in exc.fix:
            raise
        fix = "state it: --elevation-unit m (or ft, us_survey_ft), as its maker says"
        raise InputError(exc.what, where=given.elevation, fix=fix) from exc
    entry = _entry(given.elevation, folder, describe_raster(given.elevation))
    why = "stated by you" if given.elevation_unit else unit.how_known
    entry.stated["unit"] = (unit.unit, f"of heights, {why}")
    started.found.append(("elevation", f"{entry.facts}; heights in {unit.unit}, {why}"))
    started.doubts += [unit.conflict] if unit.conflict else []
    return Source("elevation", [entry])


def _cover(given: Given, folder: Path, started: Started) -> Source:
    entry = _entry(given.land_cover, folder, describe_raster(given.land_cover))
    # The land is where elevation and land cover, or the boundary, meet: codes elsewhere are none.
    where = {"elevation": given.elevation, "land_cover": given.land_cover}
    where |= {"boundary": given.boundary} if given.boundary else {}
    grid, _ = choose_grid(*_settings_of(where))
    codes = codes_met(given.land_cover, grid)
    if given.legend is not None:
        load_legend(given.legend, "--legend").require_known(codes, where=given.land_cover)
        shipped = given.legend in SHIPPED_LEGENDS
        value = given.legend if shipped else seen_from(folder, given.legend)
        why = "stated by you"
    else:
        value = fitting_legend(codes, given.land_cover)
        why = f"guessed: of the shipped ones it alone knows all {len(codes)} codes met"
        started.doubts.append(f"the legend {value} is guessed from the codes; make sure")
    entry.stated["legend"] = (value, why)
    started.found.append(("land cover", f"{entry.facts}; legend {value}, {why}"))
    return Source("land_cover", [entry])


def _optional(given: Given, folder: Path, started: Started) -> list[Source]:
    sources = []
    if given.streams:
        entries = [_water(path, folder, started) for path in given.streams]
        sources.append(Source("streams", entries))
    if given.canopy_height:
        unit = unit_of_heights(given.canopy_height, given.canopy_unit, "m")
        entry = _entry(given.canopy_height, folder, describe_raster(given.canopy_height))
        why = "ASSUMED: the file does not say" if unit.is_assumed else unit.how_known
        entry.stated["unit"] = (unit.unit, f"of heights, {why}")
        if unit.is_assumed:
            started.doubts.append("canopy heights are taken for metres: their file does not say")
        started.found.append(("canopy height", f"{entry.facts}; heights in {unit.unit}, {why}"))
        sources.append(Source("canopy_height", [entry]))
    if given.buildings:
        sources.append(_buildings(given, given.buildings, folder, started))
    if given.boundary:
        entry, _ = _vector(given.boundary, folder, _POLYGON, "boundary", started)
        sources.append(Source("boundary", [entry]))
    for key, paths, kinds in (
        ("keep_outs", given.keep_outs, ANY_KIND),
        ("existing_boxes", given.existing_boxes, _POINT),
        ("wires", given.wires, _WATER),
    ):
        role = key.replace("_", " ")
        found = [_vector(path, folder, kinds, role, started)[0] for path in paths]
        sources += [Source(key, found)] if found else []
    if given.weather:
        weather, report = read_weather(given.weather)
        entry = _entry(given.weather, folder, report.facts[:1])
        warm = weather.midsummer_mean_daily_max_c
        told = f"{warm:.1f} °C mean daily maximum of {weather.midsummer[1]}"
        told = f"{told}: {climate_of(warm)} summers"
        started.found.append(("weather", f"{entry.facts}; {told}"))
        started.doubts += report.warnings
        sources.append(Source("weather", [entry]))
    return sources


def _water(path: str, folder: Path, started: Started) -> Entry:
    entry, layer = _vector(path, folder, _WATER, "streams", started)
    found = permanence_field(layer.attributes)
    if found is not None:
        name, table, why = found
        entry.stated["permanence"] = ({"field": name, "table": table}, why)
        started.found.append(("streams", f"how lasting, by {name} ({table}): {why}"))
        return entry
    coded = unknown_codes(layer.attributes)
    if coded is not None:
        listed = ", ".join(code or "nothing" for code in coded[1][:10])
        started.doubts.append(
            f"all water of {Path(path).name} counts, dry beds too: {coded[0]} holds codes that the "
            f"shipped table does not know ({listed}); write a table of your own as `permanence`"
        )
    else:
        started.doubts.append(
            f"all water of {Path(path).name} counts, dry beds too: no field says how lasting it is"
        )
    return entry


def _buildings(given: Given, path: str, folder: Path, started: Started) -> Source:
    entry, layer = _vector(path, folder, _POLYGON, "buildings", started)
    name, unit, why = height_field(layer.attributes)
    entry.stated["height_field"] = (name, why)
    if name is not None:
        known = given.building_unit or unit
        how = "stated by you" if given.building_unit else "by the field's name"
        entry.stated["height_unit"] = (known or "m", how if known else "ASSUMED; correct it")
        if known is None:
            started.doubts.append(
                f"heights of buildings in {name} are taken for metres: its name does not say "
                "(--building-unit)"
            )
    default = "16 ft" if given.units == "us" else "5 m"
    entry.stated["default_height"] = (default, "of buildings without a height")
    started.found.append(("buildings", f"height field {name or 'none'}: {why}"))
    return Source("buildings", [entry])


def _vector(
    path: str, folder: Path, kinds: frozenset[Kind], role: str, started: Started
) -> tuple[Entry, Layer]:
    layer = look_at_layer(path, kinds, role)
    entry = _entry(path, folder, layer.facts)
    if layer.name is not None:
        entry.stated["layer"] = (layer.name, f"the only one that can be {role}")
    started.found.append((role, entry.facts))
    started.doubts += layer.warnings
    return entry, layer


def _hint(given: Given, started: Started) -> None:
    for missing, hint in (
        (not given.streams, "streams: none are given, so they are derived from the elevation; "
         "mapped water is better"),
        (not given.canopy_height, "canopy_height: tree heights are assumed by land cover, single "
         "trees are not seen, and sun hours are an upper bound"),
        (not given.buildings, "buildings: none cast shadows, and none are kept clear of"),
        (not given.boundary, "boundary: all land that elevation and land cover share is screened"),
        (not given.weather, "weather: no temperature of a box is told; a typical year of a station "
         "nearby, EPW or TMY3, would do"),
        (not given.wires, "wires: no overhead lines are known; look up before any pole is raised"),
    ):  # fmt: skip
        if missing:
            started.hints.append(hint)


def _checked(run: LoadedRun, given: Given) -> Iterable[str]:
    """Look at every input as a run would; return its warnings."""
    if not given.streams:
        choose_grid(run.settings, run.locate)
        return []
    reach_m = reaches_of(run, checked_judgement(run))
    reports: list[InputReport] = preflight(run.settings, run.locate, reach_m)[1]
    return [warning for report in reports for warning in report.warnings]


def _settings_of(inputs: dict[str, str]) -> tuple[Any, Any]:
    """Return settings of inputs alone, and how an error tells of their keys: by option."""
    named = {key: {"path": str(Path(p).absolute()) if is_local(p) else p}
             for key, p in inputs.items()}  # fmt: skip
    settings = RunSettings.model_validate({"inputs": named})

    def option(key: str) -> str:
        return "--" + key.removeprefix("inputs.").replace("_", "-")

    return settings, option


def _entry(path: str, folder: Path, facts: Iterable[str]) -> Entry:
    return Entry(seen_from(folder, path), "; ".join(facts))


def seen_from(folder: Path, path: str) -> str:
    """Return a path as the run file names it: from its own folder; web addresses as they are."""
    if not is_local(path):
        return path
    try:
        return Path(os.path.relpath(Path(path).absolute(), folder.resolve())).as_posix()
    except ValueError:  # another drive
        return str(Path(path).absolute())
