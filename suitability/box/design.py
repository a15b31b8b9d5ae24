"""Boxes, their colours, and the bats that they are for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from suitability.config.criteria import Evidence

MountKind = Literal["pole", "wall"]


@dataclass(frozen=True)
class Ground:
    """Where numbers or a piece of advice come from.

    Parameters
    ----------
    evidence : str
        How firm they are: peer-reviewed, agency guidance, common practice, own.
    basis : str
        What they rest on, in a sentence.
    conflict : str or None
        Where sources disagree.
    """

    evidence: Evidence
    basis: str
    conflict: str | None = None


OWN = Ground("own", "stated by the user")


@dataclass(frozen=True)
class Colour:
    """A colour and how much of the sun's heat it takes up; the word alone leaves a wide range.

    Parameters
    ----------
    name : str
        Such as `black`.
    absorptance_low, absorptance_mid, absorptance_high : float
        Share of the sun's irradiance that is absorbed. [0..1]
    warmest_from_c, warmest_to_c : float or None
        Mean daily maximum of the warmest month for which common practice names the colour: from
        the first (included) to the second (not included); None is without end. [°C]
    ground : Ground
        Where these numbers come from.

    Raises
    ------
    ValueError
        If they are not shares in rising order.
    """

    name: str
    absorptance_low: float
    absorptance_mid: float
    absorptance_high: float
    warmest_from_c: float | None = None
    warmest_to_c: float | None = None
    ground: Ground = OWN

    def __post_init__(self) -> None:
        if not 0 <= self.absorptance_low <= self.absorptance_mid <= self.absorptance_high <= 1:
            msg = f"absorptances of {self.name} are no shares in rising order"
            raise ValueError(msg)

    @property
    def absorptance(self) -> tuple[float, float, float]:
        """The least, the likely and the greatest. [0..1]."""
        return self.absorptance_low, self.absorptance_mid, self.absorptance_high

    def fits(self, warmest_max_c: float) -> bool:
        """Tell whether common practice names it for a mean daily maximum. [°C]."""
        low, high = self.warmest_from_c, self.warmest_to_c
        return (low is None or warmest_max_c >= low) and (high is None or warmest_max_c < high)


@dataclass(frozen=True)
class BoxDesign:
    """A box, outside measures, open below.

    Parameters
    ----------
    name : str
        Such as `two chambers`.
    width_m, height_m, depth_m : float
        Outside, seen from the front; a box around a post is `depth_m` by `width_m` in plan. [m]
    wall_m : float
        Thickness of the outer walls and the roof. [m]
    chambers : int
        Chambers one behind the other, front to back; around a post: rings, outside to inside.
    chamber_m : float
        Depth of a chamber, front to back. [m]
    vented : bool
        Has vents in its lower part.
    overhang_m : float
        How far the roof stands out beyond the walls. [m]
    post_m : float
        Edge of the post that the box goes around; 0 for a box with a front and a back. [m]
    landing_m : float
        Rough board that goes on below the entrance. [m]
    mounts : tuple of {"pole", "wall"}
        What it may hang on.
    ground : Ground
        Where these numbers come from.

    Raises
    ------
    ValueError
        If the chambers do not fit into the box.
    """

    name: str
    width_m: float
    height_m: float
    depth_m: float
    wall_m: float
    chambers: int
    chamber_m: float
    vented: bool = False
    overhang_m: float = 0.0
    post_m: float = 0.0
    landing_m: float = 0.0
    mounts: tuple[MountKind, ...] = ("pole", "wall")
    ground: Ground = OWN

    def __post_init__(self) -> None:
        sizes = (self.width_m, self.height_m, self.depth_m, self.wall_m, self.chamber_m)
        if (
            min(sizes) <= 0
            or self.chambers < 1
            or min(self.overhang_m, self.post_m, self.landing_m) < 0
        ):
            msg = f"{self.name}: sizes must be above 0"
            raise ValueError(msg)
        if self.partition_m < -1e-6 or self.width_m <= 2 * self.wall_m:
            msg = f"{self.name}: {self.chambers} chambers of {self.chamber_m:g} m do not fit"
            raise ValueError(msg)

    @property
    def is_around_post(self) -> bool:
        """Whether chambers look in all four directions."""
        return self.post_m > 0

    @property
    def partition_m(self) -> float:
        """Thickness of a partition between chambers: what the chambers leave of the depth. [m].

        Around a post, of the sleeves between rings and of the inmost one, round the post.
        """
        if self.is_around_post:
            left = (self.depth_m - self.post_m) / 2 - self.wall_m - self.chambers * self.chamber_m
            return left / self.chambers
        left = self.depth_m - 2 * self.wall_m - self.chambers * self.chamber_m
        return left / (self.chambers - 1) if self.chambers > 1 else max(left, 0.0)

    def with_chamber(self, chamber_m: float) -> BoxDesign:
        """Return the same box with chambers of another width; its outside grows or shrinks.

        Parameters
        ----------
        chamber_m : float
            From one wall of a chamber to the other. [m]
        """
        grown = self.chambers * (chamber_m - self.chamber_m) * (2 if self.is_around_post else 1)
        width_m = self.width_m + (grown if self.is_around_post else 0.0)
        return replace(self, chamber_m=chamber_m, depth_m=self.depth_m + grown, width_m=width_m)


@dataclass(frozen=True)
class SpeciesGroup:
    """Bats that want alike boxes.

    Parameters
    ----------
    name : str
        Such as `small`.
    title : str
        Who belongs to it.
    chamber_least_m, chamber_m, chamber_most_m : float
        Width of a chamber: least, wanted, most. [m]
    chambers_least, chambers : int
        How many: at least, and better.
    height_least_m, height_from_m, height_to_m : float
        Of the box above the ground: at least, and the range wanted. [m]
    ground : Ground
        Where these numbers come from.
    """

    name: str
    title: str
    chamber_least_m: float
    chamber_m: float
    chamber_most_m: float
    chambers_least: int
    chambers: int
    height_least_m: float
    height_from_m: float
    height_to_m: float
    ground: Ground = OWN
