"""Which way a box looks, by the sun that its face gets: no temperature is claimed here."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from suitability.box.design import Ground
from suitability.config.settings import Climate
from suitability.sun import SunPath, hours_by_facing

Float64 = NDArray[np.float64]

FACINGS_DEG = np.linspace(0.0, 337.5, 16)
_WORDS = ("north", "north-north-east", "north-east", "east-north-east", "east", "east-south-east",
          "south-east", "south-south-east", "south", "south-south-west", "south-west",
          "west-south-west", "west", "west-north-west", "north-west",
          "north-north-west")  # fmt: skip

# Facings to choose from in the north, from and to, clockwise; mirrored in the south. [degrees]
_ARCS: dict[Climate, tuple[float, float]] = {
    "cool": (90.0, 225.0),
    "moderate": (90.0, 225.0),
    "hot": (67.5, 135.0),
}
# Faces that differ by no more count as equally sunny: half of the quarter hour's step is noise,
# and a box is hung by hand. [h]
ALIKE_H = 0.5
# How far another choice must turn away to be another. [degrees]
OTHER_DEG = 45.0

_SUNNY = Ground(
    "peer-reviewed",
    "Boxes facing south-east or south-west were used in Pennsylvania (Wildlife Society Bulletin "
    "28, 2000), those facing south or east more than north in Oregon (Northwestern Naturalist 84, "
    "2003); faces to the east warmed earliest (Scientific Reports, 2021), so of equally sunny "
    "faces the one with more morning sun is named",
    "Charity guidance says south or south-west; common practice says east to south-east where it "
    "is hot",
)
_MORNING = Ground(
    "common practice",
    "East to south-east where summers are hot; colonies there took shade or morning sun "
    "(California Agriculture 60(2), 2006), so the face with the most morning sun for the least "
    "afternoon sun is named",
    "Single bats took poles in full or afternoon sun in the same study",
)
_OF_WALL = Ground("own", "A box on a wall looks as the wall does")


@dataclass(frozen=True)
class FaceHours:
    """The season's mean hours a day in which the sun reaches an upright face. [h].

    Parameters
    ----------
    all_day, morning : numpy.ndarray
        (16,) by `FACINGS_DEG`: in all, and before the sun's transit.
    """

    all_day: Float64
    morning: Float64


@dataclass(frozen=True)
class FacingChoice:
    """A facing and another.

    Parameters
    ----------
    first_deg : float
        Clockwise from true north. [degrees]
    second_deg : float or None
        The best one of those that look elsewhere; None on a wall.
    why : str
        In hours of sun.
    ground : Ground
        Where the rule comes from.
    """

    first_deg: float
    second_deg: float | None
    why: str
    ground: Ground


def face_hours(sun: SunPath, horizon_deg: ArrayLike, convergence_deg: float) -> FaceHours:
    """Return the sun on faces by the horizon of a place.

    Parameters
    ----------
    sun : SunPath
        Positions that count.
    horizon_deg : array_like
        (m,) altitude of the horizon at m azimuths spread evenly from grid north. [degrees]
    convergence_deg : float
        Meridian convergence at the place. [degrees]
    """
    before_noon = sun.those(np.flatnonzero(sun.is_morning))
    return FaceHours(
        hours_by_facing(sun, horizon_deg, convergence_deg, FACINGS_DEG),
        hours_by_facing(before_noon, horizon_deg, convergence_deg, FACINGS_DEG),
    )


def compass_word(degrees: float) -> str:
    """Return the nearest of sixteen directions, such as `south-east`."""
    return _WORDS[round(degrees / 22.5) % 16]


def choose_facing(
    hours: FaceHours, climate: Climate, lat: float, wall_deg: float | None = None
) -> FacingChoice:
    """Return which way a box should look, by sun alone.

    Parameters
    ----------
    hours : FaceHours
        From the site's own horizon.
    climate : {"cool", "moderate", "hot"}
        How warm the summers are.
    lat : float
        Tells the hemisphere. [degrees]
    wall_deg : float, optional
        The way that a wall looks, for a box that hangs on it.
    """
    if wall_deg is not None:
        face = round(wall_deg / 22.5) % 16
        return FacingChoice(wall_deg, None, _told(hours, [face]), _OF_WALL)
    places = _arc(climate, lat)
    best = _best(hours, places, climate)
    others = places[_turn(FACINGS_DEG[places], FACINGS_DEG[best]) >= OTHER_DEG]
    second = _best(hours, others, climate)
    return FacingChoice(
        float(FACINGS_DEG[best]),
        float(FACINGS_DEG[second]),
        _told(hours, [best, *(place for place in (second, *_cardinal(lat)) if place != best)]),
        _MORNING if climate == "hot" else _SUNNY,
    )


def _arc(climate: Climate, lat: float) -> NDArray[np.intp]:
    low, high = _ARCS[climate]
    northern = FACINGS_DEG if lat >= 0 else (180 - FACINGS_DEG) % 360
    return np.flatnonzero((northern >= low) & (northern <= high))


def _best(hours: FaceHours, places: NDArray[np.intp], climate: Climate) -> int:
    """Return the place of the best face among some."""
    day, morning = hours.all_day[places], hours.morning[places]
    if climate == "hot":
        return int(places[np.argmax(2 * morning - day)])  # morning less afternoon
    sunny = day >= day.max() - ALIKE_H
    return int(places[np.argmax(np.where(sunny, morning, -1.0))])


def _cardinal(lat: float) -> list[int]:
    return [8 if lat >= 0 else 0, 12]


def _turn(one_deg: Float64, other_deg: float) -> Float64:
    return np.abs((one_deg - other_deg + 180) % 360 - 180)


def _told(hours: FaceHours, places: list[int]) -> str:
    """Return the sun on some faces, the first of them in full."""
    first, *others = dict.fromkeys(places)
    text = (
        f"the sun reaches a face to the {_WORDS[first]} for {hours.all_day[first]:.1f} h a day, "
        f"{hours.morning[first]:.1f} h of it before noon"
    )
    beside = [f"{_WORDS[place]} {hours.all_day[place]:.1f} h" for place in others]
    return f"{text} ({'; '.join(beside)})" if beside else text
