"""Light on faces: what hides it, by closed forms."""

import numpy as np
import pytest
from boxes import OPEN, station

from suitability.box.faces import Light, face_light, incidence, light_of, shaded_by_roof, sky_shares

FACES = np.array([0.0, 90.0, 180.0, 270.0])


def sun_at(altitude_deg: float, azimuth_deg: float) -> Light:
    return Light(np.array([altitude_deg]), np.array([azimuth_deg]), np.array([800.0]), np.zeros(1))


def test_open_land_leaves_all_to_a_roof_and_half_to_faces():
    roof, faces = sky_shares(OPEN, [0.0, 33.3, 180.0])
    assert roof == pytest.approx(1)
    np.testing.assert_allclose(faces, 0.5)


@pytest.mark.parametrize("high_deg", [10.0, 45.0, 80.0])
def test_a_clearing_with_an_even_rim(high_deg):
    high = np.radians(high_deg)
    roof, faces = sky_shares(np.full(360, high_deg), FACES)
    assert roof == pytest.approx(np.cos(high) ** 2)
    np.testing.assert_allclose(faces, 0.5 - (high + np.sin(high) * np.cos(high)) / np.pi)


def test_a_long_wall_opposite_hides_what_its_angle_does():
    """An endless wall up to ψ before a face leaves (1 - sin ψ) / 2 (crossed strings)."""
    psi = np.radians(35.0)
    turn = np.radians(np.arange(0, 360, 0.25))
    horizon = np.degrees(np.arctan(np.tan(psi) * np.clip(np.cos(turn), 0, None)))
    _, faces = sky_shares(horizon, [0.0, 180.0])
    np.testing.assert_allclose(faces, [(1 - np.sin(psi)) / 2, 0.5], atol=1e-4)


def test_a_horizon_is_seen_from_grid_north():
    horizon = np.zeros(360)
    horizon[175:186] = 60.0  # grid south
    light = sun_at(30.0, 183.0)

    def lit(convergence_deg):
        found = face_light(
            light, incidence(light, FACES), FACES, horizon, convergence_deg=convergence_deg
        )
        return found.beam_w_m2[2, 0] > 0

    assert not lit(0.0)
    assert lit(-4.0)  # the sun stands at grid azimuth 187
    assert not lit(4.0)


def test_a_hidden_sun_leaves_the_even_sky_and_what_land_sends_back():
    light = Light(np.array([30.0]), np.array([180.0]), np.array([800.0]), np.array([100.0]))
    found = face_light(light, incidence(light, FACES), FACES, np.full(360, 40.0))
    roof, faces = sky_shares(np.full(360, 40.0), FACES)
    assert found.roof_w_m2[0] == pytest.approx(100 * roof)
    sent_back = (1 - faces) * 0.2 * 100 * roof
    np.testing.assert_allclose(found.total_w_m2[:, 0], 100 * faces + sent_back)
    assert (found.beam_w_m2 == 0).all()


def test_a_roof_shades_by_the_profile_angle():
    """Overhang · tan(altitude) / cos(azimuth from the face): exact geometry."""
    light = sun_at(50.0, 210.0)
    shade = shaded_by_roof(light, incidence(light, FACES), 0.05, 0.6)[:, 0]
    depth = 0.05 * np.tan(np.radians(50)) / np.cos(np.radians(30))
    assert shade[2] == pytest.approx(depth / 0.6)
    assert shade[0] == 0  # behind
    steep = sun_at(89.0, 180.0)
    assert shaded_by_roof(steep, incidence(steep, FACES), 0.05, 0.6)[2, 0] == 1


def test_no_sun_at_night_even_where_the_land_falls_away():
    weather = station()
    light = light_of(weather, np.arange(24))
    found = face_light(light, incidence(light, FACES), FACES, np.full(360, -30.0))
    night = light.altitude_deg < 0
    assert night.any()
    assert (found.beam_w_m2[:, night] == 0).all()
