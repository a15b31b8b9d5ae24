"""The rasters of a run by what they are for: ground, land cover, canopy."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from suitability.config import RunSettings
from suitability.config.sources import HeightSource
from suitability.grid import Float32, Grid
from suitability.inputs.cells import CANOPY_RANGE_M
from suitability.inputs.legend import NO_CLASS, Codes, Legend, load_legend
from suitability.inputs.places import Locate, place_of
from suitability.inputs.raster import read_classes, read_heights
from suitability.inputs.report import NONE_GIVEN, InputReport

# A canopy may be this tall; few are. Above it the unit is more likely wrong.
TALL_CANOPY_M = 100.0

# How it is seen that an elevation holds the canopy: by so many edges at least, each this high.
_CELLS_ENOUGH = 1_000_000
_EDGE_M, _EDGES_ENOUGH = 5.0, 200
_MUCH_OF_CANOPY = 0.5
# Half of the land steeper than this is no land: the steepest ranges come to some 30 degrees in
# cells of 30 m (from memory).
_STEEP_DEG = 45.0
# A single cell that stands out so much on all sides is no ground: steeper than 70 degrees.
_SPIKE_M, _SPIKE_SLOPE = 25.0, 2.75


def read_land_cover(
    settings: RunSettings, grid: Grid, locate: Locate, *, part: bool = False
) -> tuple[Codes, Legend, InputReport]:
    """Read the land cover with its legend; every code must be known.

    Raises
    ------
    InputError
        If raster or legend cannot be used, or do not fit each other.
    """
    source, place = settings.inputs.land_cover, locate("inputs.land_cover")
    legend = load_legend(source.legend, locate("inputs.land_cover.legend"))
    codes, report = read_classes(source, grid, nodata=legend.nodata, place=place, part=part)
    found, counts = np.unique(codes, return_counts=True)
    by_code = {int(code): int(n) for code, n in zip(found, counts, strict=True)}
    legend.require_known(by_code, where=place_of(source.path, place))
    return codes, legend, replace(report, facts=report.facts + _classes(legend, by_code))


def read_canopy(
    source: HeightSource, grid: Grid, place: str | None = None, *, part: bool = False
) -> tuple[Float32, InputReport]:
    """Read canopy heights: none below 0, NaN where unknown. [m].

    Raises
    ------
    InputError
        If the raster cannot be used.
    """
    heights, report = read_heights(
        source,
        grid,
        role="canopy height",
        range_m=CANOPY_RANGE_M,
        assumed_unit="m",
        place=place,
        part=part,
    )
    below = heights < 0
    done, warnings = report.done, report.warnings
    if below.any():
        lowest = f"lowest {float(heights[below].min()):.3g} m"
        done += (f"{int(below.sum()):,} cells below the ground ({lowest}) set to 0",)
    heights[below] = 0.0
    return heights, replace(report, done=done, warnings=warnings + canopy_warnings(heights))


def canopy_warnings(heights: Float32) -> tuple[str, ...]:
    """Return what is doubtful about canopy heights. [m]."""
    tall = heights > TALL_CANOPY_M
    warnings = []
    if tall.any():
        warnings.append(
            f"{int(tall.sum()):,} cells of canopy are taller than {TALL_CANOPY_M:g} m (up to "
            f"{np.nanmax(heights):.0f} m); is the unit right, and is it height above the ground?"
        )
    missing = float(np.isnan(heights).mean())
    if missing > 0:
        warnings.append(f"canopy height is unknown in {missing:.1%} of the cells")
    return tuple(warnings)


def doubted_ground(report: InputReport, ground: Float32, canopy: Float32) -> InputReport:
    """Return the report on the elevation, with a warning if it seems to hold the canopy as well.

    Where canopy begins from one cell to the next, bare ground does not rise with it; a surface of
    first returns does, by all of it.
    """
    step = max(1, ground.size // _CELLS_ENOUGH)
    rise, ground_rise = (np.diff(part[::step], axis=1) for part in (canopy, ground))
    edges = np.abs(rise) > _EDGE_M
    if int(edges.sum()) < _EDGES_ENOUGH:
        return report
    share = float(np.nanmedian(ground_rise[edges] / rise[edges]))
    if not share > _MUCH_OF_CANOPY:
        return report
    warning = (
        f"the elevation rises by {share:.0%} of the canopy height where canopy begins: it seems to "
        "be the surface of trees, not bare ground, so trees would count twice; give a bare-earth "
        "elevation"
    )
    return replace(report, warnings=(*report.warnings, warning))


def doubted_steepness(report: InputReport, ground: Float32, grid: Grid) -> InputReport:
    """Return the report on the elevation, with a warning if its land is steeper than land is.

    So it is where heights are in a smaller unit than is said, such as centimetres or feet.
    """
    step = max(1, math.isqrt(ground.size // _CELLS_ENOUGH))
    here = ground[:-1:step, :-1:step]
    rises = np.hypot(ground[:-1:step, 1::step] - here, ground[1::step, :-1:step] - here)
    known = rises[np.isfinite(rises)]
    if known.size == 0:
        return report
    slope_deg = math.degrees(math.atan(float(np.median(known)) / grid.cell_m))
    if slope_deg < _STEEP_DEG:
        return report
    warning = (
        f"half of the land is steeper than {slope_deg:.0f}°, as no mountains are: is the unit of "
        "the heights right?"
    )
    return replace(report, warnings=(*report.warnings, warning))


def doubted_spikes(report: InputReport, ground: Float32, grid: Grid) -> InputReport:
    """Return the report on the elevation, with a warning if single cells stand out of it.

    A cell that lies far above or below all four beside it, as high as no ground is steep, is a
    bird, a mast or a fault of the survey; it would cast a shadow all the same.
    """
    least_m = max(_SPIKE_M, _SPIKE_SLOPE * grid.cell_m)
    middle = ground[1:-1, 1:-1]
    beside = (ground[:-2, 1:-1], ground[2:, 1:-1], ground[1:-1, :-2], ground[1:-1, 2:])
    above, below = np.ones(middle.shape, np.bool_), np.ones(middle.shape, np.bool_)
    for other in beside:  # NaN is neither
        above &= middle - other > least_m
        below &= other - middle > least_m
    odd = above | below
    if not odd.any():
        return report
    row, col = (int(axis[0]) + 1 for axis in np.nonzero(odd))
    lon, lat = (float(degrees) for degrees in grid.lonlat(*grid.xy(row, col)))
    warning = (
        f"{int(odd.sum()):,} single cells of the elevation stand more than {least_m:.0f} m above "
        f"or below all cells beside them (the first at longitude {lon:.5f}, latitude {lat:.5f}): "
        "faults of the survey rather than ground, and they cast shadows; mend the raster"
    )
    return replace(report, warnings=(*report.warnings, warning))


def assume_canopy(codes: Codes, legend: Legend) -> tuple[Float32, InputReport]:
    """Return canopy heights from the legend's table, with what that means. [m]."""
    heights_m = sorted({entry.canopy_height_m for entry in legend.classes}, reverse=True)
    table = "; ".join(
        f"{height_m:g} m: "
        + ", ".join(e.name for e in legend.classes if e.canopy_height_m == height_m)
        for height_m in heights_m
        if height_m > 0
    )
    report = InputReport(
        "canopy height",
        f"{NONE_GIVEN}; legend {legend.name}",
        done=("taken from the land-cover class of each cell",),
        assumed=(f"canopy heights by class, common practice ({table}; all others 0 m)",),
        warnings=(
            "canopy heights are assumed from land cover: trees outside woods are not seen, and "
            "sun hours near them are an upper bound",
        ),
        outside_share=float((codes == NO_CLASS).mean()),
    )
    return legend.assumed_canopy_m(codes), report


def _classes(legend: Legend, counts: dict[int, int]) -> tuple[str, ...]:
    classed = {code: n for code, n in counts.items() if code in legend.codes}
    total = sum(classed.values())
    ranked = sorted(classed.items(), key=lambda pair: (-pair[1], pair[0]))
    shares = ", ".join(f"{legend.name_of(code)} {n / total:.1%}" for code, n in ranked[:5])
    more = f", and {len(ranked) - 5} more" if len(ranked) > 5 else ""
    return (f"legend {legend.name}", f"{shares}{more}")
