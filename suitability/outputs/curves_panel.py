"""One criterion on the page of curves: its value function, the land beneath it, what says so."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator
from numpy.typing import NDArray

from suitability.decide.histograms import Bins, Spread
from suitability.outputs import colours
from suitability.outputs.figure_parts import Sheet
from suitability.quantities import METRIC, Quantities, Scale

Float64 = NDArray[np.float64]

LAND, CANDIDATES = "#c9c9c9", colours.SCORE_COLOURS[8]
_CURVE_SAMPLES = 2000
_LEFT_IN = 0.36  # for the numbers beside the axes
_TICKS_IN = 0.31  # for the numbers and the unit below them
_CURVE_SHARE, _GAP_IN = 0.66, 0.07
LEAST_PLOT_IN, MOST_PLOT_IN = 0.95, 2.7
_UNITS = {
    "h": "hours", "m": "metres", "ft": "feet", "m²": "square metres", "sq ft": "square feet",
    "deg": "degrees", "": "no unit",
}  # fmt: skip


@dataclass(frozen=True)
class Panel:
    """What is shown of a criterion.

    Parameters
    ----------
    layer, title, unit : str
        The layer by its name and for people, and the unit of its measure.
    groups : tuple of str
        Those that the criterion lies in, the outermost first.
    weight : str
        What it weighs, in words.
    evidence, basis : str
        How firm weight and curve are, and where they come from.
    conflict : str or None
        Where sources disagree.
    value : callable
        From measures to values in 0..1.
    bins : Bins
        The axis.
    land, candidates : Spread
        How all land, and the land that is not excluded, spreads over it.
    reach : float or None
        The measure that stands for this far and further, if some land lies that far.
    quantities : Quantities
        The units to show measures in.
    """

    layer: str
    title: str
    unit: str
    groups: tuple[str, ...]
    weight: str
    evidence: str
    basis: str
    conflict: str | None
    value: Callable[[Float64], NDArray[np.float32]]
    bins: Bins
    land: Spread
    candidates: Spread
    reach: float | None = None
    quantities: Quantities = METRIC

    @property
    def scale(self) -> Scale:
        """How the axis is drawn."""
        return self.quantities.axis(self.unit)

    @property
    def head(self) -> tuple[str, ...]:
        """What stands above the curve, below the title."""
        return (
            f"{self.weight}; {self.evidence}",
            *((f"in {' › '.join(self.groups)}",) if self.groups else ()),
        )

    @property
    def facts(self) -> tuple[str, ...]:
        """What must be known to read the plot."""
        edges = self.bins.edges
        beyond = (self._beyond("below", edges[0]), self._beyond("above", edges[-1]))
        hidden = [text for text in beyond if text]
        told = [f"Not shown: {'; '.join(hidden)}."] if hidden else []
        if self.land.missing:
            told.append(f"{percent(self._of_land(self.land.missing))} of the land has no measure.")
        if self.reach is not None:
            told.append(f"{self._told(self.reach)} stands for this far and further.")
        return tuple(told)

    @property
    def grounds(self) -> tuple[str, ...]:
        """Where weight and curve come from, and where sources disagree."""
        conflict = () if self.conflict is None else (f"Sources conflict: {self.conflict}",)
        return (sentence(self.basis), *(sentence(text) for text in conflict))

    def _beyond(self, side: Literal["below", "above"], edge: float) -> str:
        land, candidates = getattr(self.land, side), getattr(self.candidates, side)
        if not land:
            return ""
        of_candidates = percent(candidates / max(self.candidates.measured, 1))
        of_land = percent(self._of_land(land))
        return f"{side} {self._told(edge)} {of_land} of the land, {of_candidates} of the candidates"

    def _told(self, measure: float) -> str:
        return self.quantities.of(measure, self.unit)

    def _of_land(self, cells: int) -> float:
        return cells / (self.land.measured + self.land.missing)


@dataclass(frozen=True)
class Room:
    """Where a panel goes. [inch].

    Parameters
    ----------
    left, top, width : float
        Its upper left corner, and how wide it is.
    head, plot : float
        Height of the words above, and of the two plots with the numbers below them.
    text_size : float
        Of the words. [points]
    """

    left: float
    top: float
    width: float
    head: float
    plot: float
    text_size: float


def percent(share: float) -> str:
    """Return a share in per cent; what is little is not nothing, and nearly all is not all."""
    if 0 < share < 0.005:
        return "less than 1%"
    if 0.995 <= share < 1:
        return "more than 99%"
    return f"{100 * share:.0f}%"


def sentence(text: str) -> str:
    """Return text that begins and ends as a sentence does."""
    return f"{text[:1].upper()}{text[1:]}" + ("" if text.endswith(".") else ".")


def head_height(sheet: Sheet, panel: Panel, width_in: float, size: float) -> float:
    """Return how high the words above the plots are. [inch]."""
    title = len(sheet.wrapped(_title(panel), size + 2, width_in, "bold"))
    rows = sum(len(sheet.wrapped(line, size, width_in)) for line in panel.head)
    return title * line_in(size + 2) + rows * line_in(size) + 0.06


def lines_below(sheet: Sheet, panel: Panel, width_in: float, size: float) -> list[str]:
    """Return the lines below the plots."""
    told = (*panel.facts, *panel.grounds)
    return [line for text in told for line in sheet.wrapped(text, size, width_in)]


def line_in(size: float) -> float:
    """Return the height of a line of text. [inch]."""
    return size / 72 * 1.28


def draw_panel(
    sheet: Sheet, axes_at: Callable[..., Axes], panel: Panel, room: Room, below: list[str]
) -> None:
    """Draw a panel.

    Parameters
    ----------
    sheet : Sheet
        The page.
    axes_at : callable
        Returns axes over a part of the page: left, bottom, width, height. [inch]
    panel : Panel
        What to show.
    room : Room
        Where.
    below : list of str
        The lines below the plots.
    """
    size = room.text_size
    top = sheet.paragraph(
        _title(panel), room.left, room.top, room.width, size=size + 2, weight="bold"
    )
    for line in panel.head:
        top = sheet.paragraph(line, room.left, top, room.width, size=size)
    plots_top = room.top - room.head
    height = room.plot - _TICKS_IN - _GAP_IN
    left, width = room.left + _LEFT_IN, room.width - _LEFT_IN - 0.08
    curve_height = height * _CURVE_SHARE
    _draw_curve(axes_at(left, plots_top - curve_height, width, curve_height), panel, size)
    histogram = axes_at(left, plots_top - height - _GAP_IN, width, height - curve_height)
    _draw_land(histogram, panel, size)
    top = plots_top - room.plot
    for line in below:
        top = sheet.paragraph(line, room.left, top, room.width, size=size)


def _title(panel: Panel) -> str:
    return f"{panel.title[:1].upper()}{panel.title[1:]}"


def _draw_curve(axes: Axes, panel: Panel, size: float) -> None:
    edges = panel.bins.edges
    measures = np.linspace(edges[0], edges[-1], _CURVE_SAMPLES)
    shown = panel.scale.of
    axes.plot(
        shown(measures), panel.value(measures), color=colours.INK, linewidth=1.5, clip_on=False
    )
    axes.set(xlim=(shown(edges[0]), shown(edges[-1])), ylim=(0, 1.04))
    axes.set_yticks([0, 0.5, 1], ["0", "0.5", "1"])
    axes.grid(axis="y", color="0.85", linewidth=0.5)
    axes.set_axisbelow(True)
    _plain_axes(axes, size)
    axes.tick_params(axis="x", labelbottom=False)
    axes.xaxis.set_major_locator(MaxNLocator(6, min_n_ticks=3))


def _draw_land(axes: Axes, panel: Panel, size: float) -> None:
    edges = panel.scale.of(panel.bins.edges)
    land, candidates = (_shares(spread) for spread in (panel.land, panel.candidates))
    axes.stairs(land, edges, fill=True, color=LAND)
    axes.stairs(candidates, edges, color=CANDIDATES, linewidth=1.1)
    highest = max(land.max(), candidates.max(), 0.01)
    axes.set(xlim=(edges[0], edges[-1]), ylim=(0, highest * 1.25))
    _plain_axes(axes, size)
    axes.xaxis.set_major_locator(MaxNLocator(6, min_n_ticks=3))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:,g}"))
    axes.yaxis.set_major_locator(FixedLocator([0, highest]))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{100 * value:.0f}%"))
    unit = panel.scale.unit
    label = "share, 0 to 1" if panel.layer.endswith("_share") else _UNITS.get(unit, unit)
    axes.set_xlabel(label, fontsize=size, labelpad=1)


def _shares(spread: Spread) -> Float64:
    """Return each bin's share of the cells that are measured."""
    return np.asarray(spread.counts / max(spread.measured, 1), np.float64)


def _plain_axes(axes: Axes, size: float) -> None:
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_linewidth(0.6)
    axes.tick_params(labelsize=size, length=2.5, width=0.6, pad=1.5)
