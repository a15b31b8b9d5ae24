"""Sol-air temperature: ASHRAE Handbook - Fundamentals, chapter on cooling loads.

T_sa = T_o + α I / h_o - ε ΔR / h_o, with α/h_o = 0.026 (light) and 0.052 (dark) m²K/W, h_o = 17
W/m²K, and ε ΔR / h_o = 3.9 K for level faces, 0 for upright ones. The formula and the 4 K were read
there; the other numbers are from memory. The rows below follow from the formula.
"""

import numpy as np
import pytest
from boxes import ONE

from suitability.box.body import Assumptions, body_of, steps_of
from suitability.kernels.heat import warmed_by, warmed_by_light

FILM = 17.0
# No air through the bottom, so that walls alone decide.
CLOSED = Assumptions(
    exchange_m_s=(0.0, 0.0, 0.0), film_still_w_m2k=12.0, emittance=1.0, sky_w_m2=3.9 * FILM
)


def settled_c(air_c: float, light: float, absorptance: float, *, roof_only: bool) -> float:
    """Return where a closed box comes to rest whose faces all have the same light."""
    body = body_of(ONE, CLOSED)
    body.areas_m2[:, :4] *= not roof_only
    body.areas_m2[:, 4] *= roof_only
    hours, steps = 300, 4
    exact = steps_of(body, ONE, CLOSED, np.zeros(hours), 1, 900.0)
    same = np.full(hours * steps, light)
    sun = warmed_by_light(
        body.areas_m2, same, np.tile(same, (4, 1)), same, np.arange(4), exact.absorbed_share,
        exact.keep, exact.take, steps,
    )  # fmt: skip
    lost = exact.absorbed_share[0] * body.areas_m2[:, 4] * CLOSED.emittance * CLOSED.sky_w_m2
    sky = warmed_by(np.tile(-lost, (hours * steps, 1)), exact.keep, exact.take, steps)
    return float((air_c + absorptance * sun + sky)[-1, 0])


@pytest.mark.parametrize(
    ("air_c", "light", "per_film", "upright_c", "level_c"),
    [
        (30.0, 800.0, 0.026, 50.8, 46.9),
        (30.0, 800.0, 0.052, 71.6, 67.7),
        (35.0, 600.0, 0.026, 50.6, 46.7),
        (35.0, 600.0, 0.052, 66.2, 62.3),
    ],
)
def test_a_closed_box_comes_to_rest_at_the_sol_air_temperature(
    air_c, light, per_film, upright_c, level_c
):
    absorptance = per_film * FILM
    assert settled_c(air_c, light, absorptance, roof_only=False) == pytest.approx(
        upright_c, abs=1e-6
    )
    assert settled_c(air_c, light, absorptance, roof_only=True) == pytest.approx(level_c, abs=1e-6)


@pytest.mark.parametrize(("wall_m", "through"), [(0.012, 3.58), (0.019, 2.96), (0.025, 2.58)])
def test_walls_let_through_what_layers_in_series_do(wall_m, through):
    """1 / (1/17 + L/0.12 + 1/8.3): films and plywood of the same handbook (from memory)."""
    assert CLOSED.wall_w_m2k(wall_m, np.array(FILM)) == pytest.approx(through, abs=0.005)
