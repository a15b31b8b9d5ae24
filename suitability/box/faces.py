"""What light falls on the faces of a box: sun, sky and ground, hour by hour, at a place's horizon.

Direct light and the part of the sky's light that comes from around the sun (Hay and Davies) reach a
face while the sun stands above the horizon and before the face; the rest of the sky's light comes
evenly from the sky that the face sees; what the face sees of land sends back a share of the light
that falls on level ground there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
import pvlib
from numpy.typing import ArrayLike, NDArray

from suitability.grid import Float64
from suitability.inputs.weather import Weather

STEPS_PER_HOUR = 4  # walls warm up within an hour, and the sun passes a treetop in less
ALBEDO = 0.2  # of grass and fields: common practice
_LEAST_COS = np.cos(np.radians(89.0))  # as in pvlib: light from around a setting sun has its limit

Index = NDArray[np.intp]


@dataclass(frozen=True)
class Light:
    """A station's light in steps of a quarter of an hour, before any horizon.

    All arrays are (n,).

    Parameters
    ----------
    altitude_deg, azimuth_deg : numpy.ndarray
        Of the sun's centre with refraction; azimuth from true north. [degrees]
    beam_w_m2 : numpy.ndarray
        From the sun and around it, on a plane that looks at it. [W/m²]
    even_w_m2 : numpy.ndarray
        From the rest of the sky, on level ground that sees all of it. [W/m²]
    """

    altitude_deg: Float64
    azimuth_deg: Float64
    beam_w_m2: Float64
    even_w_m2: Float64


@dataclass(frozen=True)
class FaceLight:
    """Light on upright faces and on a level roof at one place.

    Parameters
    ----------
    beam_w_m2 : numpy.ndarray
        (faces, n) from the sun and around it. [W/m²]
    total_w_m2 : numpy.ndarray
        (faces, n) from everywhere. [W/m²]
    roof_w_m2 : numpy.ndarray
        (n,) on the roof. [W/m²]
    roof_sky_share : float
        Share of the sky that the roof sees, weighted as it lights it. [0..1]
    """

    beam_w_m2: Float64
    total_w_m2: Float64
    roof_w_m2: Float64
    roof_sky_share: float


def light_of(weather: Weather, hours: Index) -> Light:
    """Return a station's light in steps, (len(hours) · `STEPS_PER_HOUR`,).

    An hour's direct light is spread over those of its steps in which the sun is up.

    Parameters
    ----------
    weather : Weather
        A year.
    hours : numpy.ndarray
        (h,) which hours of it.

    References
    ----------
    .. [1] J. E. Hay, J. A. Davies, Calculations of the solar radiation incident on an inclined
       surface, 1980 (as in pvlib).
    """
    steps = STEPS_PER_HOUR
    offsets_min = 60 * ((np.arange(steps) + 0.5) / steps - 0.5)
    utc = weather.utc[np.repeat(hours, steps)]
    utc += pd.to_timedelta(np.tile(offsets_min, hours.size), unit="min")
    sun = pvlib.solarposition.get_solarposition(
        utc, weather.lat, weather.lon, altitude=weather.ground_elevation_m, method="nrel_numpy"
    )
    altitude = sun["apparent_elevation"].to_numpy(np.float64)
    is_up = (altitude > 0).reshape(-1, steps)
    up = is_up.sum(axis=1, keepdims=True)
    spread = np.divide(steps, up, where=up > 0, out=np.zeros(up.shape))
    dni = (is_up * spread * weather.dni[hours][:, None]).ravel()
    dhi = np.repeat(weather.dhi[hours], steps)
    around = dni / pvlib.irradiance.get_extra_radiation(utc).to_numpy(np.float64)
    steep = np.maximum(np.sin(np.radians(altitude)), _LEAST_COS)
    return Light(
        altitude_deg=altitude,
        azimuth_deg=sun["azimuth"].to_numpy(np.float64),
        beam_w_m2=dni + dhi * around / steep,
        even_w_m2=dhi * (1 - around),
    )


def incidence(light: Light, face_deg: ArrayLike) -> Float64:
    """Return the cosine of the sun's angle to upright faces, 0 behind them, (faces, n).

    Parameters
    ----------
    light : Light
        Where the sun stands.
    face_deg : array_like
        (faces,) directions that they look, clockwise from true north. [degrees]
    """
    turn = np.radians(light.azimuth_deg - np.atleast_1d(np.asarray(face_deg, np.float64))[:, None])
    cos = np.cos(np.radians(light.altitude_deg)) * np.cos(turn)
    return np.asarray(np.clip(np.where(light.altitude_deg > 0, cos, 0.0), 0.0, None))


def face_light(
    light: Light,
    cos_incidence: Float64,
    face_deg: ArrayLike,
    horizon_deg: ArrayLike,
    *,
    convergence_deg: float = 0.0,
    albedo: float = ALBEDO,
) -> FaceLight:
    """Return the light on upright faces and the roof at a place.

    Parameters
    ----------
    light : Light
        Before any horizon.
    cos_incidence : numpy.ndarray
        (faces, n) of the faces; see `incidence`.
    face_deg : array_like
        (faces,) clockwise from true north. [degrees]
    horizon_deg : array_like
        (m,) altitude of the horizon at m azimuths spread evenly from grid north. [degrees]
    convergence_deg : float
        Meridian convergence of the grid. [degrees]
    albedo : float
        Share of light that land around sends back. [0..1]
    """
    profile = np.asarray(horizon_deg, np.float64)
    at = np.arange(profile.size) * 360 / profile.size
    hidden = np.interp((light.azimuth_deg - convergence_deg) % 360, at, profile, period=360)
    beam = light.beam_w_m2 * ((light.altitude_deg >= hidden) & (light.altitude_deg > 0))
    roof_share, shares = sky_shares(profile, face_deg, convergence_deg)
    on_faces = beam * cos_incidence
    level = beam * np.sin(np.radians(np.clip(light.altitude_deg, 0, None)))
    level += light.even_w_m2 * roof_share
    from_sky, from_land = shares[:, None] * light.even_w_m2, (1 - shares)[:, None] * albedo * level
    return FaceLight(on_faces, on_faces + from_sky + from_land, level, roof_share)


def sky_shares(
    horizon_deg: ArrayLike, face_deg: ArrayLike, convergence_deg: float = 0.0
) -> tuple[float, Float64]:
    """Return the share of an even sky's light that a horizon leaves to a roof and to faces.

    Open land leaves 1 to the roof and 0.5 to upright faces.

    Parameters
    ----------
    horizon_deg : array_like
        (m,) altitude of the horizon at m azimuths spread evenly from grid north. [degrees]
    face_deg : array_like
        (faces,) clockwise from true north. [degrees]
    convergence_deg : float
        Meridian convergence of the grid. [degrees]

    Notes
    -----
    Of an even sky of radiance 1, cut off at altitude h(φ): a roof gets ∫ cos² h dφ / 2; an upright
    face gets ∫ cos φ (π/2 - h - sin h cos h) / 2 dφ over the half before it. Both over π.
    """
    high = np.radians(np.clip(np.asarray(horizon_deg, np.float64), 0.0, 90.0))
    at = np.arange(high.size) * 360 / high.size + convergence_deg
    width = 2 * np.pi / high.size
    roof = float((np.cos(high) ** 2).sum() * width / (2 * np.pi))
    turn = np.radians(at - np.atleast_1d(np.asarray(face_deg, np.float64))[:, None])
    before = np.clip(np.cos(turn), 0, None)
    open_sky = (np.pi / 2 - high - np.sin(high) * np.cos(high)) / 2
    # Scaled so that open land gives one half, whatever the number of steps.
    scale = 2.0 / (before.sum(axis=1) * width)
    return roof, np.asarray((before * open_sky).sum(axis=1) * width * scale / np.pi)


def shaded_by_roof(
    light: Light, cos_incidence: Float64, overhang_m: float, height_m: float
) -> Float64:
    """Return the share of upright faces in the shadow of their roof, (faces, n). [0..1].

    Parameters
    ----------
    light : Light
        Where the sun stands.
    cos_incidence : numpy.ndarray
        (faces, n) of the faces; see `incidence`.
    overhang_m, height_m : float
        How far the roof stands out; height of the face. [m]

    Notes
    -----
    The shadow reaches overhang · tan(profile angle) down, where tan(profile angle) = sin(altitude)
    / cos(incidence): exact for a wide roof (Duffie and Beckman, Solar Engineering of Thermal
    Processes, chapter 14; from memory).
    """
    rise = np.sin(np.radians(np.clip(light.altitude_deg, 0, None)))
    steep = np.divide(
        rise, cos_incidence, where=cos_incidence > 1e-9, out=np.zeros_like(cos_incidence)
    )
    return np.asarray(np.clip(overhang_m * steep / height_m, 0.0, 1.0))
