"""The map's colours against published colour science.

CIE 1976 L*a*b* by CIE 15:2004 with the sRGB primaries of IEC 61966-2-1; colour-blind vision by
Machado, Oliveira & Fernandes (2009), "A Physiologically-based Model for Simulation of Color
Vision Deficiency", IEEE TVCG 15(6):1291-1298, matrices of severity 1.0 from the paper's table.
"""

import itertools

import colorspacious
import matplotlib as mpl
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


# --- all signs of the printed page ------------------------------------------------------------
# Contrast by WCAG 2.1 (W3C 2018): relative luminance, (lighter + 0.05) / (darker + 0.05); 4.5 for
# text (success criterion 1.4.3), 3 for signs against what they lie on (1.4.11). Colour difference
# by CAM02-UCS (Luo, Cui & Li 2006) and colour-blind vision by Machado et al. (2009), both as
# colorspacious computes them.

EYES = ["normal", "protanomaly", "deuteranomaly", "tritanomaly"]


def to_the_eye(srgb, eye):
    srgb = np.asarray(srgb, float)
    if eye == "normal":
        return srgb
    space = {"name": "sRGB1+CVD", "cvd_type": eye, "severity": 100}
    return np.clip(colorspacious.cspace_convert(srgb, space, "sRGB1"), 0, 1)


def luminance(srgb):
    return linear(np.asarray(srgb, float)) @ TO_XYZ[1]


def contrast(one, other):
    lighter, darker = np.maximum(*(both := (luminance(one), luminance(other)))), np.minimum(*both)
    return (lighter + 0.05) / (darker + 0.05)


def difference(one, other, eye="normal"):
    return colorspacious.deltaE(to_the_eye(one, eye), to_the_eye(other, eye), input_space="sRGB1")


def test_the_second_yardstick_itself():
    # W3C's own example: black on white is 21 : 1; grey #767676 on white just passes for text
    assert contrast(to_rgb("#000000"), to_rgb("#ffffff")) == pytest.approx(21, abs=0.01)
    assert contrast(to_rgb("#767676"), to_rgb("#ffffff")) == pytest.approx(4.54, abs=0.01)
    # Both ways to simulate protanopia are the same paper's
    own = np.clip(linear(RAMP) @ SEEN_BY["protanope"].T, 0, 1)
    np.testing.assert_allclose(linear(to_the_eye(RAMP, "protanomaly")), own, atol=2e-3)


@pytest.mark.parametrize("eye", EYES)
def test_text_and_lines_stand_out_of_their_white_edges(eye):
    paper = to_the_eye(to_rgb(colours.PAPER), eye)
    for colour in (colours.INK, colours.QUIET_INK):
        assert contrast(to_the_eye(to_rgb(colour), eye), paper) >= 4.5
    for colour in (colours.WATER, colours.INK, colours.BUILDING):
        assert contrast(to_the_eye(to_rgb(colour), eye), paper) >= 3


def grounds():
    """What signs may lie on: classes in full and in no light, relief from dark to white."""
    relief = np.linspace(colours.RELIEF_DARKEST, 1, 4)[:, None].repeat(3, axis=1)
    return np.concatenate([RAMP, 0.96 * RAMP, relief])


@pytest.mark.parametrize("eye", EYES)
def test_on_any_ground_a_line_stands_out_of_the_white_edge_beside_it(eye):
    edge = to_the_eye(0.2 * grounds() + 0.8, eye)  # white, four fifths opaque
    for colour in (colours.WATER, colours.INK):
        assert contrast(to_the_eye(to_rgb(colour), eye)[None], edge).min() >= 3


@pytest.mark.parametrize("eye", EYES)
def test_water_is_no_ink_and_no_building(eye):
    for colour in (colours.INK, colours.BUILDING):
        assert difference(to_rgb(colours.WATER), to_rgb(colour), eye) > 15


@pytest.mark.parametrize("eye", EYES)
def test_neighbouring_classes_differ_to_every_eye(eye):
    steps = difference(RAMP[:-1], RAMP[1:], eye)
    assert steps.min() > 4  # about 1 is just noticeable in this space (common practice)


@pytest.mark.parametrize("light", [0.3, 0.7, 1.0])
def test_hatching_is_seen_on_every_relief_in_grey_too(light):
    relief = colours.RELIEF_DARKEST + (1 - colours.RELIEF_DARKEST) * light
    line = 0.6 * relief + 0.4 * colours.HATCH
    assert seen([relief] * 3)[0] - seen([line] * 3)[0] > 10  # L*


@pytest.mark.parametrize("eye", EYES)
def test_measures_grow_darker_all_the_way(eye):
    ramp = mpl.colormaps[colours.MEASURES](np.linspace(0, 1, 33))[:, :3]
    lightness = seen(to_the_eye(ramp, eye))[:, 0]
    assert np.diff(lightness).max() < 0
    assert np.ptp(lightness) > 60
    assert difference(ramp[:-1], ramp[1:], eye).min() > 0.5


@pytest.mark.parametrize("eye", EYES)
def test_no_measure_looks_like_none_of_the_measures(eye):
    for name in (colours.MEASURES, colours.DIRECTIONS):
        ramp = mpl.colormaps[name](np.linspace(0, 1, 65))[:, :3]
        none = np.broadcast_to(colours.NO_MEASURE, ramp.shape)
        assert difference(ramp, none, eye).min() > 5


@pytest.mark.parametrize("eye", EYES)
def test_directions_meet_in_the_north_and_differ_by_quarters(eye):
    ramp = mpl.colormaps[colours.DIRECTIONS]
    north, east, south, west = (np.array(ramp(place)[:3]) for place in (0, 0.25, 0.5, 0.75))
    assert difference(north, np.array(ramp(1.0)[:3]), eye) < 2
    quarters = (north, east, south, west)
    for one, other in itertools.combinations(quarters, 2):
        assert difference(one, other, eye) > 8
