"""What to put up at each chosen site: facing and bearings, box, colour, height, with reasons."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd

from suitability.box.advice import Advice, Place, advise
from suitability.box.bearings import Bearings, Declination, bearings, declination
from suitability.box.design import MountKind
from suitability.box.facing import face_hours
from suitability.box.findings import BoxHeat
from suitability.box.timing import timing
from suitability.box.wanted import Wanted, suitable_designs, wanted_of
from suitability.caveats import CoarseLook
from suitability.grid import Float32, Float64
from suitability.heating import heat_record, heat_sites
from suitability.horizons import Places, site_horizons
from suitability.inputs.weather import Weather
from suitability.plan import Plan

# Reasons and horizons are kept of so many sites; `sites.csv` has the choice for all. A run of
# thousands would write more of them than of anything else.
MOST_TOLD = 1000


@dataclass(frozen=True)
class Advised:
    """The sites of a run with what to put up at each.

    Parameters
    ----------
    sites : geopandas.GeoDataFrame
        With columns for facing, box, colour, chambers and height.
    horizons_deg : numpy.ndarray
        (n, 360) altitude of the horizons of the first `MOST_TOLD` sites, clockwise from true
        north. [degrees]
    heats : tuple of BoxHeat
        How warm boxes would get at each site; none where no weather is given.
    record : dict
        What the run's record tells of it.
    warnings : tuple of str
        What a reader of the results has to know.
    in_other_units : dict of str to str
        By each sentence that tells a measure: the same for readers of the other units.
    """

    sites: gpd.GeoDataFrame
    horizons_deg: Float32
    heats: tuple[BoxHeat, ...]
    record: dict[str, Any]
    warnings: tuple[str, ...]
    in_other_units: dict[str, str]

    @property
    def occupied(self) -> str:
        """When bats may be in the boxes, such as `04-01 to 10-31`."""
        return str(self.record["timing"]["occupied"])


def advise_sites(
    plan: Plan,
    look: CoarseLook,
    sites: gpd.GeoDataFrame,
    *,
    weather: Weather | None = None,
    tell: Callable[[float], None] | None = None,
    wall_horizons: tuple[Places, Float64] | None = None,
) -> Advised:
    """Return the sites of a run with what to put up at each.

    Parameters
    ----------
    plan : Plan
        Of the run.
    look : CoarseLook
        The whole land, seen coarsely.
    sites : geopandas.GeoDataFrame
        The sites.
    weather : Weather, optional
        Left out, no temperature is told.
    tell : callable, optional
        Told the share of the work on heat that is done.
    wall_horizons : tuple of numpy.ndarray, optional
        Which sites are on walls, and the horizons before them. [degrees]
    """
    wanted = wanted_of(plan.run, None if weather is None else weather.midsummer_mean_daily_max_c)
    x, y = (sites[name].to_numpy(dtype=np.float64) for name in ("x_m", "y_m"))
    seen = _seen(plan, look, x, y, wall_horizons)
    turned = np.array([plan.grid.convergence_deg(*place) for place in zip(x, y, strict=True)])
    settings = plan.run.settings
    heats = () if weather is None else _heats(weather, plan, wanted, sites, seen, turned, tell)
    day = settings.box.compass_date or date.fromisoformat(
        f"{settings.season.year}-{settings.season.start}"
    )
    advices, retold, compasses, needles = [], [], [], []
    for_others = replace(wanted, quantities=wanted.quantities.other)
    for at, site in enumerate(sites.to_dict("records")):
        place = _place(site, plan, seen[at], turned[at])
        heat = heats[at] if heats else None
        advices.append(advise(place, wanted, heat))
        retold.append(advise(place, for_others, heat) if at < MOST_TOLD else advices[-1])
        needle = declination(site["lon_deg"], site["lat_deg"], look.ground_elevation_m, day)
        needles.append(needle)
        facing = advices[-1].facing_deg
        compasses.append(None if facing is None else bearings(facing, float(turned[at]), needle))
    year = timing(float(plan.grid.lonlat(*plan.grid.centre)[1]), settings.box)
    record = {
        "bats": asdict(wanted.bats),
        "timing": {
            "install_by": year.install_by,
            "occupied": str(year.occupied),
            "maintain": year.maintain and str(year.maintain),
            "in_words": year.in_words(),
            "grounds": [asdict(ground) for ground in (year.install_ground, year.occupied_ground)],
        },
        "heat": heat_record(weather, settings.box.bats_within)
        if heats and weather is not None
        else None,
        "sites": _recorded(sites, advices, compasses, needles)[:MOST_TOLD],
    }
    return Advised(
        sites.assign(**_columns(advices, compasses)),
        _from_true_north(seen[:MOST_TOLD], turned[:MOST_TOLD]),
        heats,
        record,
        _warnings(advices, needles),
        _in_other_units(advices, retold, needles),
    )


def _heats(
    weather: Weather,
    plan: Plan,
    wanted: Wanted,
    sites: gpd.GeoDataFrame,
    seen: Float32,
    turned: Float64,
    tell: Callable[[float], None] | None,
) -> tuple[BoxHeat, ...]:
    mounts = [_mount(site) for site in sites.to_dict("records")]
    boxes = {mount: suitable_designs(wanted, mount) for mount in mounts}
    colours = tuple(wanted.catalogue.colours.values())
    season = plan.run.settings.season
    bats = plan.run.settings.box.bats_within
    heats = heat_sites(weather, season, boxes, colours, mounts, seen, turned, bats=bats, tell=tell)
    # A box on a wall can look no other way than the wall does.
    return tuple(
        heat.only(facing) if mount == "wall" else heat
        for heat, mount, facing in zip(heats, mounts, _walls_facing(sites), strict=True)
    )


def _walls_facing(sites: gpd.GeoDataFrame) -> Float64:
    """Return the way that the walls of sites look, NaN for poles. [degrees]."""
    if "facing_deg" not in sites:
        return np.full(len(sites), np.nan)
    return np.asarray(sites["facing_deg"], dtype=np.float64)


def _mount(site: dict[Any, Any]) -> MountKind:
    return "wall" if site.get("kind") == "wall" else "pole"


def _seen(
    plan: Plan,
    look: CoarseLook,
    x: Float64,
    y: Float64,
    wall_horizons: tuple[Places, Float64] | None,
) -> Float32:
    """Return the horizons of all sites, those before walls as they were found there."""
    if wall_horizons is None or not wall_horizons[0].size:
        return site_horizons(plan, look, x, y)
    on_walls, profiles = wall_horizons
    seen = np.empty((x.size, 360), np.float32)
    seen[on_walls] = profiles
    on_poles = np.setdiff1d(np.arange(x.size), on_walls)
    seen[on_poles] = site_horizons(plan, look, x[on_poles], y[on_poles])
    return seen


def _place(site: dict[Any, Any], plan: Plan, seen: Float32, turned: float) -> Place:
    mount = _mount(site)
    return Place(
        lat=site["lat_deg"],
        mount=mount,
        mount_height_m=plan.run.settings.mount.height,
        hours=face_hours(plan.sun, seen, turned),
        wall_deg=site["facing_deg"] if mount == "wall" else None,
    )


def _columns(advices: Sequence[Advice], compasses: Sequence[Bearings | None]) -> dict[str, Any]:
    """Return the few columns that go into the table of sites."""
    boxes = [advice.design for advice in advices]
    return {
        "facing_deg": _numbers([None if c is None else c.true_deg for c in compasses]),
        "facing_magnetic_deg": _numbers([None if c is None else c.magnetic_deg for c in compasses]),
        "box": [None if box is None else box.name for box in boxes],
        "chambers": pd.array([None if box is None else box.chambers for box in boxes], "Int64"),
        "colour": [advice.colour for advice in advices],
        "mount_height_m": [advice.mount_height_m for advice in advices],
    }


def _numbers(values: Sequence[float | None]) -> Float64:
    return np.array([np.nan if value is None else value for value in values], dtype=np.float64)


def _recorded(
    sites: gpd.GeoDataFrame,
    advices: Sequence[Advice],
    compasses: Sequence[Bearings | None],
    needles: Sequence[Declination],
) -> list[dict[str, Any]]:
    return [
        {
            "rank": rank,
            "facing": None if compass is None else asdict(compass),
            "declination": str(needle),
            "box": None if advice.design is None else asdict(advice.design),
            "colour": advice.colour,
            "mount_height_m": advice.mount_height_m,
            "points": [asdict(point) for point in advice.points],
            "warnings": advice.warnings,
        }
        for rank, advice, compass, needle in zip(
            sites["rank"], advices, compasses, needles, strict=True
        )
    ]


def _in_other_units(
    advices: Sequence[Advice], retold: Sequence[Advice], needles: Sequence[Declination]
) -> dict[str, str]:
    """Return, by each sentence that tells a measure, the same in the other units."""
    own, others = (
        [*_warnings(those, needles), *(text for advice in those for text in _texts(advice))]
        for those in (advices, retold)
    )
    return {text: other for text, other in zip(own, others, strict=True) if text != other}


def _texts(advice: Advice) -> Iterator[str]:
    """Yield all sentences of an advice, as many whatever its units."""
    yield from advice.warnings
    for point in advice.points:
        ground = point.ground
        yield from (point.choice, point.why, point.second or "", ground.basis)
        yield ground.conflict or ""


def _from_true_north(seen_deg: Float32, turned_deg: Float64) -> Float32:
    """Return horizons clockwise from true north, every whole degree."""
    true = np.arange(360.0)
    turned = [
        np.interp((true - convergence) % 360, true, profile, period=360)
        for profile, convergence in zip(seen_deg, turned_deg, strict=True)
    ]
    return np.array(turned, dtype=np.float32).reshape(-1, 360)


def _warnings(advices: Sequence[Advice], needles: Sequence[Declination]) -> tuple[str, ...]:
    """Return what several sites have in common once, with the sites."""
    told: dict[str, tuple[str, list[str]]] = {}
    for rank, advice in enumerate(advices, start=1):
        for text in advice.warnings:
            told.setdefault(text.partition(";")[0], (text, []))[1].append(str(rank))
    said = []
    for text, ranks in told.values():
        who = "every site" if len(ranks) == len(advices) else f"site {', '.join(ranks[:12])}"
        more = f" and {len(ranks) - 12} more" if 12 < len(ranks) < len(advices) else ""
        said.append(f"{who}{more}: {text}")
    notes = {needle.note for needle in needles if needle.note}
    return (*said, *sorted(notes))
