"""Light on upright faces: pvlib's transposition and angles, and hours of the clear geometry.

Hay and Davies as pvlib has it, and its angle of incidence, on real weather (TMY3). Sun hours of
upright faces under a level horizon: from sin h = sin φ sin δ + cos φ cos δ cos ω by quadrature.
"""

import numpy as np
import pandas as pd
import pvlib
import pytest
from boxes import GREENSBORO, OPEN, SAND_POINT, station

from suitability.box.faces import ALBEDO, Light, face_light, incidence, light_of

FACES = np.array([0.0, 45.0, 90.0, 180.0, 247.5])


@pytest.mark.parametrize("name", [GREENSBORO, SAND_POINT])
def test_open_faces_get_what_the_reference_library_gives(name):
    weather = station(name)
    hours = np.flatnonzero(weather.in_season("06-01", "06-30"))
    light = light_of(weather, hours)
    found = face_light(light, incidence(light, FACES), FACES, OPEN)
    # Hours with the sun up throughout: at sunrise an hour's sun is spread over fewer steps.
    whole = (light.altitude_deg.reshape(-1, 4) > 1).all(axis=1)
    keep = np.repeat(whole, 4)
    utc = weather.utc[np.repeat(hours, 4)] + pd.to_timedelta(
        np.tile([-22.5, -7.5, 7.5, 22.5], hours.size), unit="min"
    )
    dni, dhi = (np.repeat(part[hours], 4)[keep] for part in (weather.dni, weather.dhi))
    zenith, azimuth = 90 - light.altitude_deg[keep], light.azimuth_deg[keep]
    level = dni * np.cos(np.radians(zenith)) + dhi
    assert whole.sum() > 300
    for k, face in enumerate(FACES):
        told = pvlib.irradiance.get_total_irradiance(
            90, face, zenith, azimuth, dni, level, dhi, model="haydavies", albedo=ALBEDO,
            dni_extra=pvlib.irradiance.get_extra_radiation(utc[keep]).to_numpy(),
        )  # fmt: skip
        np.testing.assert_allclose(found.total_w_m2[k, keep], told["poa_global"], atol=0.05)
        angle = pvlib.irradiance.aoi_projection(90, face, zenith, azimuth)
        np.testing.assert_allclose(incidence(light, face)[0, keep], np.clip(angle, 0, 1), atol=1e-9)
    np.testing.assert_allclose(found.roof_w_m2[keep], level, atol=0.05)


def test_an_hours_direct_sun_is_spread_and_not_lost():
    weather = station()
    hours = np.flatnonzero(weather.in_season("03-01", "03-31"))
    light = light_of(weather, hours)
    dni = light.beam_w_m2 - _around_the_sun(light, weather, hours)
    up = (light.altitude_deg > 0).reshape(-1, 4).any(axis=1)
    np.testing.assert_allclose(
        dni.reshape(-1, 4).mean(axis=1)[up], weather.dni[hours][up], atol=1e-6
    )
    assert (light.beam_w_m2[light.altitude_deg <= 0] == 0).all()


def _around_the_sun(light, weather, hours):
    steep = np.maximum(np.sin(np.radians(light.altitude_deg)), np.cos(np.radians(89)))
    return (np.repeat(weather.dhi[hours], 4) - light.even_w_m2) / steep


@pytest.mark.parametrize(
    ("lat", "declination", "hours"),
    [  # north, north-east, east, south-east, south
        (30, 23.44, (8.42, 6.50, 6.97, 7.43, 5.51)),
        (40, 23.44, (6.99, 6.32, 7.42, 8.52, 7.85)),
        (50, 23.44, (6.99, 6.43, 8.07, 9.72, 9.16)),
        (40, 0.0, (0.0, 3.82, 6.00, 8.18, 12.00)),
        (40, 15.0, (4.22, 5.35, 6.87, 8.39, 9.52)),
    ],
)
def test_hours_of_sun_on_upright_faces(lat, declination, hours):
    angle = np.radians(np.linspace(-180, 180, 24 * 3600, endpoint=False))
    phi, delta = np.radians(lat), np.radians(declination)
    up = np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.cos(angle)
    north = np.cos(phi) * np.sin(delta) - np.sin(phi) * np.cos(delta) * np.cos(angle)
    east = -np.cos(delta) * np.sin(angle)
    azimuth = np.degrees(np.arctan2(east, north)) % 360
    light = Light(np.degrees(np.arcsin(up)), azimuth, np.ones(angle.size), np.zeros(angle.size))
    cos = incidence(light, [0, 45, 90, 135, 180])
    np.testing.assert_allclose((cos > 0).sum(axis=1) / 3600, hours, atol=0.02)
