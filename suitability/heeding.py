"""What stands about the chosen sites that somebody has to heed: lines, buildings, water, slopes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, replace
from typing import Any

import geopandas as gpd
import numpy as np
import shapely

from suitability.advising import MOST_TOLD, Advised
from suitability.grid import Float64
from suitability.inputs.gather import Features
from suitability.outputs.cautions import SiteCaution, site_cautions
from suitability.outputs.site_signs import SiteFacts
from suitability.plan import Plan
from suitability.quantities import Quantities

# The site's own wall is nearer than this: a box hangs 0.2 m before it. [m]
_OWN_WALL_M = 0.5


def facts_of_sites(
    plan: Plan, features: Features, sites: gpd.GeoDataFrame, occupied: str
) -> tuple[SiteFacts, ...]:
    """Return what is known of each site that cautions go by.

    Parameters
    ----------
    plan : Plan
        Of the run.
    features : Features
        Its vectors.
    sites : geopandas.GeoDataFrame
        The sites with what is measured there.
    occupied : str
        When bats may be in their boxes.
    """
    settings = plan.run.settings
    places = sites.geometry
    kinds = sites["kind"] if "kind" in sites else np.full(len(sites), settings.mount.kind)
    to_wires, to_boxes, to_kept_clear = (
        away_m(places, shapes)
        for shapes in (features.wires, features.existing_boxes, features.keep_clear)
    )
    to_boundary = away_m(places, None if features.boundary is None else _rims(features.boundary))
    to_buildings = [
        next_building_m(place, features.buildings, is_wall=kind == "wall")
        for place, kind in zip(places, kinds, strict=True)
    ]
    return tuple(
        SiteFacts(
            kind="wall" if kind == "wall" else "pole",
            mount_height_m=settings.mount.height,
            wires_given=features.wires is not None,
            wire_m=to_wires[at],
            building_m=to_buildings[at],
            existing_box_m=to_boxes[at],
            keep_clear_m=to_kept_clear[at],
            boundary_m=to_boundary[at],
            water_m=_known(site.get("water_distance_exact_m")),
            slope_deg=_known(site.get("slope_deg")),
            material=site.get("material") if isinstance(site.get("material"), str) else None,
            occupied=occupied,
            climate=settings.climate,
        )
        for at, (kind, site) in enumerate(zip(kinds, sites.to_dict("records"), strict=True))
    )


def heeded(advised: Advised, about: Sequence[SiteFacts], tell: Quantities) -> Advised:
    """Return advised sites with a column `heed`: what applies to each in particular, in words."""
    words = [
        "; ".join(dict.fromkeys(why for caution in site_cautions(its, tell) for why in caution.why))
        for its in about
    ]
    return replace(advised, sites=advised.sites.assign(heed=words))


def recorded_cautions(about: Sequence[SiteFacts], tell: Quantities) -> list[dict[str, Any]]:
    """Return what the run's record tells of the first sites: what is known, and what applies."""
    return [
        {
            "rank": rank,
            "about": asdict(its),
            "apply_here": {
                caution.id: caution.why
                for caution in site_cautions(its, tell)
                if caution.applies_here
            },
        }
        for rank, its in enumerate(about[:MOST_TOLD], start=1)
    ]


def wires_in_reach(
    ranks: Iterable[int], facts: Sequence[SiteFacts], tell: Quantities
) -> Iterator[str]:
    """Yield a warning for each site from which a pole or a ladder can fall too near to a line.

    Parameters
    ----------
    ranks : iterable of int
        Of the sites.
    facts : sequence of SiteFacts
        Of the sites.
    tell : Quantities
        How lengths are told.
    """
    for rank, its in zip(ranks, facts, strict=True):
        if its.wire_in_reach:
            yield f"site {rank}: {_of(site_cautions(its, tell), 'overhead_lines').why[0]}"


def _of(cautions: Sequence[SiteCaution], name: str) -> SiteCaution:
    return next(caution for caution in cautions if caution.id == name)


def away_m(places: gpd.GeoSeries, shapes: gpd.GeoDataFrame | None) -> list[float | None]:
    """Return the distance from each place to the nearest shape; None where there is none. [m]."""
    if shapes is None or shapes.empty:
        return [None] * len(places)
    tree = shapely.STRtree(shapes.geometry.to_numpy())
    points = places.to_numpy()
    away: Float64 = np.full(len(points), np.nan)
    (at, _), found = tree.query_nearest(points, return_distance=True, all_matches=False)
    away[at] = found
    return [_known(value) for value in away]


def next_building_m(
    place: shapely.Point, buildings: gpd.GeoDataFrame | None, *, is_wall: bool
) -> float | None:
    """Return the distance to the nearest building, of a site on a wall to the next. [m]."""
    if buildings is None or buildings.empty:
        return None
    away = shapely.distance(buildings.geometry.to_numpy(), place)
    others = away[away > _OWN_WALL_M] if is_wall else away
    return float(others.min()) if others.size else None


def _rims(boundary: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return the edge of the land as lines."""
    return gpd.GeoDataFrame(geometry=[boundary.geometry.union_all().boundary], crs=boundary.crs)


def _known(value: object) -> float | None:
    """Return a number rounded to what it can mean; None where there is none."""
    if value is None or not np.isfinite(float(value)):  # type: ignore[arg-type]
        return None
    return round(float(value), 2)  # type: ignore[arg-type]
