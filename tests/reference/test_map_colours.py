"""The map's colours against published colour science.

CIE 1976 L*a*b* by CIE 15:2004 with the sRGB primaries of IEC 61966-2-1; colour-blind vision by
Machado, Oliveira & Fernandes (2009), "A Physiologically-based Model for Simulation of Color
Vision Deficiency", IEEE TVCG 15(6):1291-1298, matrices of severity 1.0 from the paper's table.
"""

import numpy as np
import pytest
from matplotlib.colors import to_rgb

from suitability.outputs import colours
from suitability.outputs.figure_map import paint

TO_XYZ = np.array(  # IEC 61966-2-1, D65
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)
SEEN_BY = {
    "normal": np.eye(3),
    "protanope": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deuteranope": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
}
RAMP = np.array([to_rgb(colour) for colour in colours.SCORE_COLOURS])


def linear(srgb):
    return np.where(srgb <= 0.04045, srgb / 12.92, ((srgb + 0.055) / 1.055) ** 2.4)


def lab(light):
    """L*, a*, b* of linear light."""
    ratio = light @ TO_XYZ.T / TO_XYZ.sum(axis=1)
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.stack(
        [116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])],
        axis=-1,
    )


def seen(srgb, by="normal"):
    return lab(np.clip(linear(np.asarray(srgb)) @ SEEN_BY[by].T, 0, 1))


def apart(one, other):
    return np.linalg.norm(one - other, axis=-1)  # CIE 1976 colour difference


def test_the_yardstick_itself():
    # Widely published L*a*b* of the sRGB primaries under D65 (from memory, to 0.1)
    np.testing.assert_allclose(seen([1, 0, 0]), [53.2, 80.1, 67.2], atol=0.1)
    np.testing.assert_allclose(seen([0, 0, 1]), [32.3, 79.2, -107.9], atol=0.1)
    np.testing.assert_allclose(seen([1, 1, 1]), [100, 0, 0], atol=0.05)
    for matrix in SEEN_BY.values():  # greys stay grey for everyone
        np.testing.assert_allclose(matrix.sum(axis=1), 1, atol=1e-5)


def test_each_class_is_darker_by_an_equal_step():
    steps = np.diff(seen(RAMP)[:, 0])
    assert steps.max() < -7
    assert np.ptp(steps) < 0.5


@pytest.mark.parametrize("eye", ["protanope", "deuteranope"])
def test_the_order_holds_for_colour_blind_readers(eye):
    assert np.diff(seen(RAMP, eye)[:, 0]).max() < -5
    classes = seen(RAMP, eye)
    difference = apart(classes[:, None], classes[None])
    np.fill_diagonal(difference, np.inf)
    assert difference.min() > 6  # about 2.3 is just noticeable (common practice)


def test_a_grey_printer_tells_the_classes_apart():
    grey = seen(RAMP)[:, 0]
    assert grey.max() - grey.min() > 65


@pytest.mark.parametrize("eye", list(SEEN_BY))
def test_water_and_ink_stand_out_of_the_score(eye):
    for colour in (colours.WATER, colours.PAPER):
        assert apart(seen(to_rgb(colour), eye), seen(RAMP, eye)).min() > 18, colour


@pytest.mark.parametrize("light", [0.0, 0.5, 1.0])
def test_relief_moves_no_colour_into_another_class(light):
    score = (np.arange(10, dtype=np.float32)[None] + 0.5) / 10
    hillshade = np.full(score.shape, light, np.float32)
    painted = paint(score, np.zeros(score.shape, np.bool_), hillshade)[0].astype(np.float64)
    difference = apart(seen(painted)[:, None], seen(RAMP)[None])
    np.testing.assert_array_equal(difference.argmin(axis=1), np.arange(10))
    assert (seen(RAMP)[:, 0] - seen(painted)[:, 0]).max() < 7.7 / 2
