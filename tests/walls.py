"""A second way to the sun on a wall: rays to footprints, one position of the sun at a time."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from suitability.box.walls import wall_edges, wall_horizons, wall_places
from suitability.sun import SunPath, face_is_lit

NO_LAND = -90.0


def footprints(*shapes, crs="EPSG:32616"):
    """Return footprints as the program has them."""
    return gpd.GeoDataFrame(geometry=list(shapes), crs=crs)


def clear_day(lat, declination, step_s=10.0):
    """Return the sun of a day above a level horizon: sin h = sin φ sin δ + cos φ cos δ cos ω."""
    angle = np.radians(np.arange(-180 + step_s / 480, 180, step_s / 240))
    phi, delta = np.radians(lat), np.radians(declination)
    up = np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.cos(angle)
    north = np.cos(phi) * np.sin(delta) - np.sin(phi) * np.cos(delta) * np.cos(angle)
    east = -np.cos(delta) * np.sin(angle)
    risen = up > 0
    count = int(risen.sum())
    return SunPath(
        utc=pd.DatetimeIndex(np.zeros(count, "datetime64[s]")),
        azimuth_deg=np.degrees(np.arctan2(east, north))[risen] % 360,
        altitude_deg=np.degrees(np.arcsin(up))[risen],
        month=np.full(count, 6),
        is_morning=angle[risen] < 0,
        hours=np.full(count, step_s / 3600),
        share_of_season={6: 1.0},
        rule="above a level horizon",
    )


def program_lit(sun, places, buildings, tall_m, mount_m, turned_deg=0.0):
    """Return which positions reach each face, (n, positions), by the program; ground at 0 m."""
    edges, whose = wall_edges(buildings)
    tops = np.repeat(np.asarray(tall_m, float)[whose, None], 2, axis=1)
    beyond = np.full((len(places), 360), NO_LAND)
    seen = wall_horizons(places, np.full(len(places), mount_m), beyond, edges, tops)
    facing = places.facing_deg + turned_deg
    return np.array(
        [
            face_is_lit(sun, one, turned_deg, [looks])[0]
            for one, looks in zip(seen, facing, strict=True)
        ]
    )


def ray_lit(azimuth_deg, altitude_deg, x, y, facing_deg, buildings, tall_m, mount_m):
    """Return which positions reach a face, by rays; grid azimuths, ground at 0 m."""
    turn = np.radians(azimuth_deg)
    before = np.cos(turn - np.radians(facing_deg)) > 0
    rays = shapely.linestrings(
        [[(x, y), (x + 2000 * np.sin(a), y + 2000 * np.cos(a))] for a in turn]
    )
    slope = np.tan(np.radians(altitude_deg))
    lit = before.copy()
    for shape, tall in zip(buildings.geometry, tall_m, strict=True):
        met = shapely.intersection(rays, shape)
        distance = shapely.distance(shapely.Point(x, y), met)
        lit &= ~(mount_m + distance * slope < tall)  # NaN where nothing is met
    return lit


def places_of(buildings, every_m=5.0):
    """Return the places along walls."""
    return wall_places(buildings, every_m)
