"""Which box, by the heat that is expected in each: facing, colour and design at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from suitability.box.design import Ground
from suitability.box.findings import BoxHeat, Float64

Bool = NDArray[np.bool_]
Place = tuple[np.intp, ...]

# Likely assumptions, of low, likely and high.
MID = 1
# Boxes whose hours in the wanted range differ by no more of the season count as equal; the one
# with fewer hours of stress is then named.
ALIKE_SHARE = 0.01

GROUND = Ground(
    "peer-reviewed",
    "Most hours with a chamber at 22 to 40 °C (Scientific Reports, 2021) among boxes that are "
    "seldom above 40 °C, the threshold of stress (Conservation Science and Practice 3:e412, 2021), "
    "by the given weather; a screening estimate, not a measurement",
    "Common practice wants 26.7 to 37.8 °C (80 to 100 °F) for mothers with young; how many hours "
    "above 40 °C are too many no source says: the limit is the run file's box.most_stress",
)


@dataclass(frozen=True)
class HeatOption:
    """One box, and how warm it gets.

    Parameters
    ----------
    facing_deg : float
        Clockwise from true north. [degrees]
    colour, design : str
        Names.
    wanted_h, stress_h : tuple of float
        Hours of the season with a chamber at 22 to 40 °C, and with the warmest above 40 °C: low,
        likely, high. [h]
    """

    facing_deg: float
    colour: str
    design: str
    wanted_h: tuple[float, float, float]
    stress_h: tuple[float, float, float]

    def in_words(self) -> str:
        """Give the hours in a line."""
        low, mid, high = self.stress_h
        return (
            f"{self.wanted_h[MID]:.0f} h at 22 to 40 °C in the season; above 40 °C {mid:.0f} h "
            f"({low:.0f} to {high:.0f} h, as assumptions go)"
        )


@dataclass(frozen=True)
class HeatChoice:
    """The best box by heat, and another.

    Parameters
    ----------
    first : HeatOption or None
        None where every box is above 40 °C for too long.
    second : HeatOption or None
        The best one of another colour or design; else the best that looks elsewhere.
    coolest : HeatOption
        The box with the fewest hours of stress, whether or not that is few enough.
    options : int
        How many boxes there were to choose from.
    season_h : float
        Hours of the season. [h]
    """

    first: HeatOption | None
    second: HeatOption | None
    coolest: HeatOption
    options: int
    season_h: float


def choose_by_heat(
    heat: BoxHeat, designs: tuple[str, ...], most_stress_h: float, facing_deg: float | None = None
) -> HeatChoice:
    """Return the best box by the heat expected.

    Parameters
    ----------
    heat : BoxHeat
        Of one site.
    designs : tuple of str
        Those that suit the bats and the mount.
    most_stress_h : float
        Hours above 40 °C beyond which a box is not named. [h]
    facing_deg : float, optional
        The way that a wall looks; left out, every facing may be chosen. [degrees]

    Raises
    ------
    ValueError
        If the heat is of none of the designs.
    """
    allowed = np.zeros(heat.over_40_h.shape[:3], dtype=bool)
    allowed[:, :, [name in designs for name in heat.designs]] = True
    if facing_deg is not None:
        turn = np.abs((heat.facing_deg - facing_deg + 180) % 360 - 180)
        allowed[np.arange(turn.size) != turn.argmin()] = False
    if not allowed.any():
        msg = f"no heat is known of {', '.join(designs) or 'no design'}"
        raise ValueError(msg)
    wanted, stress = heat.tolerable_h[..., MID], heat.over_40_h[..., MID]
    alike_h = ALIKE_SHARE * heat.season_h
    bearable = allowed & (stress <= most_stress_h)
    coolest = np.unravel_index(np.where(allowed, stress, np.inf).argmin(), stress.shape)
    first = second = None
    if bearable.any():
        at = _best(wanted, stress, bearable, alike_h)
        first = _option(heat, at)
        others = (bearable & differs for differs in (_is_another(heat, at), _looks_away(heat, at)))
        other = next((some for some in others if some.any()), None)
        second = None if other is None else _option(heat, _best(wanted, stress, other, alike_h))
    return HeatChoice(first, second, _option(heat, coolest), int(allowed.sum()), heat.season_h)


def _best(wanted: Float64, stress: Float64, among: Bool, alike_h: float) -> Place:
    best = np.where(among, wanted, -np.inf).max()
    equals = among & (wanted >= best - alike_h)
    ranked = np.lexsort((-wanted.ravel(), np.where(equals, stress, np.inf).ravel()))
    return np.unravel_index(ranked[0], wanted.shape)


def _is_another(heat: BoxHeat, at: Place) -> Bool:
    """Return which boxes are of another colour or design."""
    colour = (np.arange(len(heat.colours)) != at[1])[None, :, None]
    design = (np.arange(len(heat.designs)) != at[2])[None, None, :]
    return np.broadcast_to(colour | design, heat.over_40_h.shape[:3])


def _looks_away(heat: BoxHeat, at: Place) -> Bool:
    """Return which boxes look 45 degrees or more away."""
    turn = np.abs((heat.facing_deg - heat.facing_deg[at[0]] + 180) % 360 - 180)
    return np.broadcast_to((turn >= 45)[:, None, None], heat.over_40_h.shape[:3])


def _option(heat: BoxHeat, at: Place) -> HeatOption:
    def three(values: Float64) -> tuple[float, float, float]:
        low, mid, high = (float(value) for value in values[at])
        return low, mid, high

    return HeatOption(
        float(heat.facing_deg[at[0]]),
        heat.colours[at[1]],
        heat.designs[at[2]],
        three(heat.tolerable_h),
        three(heat.over_40_h),
    )
