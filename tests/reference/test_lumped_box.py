"""One chamber's heat balance, C dT/dt = K (T_air - T): closed forms of first-order systems.

Step: 1 - exp(-t/τ). Sinusoid of 24 h: gain 1/sqrt(1 + (ωτ)²), lag atan(ωτ)/ω. Several chambers:
the matrix exponential of SciPy, and its solver of differential equations.
"""

import numpy as np
import pytest
from boxes import FOUR, ROUND
from scipy.integrate import solve_ivp
from scipy.linalg import expm

from suitability.box.body import Assumptions, body_of, steps_of
from suitability.kernels.heat import warmed_by

STEPS = 4


def one_chamber(tau_h: float, hours: int) -> tuple[np.ndarray, np.ndarray]:
    """Return the exact steps of a chamber of K = 1 W/K that forgets in tau."""
    left = np.exp(-1 / (STEPS * tau_h))
    keep = np.full((hours, 1, 1), left)
    return keep, 1 - keep


@pytest.mark.parametrize("tau_h", [0.1, 0.5, 1.0, 4.0])
def test_step(tau_h):
    hours = 12
    found = warmed_by(np.ones((hours * STEPS, 1)), *one_chamber(tau_h, hours), STEPS)[:, 0]
    # The kernel's mean of an hour is that of trapezia over its steps.
    ends = 1 - np.exp(-np.arange(hours * STEPS + 1) / STEPS / tau_h)
    exact = ((ends[:-1] + ends[1:]) / 2).reshape(hours, STEPS).mean(axis=1)
    np.testing.assert_allclose(found, exact, atol=1e-12)


@pytest.mark.parametrize(
    ("tau_h", "gain", "lag_h"),
    [(0.5, 0.9915, 0.497), (1, 0.9674, 0.978), (2, 0.8859, 1.842), (4, 0.6906, 3.088)],
)
def test_sinusoid(tau_h, gain, lag_h):
    hours, omega = 24 * 6, 2 * np.pi / 24
    at = (np.arange(hours * STEPS) + 0.5) / STEPS
    wave = np.sin(omega * at)[:, None]
    found = warmed_by(wave, *one_chamber(tau_h, hours), STEPS)[-24:, 0]
    middle = np.arange(hours)[-24:] + 0.5
    turn = 2 * np.mean(found * np.exp(-1j * omega * middle)) * 1j
    hour_mean = np.sinc(1 / 24)  # the mean of an hour flattens the wave
    assert abs(turn) / hour_mean == pytest.approx(gain, abs=1e-3)
    # Means by trapezia over quarters of an hour come 0.01 h late where τ is half an hour.
    assert -np.angle(turn) / omega == pytest.approx(lag_h, abs=0.015)


@pytest.mark.parametrize("design", [FOUR, ROUND], ids=["four", "round"])
@pytest.mark.parametrize("case", [0, 1, 2])
def test_steps_of_several_chambers_are_exact(design, case):
    assumed = Assumptions()
    body = body_of(design, assumed)
    wind = np.array([0.0, 3.0, 12.0])
    steps = steps_of(body, design, assumed, wind, case, 900.0)
    for hour in range(wind.size):
        rates = np.diag(body.links_w_k.sum(axis=1) + steps.to_air_w_k[hour]) - body.links_w_k
        exact = expm(-rates / body.capacity_j_k[:, None] * 900.0)
        np.testing.assert_allclose(steps.keep[hour], exact, atol=1e-12)
        gain = np.linspace(1.0, 9.0, body.capacity_j_k.size)
        solved = solve_ivp(
            lambda _, now, rates=rates, gain=gain: (gain - rates @ now) / body.capacity_j_k,
            (0, 900.0), np.zeros(gain.size), rtol=1e-10, atol=1e-12,
        )  # fmt: skip
        np.testing.assert_allclose(steps.take[hour] @ gain, solved.y[:, -1], rtol=1e-7)


@pytest.mark.parametrize("design", [FOUR, ROUND], ids=["four", "round"])
def test_links_are_mutual_and_outer_walls_are_the_whole_outside(design):
    body = body_of(design, Assumptions())
    np.testing.assert_array_equal(body.links_w_k, body.links_w_k.T)
    faces = body.areas_m2.sum(axis=0)
    front, side = design.width_m * design.height_m, design.depth_m * design.height_m
    np.testing.assert_allclose(faces[:4], [front, side, front, side])
    if not design.is_around_post:
        assert faces[4] == pytest.approx(design.width_m * design.depth_m)
    else:  # the post stands in the middle
        wide = design.width_m * design.depth_m
        assert wide - design.post_m**2 == pytest.approx(faces[4], rel=0.15)
