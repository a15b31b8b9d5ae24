"""A bat box and its colour, as far as heat goes."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Colour:
    """A colour and how much of the sun's heat it takes up; the word alone leaves a wide range.

    Parameters
    ----------
    name : str
        Such as `black`.
    absorptance_low, absorptance_mid, absorptance_high : float
        Share of the sun's irradiance that is absorbed. [0..1]

    Raises
    ------
    ValueError
        If they are not shares in rising order.
    """

    name: str
    absorptance_low: float
    absorptance_mid: float
    absorptance_high: float

    def __post_init__(self) -> None:
        if not 0 <= self.absorptance_low <= self.absorptance_mid <= self.absorptance_high <= 1:
            msg = f"absorptances of {self.name} are no shares in rising order"
            raise ValueError(msg)

    @property
    def absorptance(self) -> tuple[float, float, float]:
        """The least, the likely and the greatest. [0..1]."""
        return self.absorptance_low, self.absorptance_mid, self.absorptance_high


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

    def __post_init__(self) -> None:
        sizes = (self.width_m, self.height_m, self.depth_m, self.wall_m, self.chamber_m)
        if min(sizes) <= 0 or self.chambers < 1 or min(self.overhang_m, self.post_m) < 0:
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
