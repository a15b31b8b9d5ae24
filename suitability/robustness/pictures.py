"""Findings as pictures: what is shown, and the words around it."""

from __future__ import annotations

import math
from pathlib import Path

from suitability.outputs.cautions import short_caution
from suitability.outputs.picture_page import Words
from suitability.outputs.rasters import read_small
from suitability.outputs.robustness_figure_correlation import draw_correlation
from suitability.outputs.robustness_figure_map import StabilityMap, draw_stability
from suitability.outputs.robustness_figure_ranks import MOST_ROWS, RankedPlace, draw_acceptability
from suitability.outputs.robustness_figure_swings import SwungWeight, draw_swings
from suitability.outputs.robustness_files import RASTER
from suitability.robustness.findings import Findings

_MAP_CELLS = 1600  # along the map's longer side: finer is not printed
_RISING = 5  # places shown that are not listed


def draw_pictures(folder: Path, found: Findings) -> None:
    """Draw ranks, swings, correlation and the map of the land.

    Parameters
    ----------
    folder : pathlib.Path
        Where the raster lies and the pictures go.
    found : Findings
        What to show.
    """
    _draw_acceptability(folder, found)
    _draw_swings(folder, found)
    _draw_correlation(folder, found)
    _draw_stability(folder, found)


def _draw_acceptability(folder: Path, found: Findings) -> None:
    shown = min(found.listed, MOST_ROWS)
    accepted = found.acceptability

    def row(place: int) -> RankedPlace:
        is_listed = place < found.listed
        name = f"{'site' if is_listed else 'place'} {place + 1}"
        return RankedPlace(
            name, float(accepted.none_better[place]), accepted.ranks[place], is_listed
        )

    places = [row(place) for place in (*range(shown), *found.rising[:_RISING].tolist())]
    foot = [f"{found.asked.draws:,} draws, {found.rows.size} places ranked."]
    if found.rising.size:
        foot[0] += (
            " Below the gap: places that are not listed and most often would be (numbers as in "
            "acceptability.csv)."
        )
    if shown < found.listed:
        foot.append(f"{found.listed - shown} more sites are in acceptability.csv.")
    foot += [warning for warning in found.warnings if "very values" in warning]
    words = Words(
        f"{found.run.title}: how the sites rank when the weights move",
        (
            f"{found.weights_in_words} {found.ranges_in_words}",
            "A bar tells in what share of the draws a place has which rank. A site that is often "
            "beyond the list owes its place to the very weights of the run.",
        ),
        (*foot, found.run.quantities.retold(short_caution())),
    )
    draw_acceptability(folder / "acceptability.png", words, places, found.listed)


def _draw_swings(folder: Path, found: Findings) -> None:
    weights = [
        SwungWeight(
            found.run.weighing.names[at], s.share, s.shares, s.kept, s.best_stays, s.list_stays
        )
        for at, s in found.swings.items()
    ]
    words = Words(
        f"{found.run.title}: one weight at a time",
        (
            "Each weight is moved from nothing to everything while the others keep their "
            f"proportions. The line is the share of the {found.listed} listed sites that are still "
            f"among the best {found.listed} of {found.rows.size} places.",
        ),
        (found.run.quantities.retold(short_caution()),),
    )
    draw_swings(folder / "swings.png", words, weights)


def _draw_correlation(folder: Path, found: Findings) -> None:
    limit = found.asked.correlated_from
    words = Words(
        f"{found.run.title}: criteria that go together",
        (
            "Large numbers: Spearman's coefficient of the criteria's values (0 to 1) over "
            f"{_cells(found)}; small ones: Pearson's. The darker, the stronger, either way.",
            f"A pair from +{limit:g} on is framed: what the two share counts twice. One of "
            f"−{limit:g} or less is framed, too: few places are good in both. The limit is common "
            "practice.",
        ),
        tuple(w for w in found.warnings if "Spearman" in w or "one value" in w),
    )
    names = found.run.weighing.layers
    draw_correlation(folder / "correlation.png", words, names, found.spearman, found.pearson, limit)


def _cells(found: Findings) -> str:
    cells, all_cells = found.sample.values.shape[0], found.sample.candidates
    if cells == all_cells:
        return f"all {cells:,} candidate cells"
    return f"{cells:,} of {all_cells:,} candidate cells"


def _draw_stability(folder: Path, found: Findings) -> None:
    run = found.run
    step = math.ceil(max(run.grid.shape) / _MAP_CELLS)
    x, y = run.grid.xy(run.rows, run.cols)
    words = Words(
        f"{run.title}: which land is among the best tenth, whatever the weights",
        (
            f"Share of {found.asked.map_draws:,} draws in which a cell is among the best tenth of "
            f"the candidate land. {found.weights_in_words}",
            found.land_in_words[0],
        ),
        (found.run.quantities.retold(short_caution()),),
    )
    content = StabilityMap(
        run.grid.coarser(step),
        read_small(folder / RASTER, step),
        tuple(range(1, found.listed + 1)),
        x,
        y,
    )
    draw_stability(folder / "stability.png", words, content)
