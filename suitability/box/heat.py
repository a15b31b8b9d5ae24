"""How warm boxes get: the model run over a season for places, facings, colours and designs.

A screening estimate, not a measurement. A box's temperature adds up from what it would be in the
shade and what the sun adds, and the latter is in proportion to what its colour absorbs: so colours
cost next to nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from suitability.box.body import Assumptions, Body, Steps, body_of, steps_of
from suitability.box.design import BoxDesign, Colour
from suitability.box.faces import (
    STEPS_PER_HOUR,
    FaceLight,
    Light,
    face_light,
    incidence,
    light_of,
    shaded_by_roof,
)
from suitability.box.findings import (
    COMFORTABLE_C,
    SEVERE_STRESS_C,
    SPREAD,
    STRESS_C,
    TOLERABLE_C,
    BoxHeat,
)
from suitability.grid import Float64
from suitability.inputs.weather import Weather
from suitability.kernels.heat import counted, warmed_by, warmed_by_light

FACING_DEG = np.arange(16) * 22.5
WARM_UP_H = 48  # before the season: the slowest box forgets where it started within a night

Index = NDArray[np.intp]


@dataclass(frozen=True)
class _Case:
    """A design under one set of assumptions."""

    body: Body
    steps: Steps
    shade_c: Float64  # (hours, nodes) without sun and without radiation to the sky
    sky_c: Float64  # (hours, nodes) what radiation to an open sky adds, below 0


@dataclass(frozen=True)
class HeatModel:
    """All that does not depend on the place: light, air, and each box's steps.

    Parameters
    ----------
    designs, colours : tuple
        What is compared.
    facing_deg : numpy.ndarray
        (facings,) clockwise from true north. [degrees]
    face_deg : numpy.ndarray
        (faces,) the directions that any face of any box looks. [degrees]
    light : Light
        Before any horizon.
    cos_incidence : numpy.ndarray
        (faces, n) of the sun.
    roof_shade : tuple of numpy.ndarray
        By design: (faces, n) share of a front in the shadow of its roof. [0..1]
    month_day : numpy.ndarray
        (hours of the season,) such as `06-21`.
    """

    designs: tuple[BoxDesign, ...]
    colours: tuple[Colour, ...]
    facing_deg: Float64
    face_deg: Float64
    light: Light
    cos_incidence: Float64
    roof_shade: tuple[Float64, ...]
    month_day: NDArray[np.str_]
    _cases: tuple[tuple[_Case, ...], ...]

    def at(self, horizon_deg: ArrayLike, *, convergence_deg: float = 0.0) -> BoxHeat:
        """Return how warm boxes get at a place.

        Parameters
        ----------
        horizon_deg : array_like
            (m,) altitude of the horizon at m azimuths spread evenly from grid north. [degrees]
        convergence_deg : float
            Meridian convergence of the grid. [degrees]
        """
        lit = face_light(
            self.light, self.cos_incidence, self.face_deg, horizon_deg,
            convergence_deg=convergence_deg,
        )  # fmt: skip
        shape = self.facing_deg.size, len(self.colours), len(self.designs), len(SPREAD)
        found = np.empty((*shape, 10))
        for d in range(shape[2]):
            # Only a front has its shadow from the roof.
            fronts = lit.total_w_m2 - self.roof_shade[d] * lit.beam_w_m2
            for s in range(shape[3]):
                self._count(d, s, lit, fronts, found[:, :, d, s])
        return self._findings(found)

    def temperatures_c(
        self,
        horizon_deg: ArrayLike,
        *,
        facing: int = 0,
        colour: int = 0,
        design: int = 0,
        case: int = 1,
        convergence_deg: float = 0.0,
    ) -> Float64:
        """Return the season's hourly temperatures of one box's chambers, (hours, nodes). [°C].

        Parameters
        ----------
        horizon_deg, convergence_deg
            As for `at`.
        facing, colour, design, case : int
            Places in `facing_deg`, `colours`, `designs` and `SPREAD`.
        """
        lit = face_light(
            self.light, self.cos_incidence, self.face_deg, horizon_deg,
            convergence_deg=convergence_deg,
        )  # fmt: skip
        fronts = lit.total_w_m2 - self.roof_shade[design] * lit.beam_w_m2
        which = self._cases[design][case]
        sunny = self._sunny(which, lit, fronts, facing)
        base = which.shade_c + lit.roof_sky_share * which.sky_c
        share = self.colours[colour].absorptance[case]
        return np.asarray((base + share * sunny)[WARM_UP_H:])

    def hours_above_h(
        self, above_c: float, horizon_deg: ArrayLike, *, case: int = 1, convergence_deg: float = 0.0
    ) -> int:
        """Return the hours of the season with the first box's warmest chamber above. [h].

        Parameters
        ----------
        above_c : float
            Temperature. [°C]
        horizon_deg, case, convergence_deg
            As for `temperatures_c`.
        """
        chambers = self.temperatures_c(horizon_deg, case=case, convergence_deg=convergence_deg)
        return int((chambers.max(axis=1) > above_c).sum())

    def _count(self, d: int, s: int, lit: FaceLight, fronts: Float64, found: Float64) -> None:
        case = self._cases[d][s]
        base = case.shade_c + lit.roof_sky_share * case.sky_c
        for f in range(self.facing_deg.size):
            sunny = self._sunny(case, lit, fronts, f)
            for c, colour in enumerate(self.colours):
                counted(
                    base, sunny, colour.absorptance[s], WARM_UP_H, COMFORTABLE_C, TOLERABLE_C,
                    STRESS_C, SEVERE_STRESS_C, found[f, c],
                )  # fmt: skip

    def _sunny(self, case: _Case, lit: FaceLight, fronts: Float64, facing: int) -> Float64:
        """Return what the sun adds to a box that absorbs all light, (hours, nodes). [K]."""
        sides = (self.facing_deg[facing] + 90.0 * np.arange(4)) % 360
        face = np.searchsorted(self.face_deg, sides)
        warmed: Float64 = warmed_by_light(
            case.body.areas_m2, fronts[face[0]], lit.total_w_m2, lit.roof_w_m2, face,
            case.steps.absorbed_share, case.steps.keep, case.steps.take, STEPS_PER_HOUR,
        )  # fmt: skip
        return warmed

    def _findings(self, found: Float64) -> BoxHeat:
        first = found[..., 6].astype(np.intp)
        return BoxHeat(
            facing_deg=self.facing_deg,
            colours=tuple(colour.name for colour in self.colours),
            designs=tuple(design.name for design in self.designs),
            season_h=float(self.month_day.size),
            comfortable_h=found[..., 0],
            tolerable_h=found[..., 1],
            over_40_h=found[..., 2],
            over_45_h=found[..., 3],
            no_refuge_h=found[..., 4],
            longest_over_40_h=found[..., 5],
            first_over_40=np.where(first < 0, "", self.month_day[first]),
            mean_daily_max_c=found[..., 7],
            mean_daily_min_c=found[..., 8],
            coolest_c=found[..., 9],
        )


def heat_model(
    weather: Weather,
    *,
    designs: Sequence[BoxDesign],
    colours: Sequence[Colour],
    facing_deg: ArrayLike = FACING_DEG,
    season: tuple[str, str] = ("04-01", "09-30"),
    on_wall: bool = False,
    assumed: Assumptions | None = None,
) -> HeatModel:
    """Prepare the heat of boxes in a season, for any place.

    Parameters
    ----------
    weather : Weather
        A year.
    designs, colours : sequence
        What is compared.
    facing_deg : array_like
        (facings,) of the front, clockwise from true north. [degrees]
    season : tuple of str
        First and last day, month-day; a last before the first: over New Year.
    on_wall : bool
        Their backs lie against a wall; the horizon of a place must have that wall in it.
    assumed : Assumptions, optional
        What is not known; left out, the defaults.
    """
    assumed = assumed or Assumptions()
    hours = _hours_of(weather, *season)
    facing = np.atleast_1d(np.asarray(facing_deg, np.float64)) % 360
    face = np.unique((facing[:, None] + 90.0 * np.arange(4)) % 360)
    light = light_of(weather, hours)
    cos_incidence = incidence(light, face)
    shades = (shaded_by_roof(light, cos_incidence, d.overhang_m, d.height_m) for d in designs)
    return HeatModel(
        designs=tuple(designs),
        colours=tuple(colours),
        facing_deg=facing,
        face_deg=face,
        light=light,
        cos_incidence=cos_incidence,
        roof_shade=tuple(shades),
        month_day=weather.month_day[hours[WARM_UP_H:]],
        _cases=tuple(
            tuple(
                _case(weather, hours, design, body_of(design, assumed, on_wall=on_wall), assumed, k)
                for k in range(len(SPREAD))
            )
            for design in designs
        ),
    )


def heat_at(
    model: HeatModel,
    horizons_deg: Float64,
    convergence_deg: Float64,
    *,
    threads: int = 2,
    tell: Callable[[float], None] | None = None,
) -> list[BoxHeat]:
    """Return how warm boxes get at each of several places.

    Parameters
    ----------
    model : HeatModel
        What is compared.
    horizons_deg : numpy.ndarray
        (places, m) altitude of each place's horizon, from grid north. [degrees]
    convergence_deg : numpy.ndarray
        (places,) meridian convergence at each. [degrees]
    threads : int
        How many places are worked at once.
    tell : callable, optional
        Told the share that is done.
    """
    found = []
    with ThreadPoolExecutor(threads) as pool:
        jobs = [
            pool.submit(model.at, horizon, convergence_deg=float(turn))
            for horizon, turn in zip(horizons_deg, convergence_deg, strict=True)
        ]
        for done, job in enumerate(jobs, start=1):
            found.append(job.result())
            if tell is not None:
                tell(done / len(jobs))
    return found


def _hours_of(weather: Weather, start: str, end: str) -> Index:
    """Return the hours of a season in their order, with those of the warm-up before it."""
    chosen = weather.in_season(start, end)
    first = int(np.flatnonzero(weather.month_day == start)[0])
    year = chosen.size
    return np.asarray(np.arange(first - WARM_UP_H, first + int(chosen.sum())) % year, np.intp)


def _case(
    weather: Weather, hours: Index, design: BoxDesign, body: Body, assumed: Assumptions, case: int
) -> _Case:
    steps = steps_of(body, design, assumed, weather.wind_m_s[hours], case, 3600 / STEPS_PER_HOUR)
    air = air_by_step(weather, hours)
    start = air[0]
    to_air = np.repeat(steps.to_air_w_k, STEPS_PER_HOUR, axis=0)
    bats = assumed.bats_w / body.capacity_j_k.size
    shade = warmed_by(
        np.ascontiguousarray(to_air * (air - start)[:, None] + bats), steps.keep, steps.take,
        STEPS_PER_HOUR,
    )  # fmt: skip
    # A roof under an open sky gives off more than it gets; a face looks at land as warm as itself.
    lost = (
        steps.absorbed_share[:, None] * body.areas_m2[:, 4] * assumed.emittance * assumed.sky_w_m2
    )
    sky = warmed_by(
        np.ascontiguousarray(np.repeat(-lost, STEPS_PER_HOUR, axis=0)), steps.keep, steps.take,
        STEPS_PER_HOUR,
    )  # fmt: skip
    return _Case(body, steps, shade + start, sky)


def air_by_step(weather: Weather, hours: Index) -> Float64:
    """Return the air's temperature in the middle of each step, between the hours' ends. [°C].

    Parameters
    ----------
    weather : Weather
        A year; temperatures are those at the ends of hours, where the formats have them.
    hours : numpy.ndarray
        (h,) which hours of it.
    """
    part = (np.arange(STEPS_PER_HOUR) + 0.5) / STEPS_PER_HOUR
    before, after = weather.air_c[hours - 1], weather.air_c[hours]
    return np.asarray((before[:, None] * (1 - part) + after[:, None] * part).ravel())
