"""How warm boxes get at a place: a screening estimate, not a measurement."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

Float64 = NDArray[np.float64]

# Of the assumptions that are not known: those that keep a box cool, the likely ones, those that
# make it hot. Every array of `BoxHeat` has them as its last axis.
SPREAD = ("low", "mid", "high")

COMFORTABLE_C = (26.7, 37.8)  # 80 to 100 °F: common practice
TOLERABLE_C = (22.0, 40.0)  # Fontaine et al. 2021, Scientific Reports
STRESS_C = 40.0  # Crawford & O'Keefe 2021, Conservation Science and Practice 3:e412
SEVERE_STRESS_C = 45.0  # usable limit: Hoeh et al. 2018, PLoS ONE 13:e0205701


@dataclass(frozen=True)
class BoxHeat:
    """How warm boxes get in a season at one place, by facing, colour and design.

    All arrays but `facing_deg` are (facings, colours, designs, 3); the last axis is `SPREAD`: the
    truth should lie between low and high. A box with several chambers is judged by what bats find
    in it: hours in a range count if any chamber is within it, hours of stress if its warmest
    chamber is above; `no_refuge_h` counts those in which its coolest is above, too.

    Parameters
    ----------
    facing_deg : numpy.ndarray
        (facings,) the front's direction, clockwise from true north. [degrees]
    colours, designs : tuple of str
        Their names.
    season_h : float
        Hours of the season. [h]
    comfortable_h, tolerable_h : numpy.ndarray
        Hours with a chamber at 26.7 to 37.8 °C, and at 22 to 40 °C. [h]
    over_40_h, over_45_h : numpy.ndarray
        Hours with the warmest chamber above 40 °C, and above 45 °C. [h]
    no_refuge_h : numpy.ndarray
        Hours with the coolest chamber above 40 °C. [h]
    longest_over_40_h : numpy.ndarray
        The longest run of hours with the warmest chamber above 40 °C. [h]
    first_over_40 : numpy.ndarray
        Month-day of the first such hour, such as `06-21`; empty where there is none. str
    mean_daily_max_c, mean_daily_min_c : numpy.ndarray
        Mean over days of the warmest chamber's maximum, and of the warmest chamber's minimum. [°C]
    coolest_c : numpy.ndarray
        The least of the season in the warmest chamber. [°C]
    """

    facing_deg: Float64
    colours: tuple[str, ...]
    designs: tuple[str, ...]
    season_h: float
    comfortable_h: Float64
    tolerable_h: Float64
    over_40_h: Float64
    over_45_h: Float64
    no_refuge_h: Float64
    longest_over_40_h: Float64
    first_over_40: NDArray[np.str_]
    mean_daily_max_c: Float64
    mean_daily_min_c: Float64
    coolest_c: Float64

    def at(self, facing_deg: float, colour: str, design: str) -> dict[str, tuple[object, ...]]:
        """Return every measure of one box: low, mid, high.

        Parameters
        ----------
        facing_deg : float
            The nearest of the facings is taken. [degrees]
        colour, design : str
            Their names.

        Raises
        ------
        ValueError
            If there is no such colour or design.
        """
        turn = np.abs((self.facing_deg - facing_deg + 180) % 360 - 180)
        place = int(turn.argmin()), self.colours.index(colour), self.designs.index(design)
        return {name: tuple(getattr(self, name)[place].tolist()) for name in measures()}

    def only(self, facing_deg: float) -> BoxHeat:
        """Return what was found for one facing alone, as for a box on a wall.

        Parameters
        ----------
        facing_deg : float
            The nearest of the facings is taken, and called by this. [degrees]
        """
        turn = np.abs((self.facing_deg - facing_deg + 180) % 360 - 180)
        at = int(turn.argmin())
        one = {name: getattr(self, name)[at : at + 1] for name in measures()}
        return replace(self, facing_deg=np.array([facing_deg % 360]), **one)


def measures() -> tuple[str, ...]:
    """Return the names of the measures that a `BoxHeat` holds by facing, colour and design."""
    axes = ("facing_deg", "colours", "designs", "season_h")
    return tuple(field.name for field in fields(BoxHeat) if field.name not in axes)
