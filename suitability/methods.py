"""How a finished run was made, as paragraphs for a proposal or a report."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from suitability.config.mount import Mount
from suitability.config.units import unit_of
from suitability.finished import FinishedRun
from suitability.mapping import day_in_words
from suitability.outputs.cautions import short_caution
from suitability.outputs.references import References

_Cite = Callable[[str], str]

_SUNSHINE_W_M2 = 120.0  # WMO-No. 8
_SHAPES = {
    "linear": "straight lines through",
    "steps": "steps that begin at",
    "logistic": "an S-shaped curve through",
}


def methods_of(run: FinishedRun) -> str:
    """Return the methods of a finished run as Markdown, every number from its record.

    Only works that the run's own settings rest on are cited.
    """
    references = References()
    cite = references.cite
    paragraphs = (
        _land(run),
        _sun(run, cite),
        _measures(run, cite),
        _judgement(run, cite),
        _sites(run, cite),
        _limits(run),
    )
    works = "\n".join(f"- {work}" for work in references.works)
    text = "\n\n".join(paragraphs)
    return f"# Methods: {run.title}\n\n{text}\n\n## References\n\n{works}\n"


def _land(run: FinishedRun) -> str:
    grid = run.record["grid"]
    files: dict[str, list[str]] = {}
    for report in run.record["inputs"]:
        files.setdefault(_role(report["role"]), []).append(Path(report["path"]).name)
    told = "; ".join(
        f"{role} ({_listed(list(dict.fromkeys(names)))})" for role, names in files.items()
    )
    return (
        f"Places for bat boxes at {run.title} were screened on {grid['rows']:,} rows and "
        f"{grid['cols']:,} columns of square cells of {run.quantities.stated(grid['cell_m'])} "
        f"({grid['crs']}). What was read: {told}. Work was done with {_software(run)}."
    )


def _role(role: str) -> str:
    """Return what an input is for, a layer by its name as code."""
    return f"`{role}`" if "_" in role else role


def _software(run: FinishedRun) -> str:
    versions = run.record["versions"]
    others = ", ".join(
        f"{name} {versions[name]}" for name in ("python", "pvlib", "rasterio", "gdal", "proj")
    )
    return f"bat-box-suitability {versions['suitability']} ({others})"


def _sun(run: FinishedRun, cite: _Cite) -> str:
    settings, sun = run.settings, run.record["sun"]
    season = settings["season"]
    mount = Mount.model_validate(settings["mount"])
    return (
        f"Hours of direct sun a day were computed for boxes ({mount.in_words}) "
        f"{run.quantities.stated(mount.height)} above the ground from "
        f"{day_in_words(season['start'])} to {day_in_words(season['end'])}, with the sun of "
        f"{season['year']}. The sun's position ({cite('spa')}; pvlib: {cite('pvlib_2018')}, "
        f"{cite('pvlib_2023')}) was taken every {season['step']:g} minutes on one day in "
        f"{season['every_days']}; {sun['positions']:,} positions counted, those at which "
        f"{_counted(settings['sun'], cite)}. For each of them the shadows of ground, canopy and "
        "buildings were cast over the whole land along parallel lines of light, "
        f"{sun['lines_per_cell']} to the width of a cell."
    )


def _counted(rule: dict[str, Any], cite: _Cite) -> str:
    """Return when the sun counts."""
    if rule["rule"] == "altitude":
        return f"the sun's centre stood, with refraction, over {rule['min_altitude']:g}° high"
    least = rule["min_irradiance"]
    of_sunshine = (
        f", the threshold of sunshine ({cite('sunshine')})" if least == _SUNSHINE_W_M2 else ""
    )
    return (
        f"direct normal irradiance under a clear sky exceeded {least:g} W/m²{of_sunshine}; clear "
        f"sky: {cite('clear_sky')}, air mass: {cite('airmass')}, Linke turbidity: "
        f"{_turbidity(rule['linke_turbidity'])}"
    )


def _turbidity(stated: float | None) -> str:
    return "monthly climatology of the place" if stated is None else f"{stated:g}"


def _measures(run: FinishedRun, cite: _Cite) -> str:
    settings, tell = run.settings, run.quantities
    told = [f"Slope was taken from the elevation of neighbouring cells ({cite('horn')})."]
    if any(layer["aspect"] is not None for layer in settings["layers"].values()):
        told.append("Aspect was taken from the same gradients.")
    if settings["inputs"]["streams"] is None:
        area = tell.area(settings["water"]["from_elevation"]["area"])
        told.append(
            "Streams were derived from the elevation: depressions were filled, water led to the "
            f"steepest of eight neighbours ({cite('d8')}) and over flats outwards "
            f"({cite('flats')}), streams begun where {area} drain through a cell, and ordered "
            f"({cite('strahler')})."
        )
    return " ".join(told)


def _judgement(run: FinishedRun, cite: _Cite) -> str:
    curves = "; ".join(_criterion(run, criterion) for criterion in run.record["criteria"])
    told = [
        f"Each measure was turned into a value between 0 and 1: {curves}.",
        f"The score is the {run.judgement.in_words(run.layer_title)}.",
    ]
    told += [_weights(branch, cite) for branch in run.record["weights"]]
    if any(str(branch["combined_by"]).startswith("ordered") for branch in run.record["weights"]):
        told.append(f"Ordered weighted means are those of {cite('owa')}.")
    out = [row for row in run.record["excluded_share"].values() if row["in_all"] > 0]
    if out:
        tell = run.quantities.retold
        listed = _listed(
            [f"{tell(row['words'])} ({100 * row['in_all']:.2g}% of it)" for row in out]
        )
        told.append(f"Land was ruled out that is {listed}; reasons may overlap.")
    return " ".join(told)


def _criterion(run: FinishedRun, criterion: dict[str, Any]) -> str:
    curve, layer = criterion["curve"], criterion["layer"]
    unit = unit_of(layer)
    knots = ", ".join(
        f"{run.quantities.of(measure, unit)}: {value:g}" for measure, value in curve["knots"]
    )
    return f"{run.layer_title(layer)} by {_SHAPES[curve['kind']]} {knots}"


def _weights(branch: dict[str, Any], cite: _Cite) -> str:
    """Say where the weights of the whole or of a group come from."""
    whose, found = f"Weights of the {branch['of']}", branch["consistency"]
    if branch["come"].startswith("from a ranking"):
        return f"{whose} come from a ranking, as its rank-order centroid ({cite('centroid')})."
    if not branch["come"].startswith("from"):
        return f"{whose} were stated, as a judgement."
    told = f"{whose} are the principal eigenvector of comparisons in pairs ({cite('pairs')})"
    if found is None or found["ratio"] is None:
        return f"{told}."
    return f"{told}, consistency ratio {found['ratio']:.3f}."


def _sites(run: FinishedRun, cite: _Cite) -> str:
    wanted, choice = run.settings["sites"], run.record["choice"]
    count, spacing = len(run.record["sites"]), run.quantities.stated(wanted["spacing"])
    how = "the best places were taken one after the other, best first"
    if choice["method"] == "exact":
        how = (
            "the places of the greatest total score were sought by mixed-integer programming "
            f"(HiGHS: {cite('highs')}), at most {choice['gap_share']:.2%} below what is possible"
        )
    of = f"{choice['groups']} groups, {count} boxes in all," if "groups" in choice else f"{count}"
    told = [
        f"Of {wanted['count']} places wanted, {of} were chosen, {spacing} or more apart: {how}."
    ]
    scores = [site["score"] for site in run.record["sites"]]
    if scores:
        told.append(f"Scores of the sites: {min(scores):.3f} to {max(scores):.3f}.")
    if run.record["boxes"].get("heat"):
        told.append(
            "How warm boxes would get was estimated by a model of the box with hourly weather "
            f"({run.record['boxes']['heat']['station']}); these are no measurements."
        )
    return " ".join(told)


def _limits(run: FinishedRun) -> str:
    warnings = [f"{text[:1].upper()}{text[1:].removesuffix('.')}." for text in run.warnings]
    return " ".join([*warnings, run.quantities.retold(short_caution())])


def _listed(parts: list[str]) -> str:
    return " and ".join([", ".join(parts[:-1]), parts[-1]]) if len(parts) > 1 else parts[0]
