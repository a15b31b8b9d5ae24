"""Compiling the kernels, so that it is a stage of its own and not a puzzling wait."""

from __future__ import annotations

import numpy as np

from suitability.sun.far import FarLand
from suitability.sun.hillshade import hillshade
from suitability.sun.points import horizon
from suitability.sun.shadows import Scene, lit_hours


def compile_kernels() -> None:
    """Put every kernel to work on a few cells: compiled the first time, loaded from then on."""
    land = np.zeros((4, 5), np.float32)
    sides = [0.0, 90.0, 180.0, 270.0]
    far = FarLand.of(land, 2)
    lit_hours(Scene.of(land, land + 1, 1.0), sides, [45.0] * 4, [1.0] * 4, far=far)
    hillshade(land, 1.0)
    horizon(land, 1.0, 1, 1, 1.0)
