"""Feet to metres on heights read from files.

Source: NIST Special Publication 811 (2008), Appendix B.6 and B.8: the international foot is
0.3048 m exactly, the US survey foot 1200/3937 m exactly.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import numpy as np
import pyproj
import pytest

from suitability.config.sources import HeightSource
from suitability.grid import Grid
from suitability.inputs.raster import read_heights
from suitability.inputs.vertical import TO_METRES

US_SURVEY_FOOT = Fraction(1200, 3937)
HERE = Grid(pyproj.CRS.from_epsg(32616), 500_000.0, 4_500_000.0, 10.0, 1, 3)


def test_the_feet_are_those_of_nist() -> None:
    assert TO_METRES["ft"] == 0.3048
    assert TO_METRES["us_survey_ft"] == float(US_SURVEY_FOOT)
    # The worked difference of the two: 1.22 m on two million feet of State Plane easting.
    apart_m = 2_000_000 * (TO_METRES["us_survey_ft"] - TO_METRES["ft"])
    assert apart_m == pytest.approx(1.22, abs=0.005)


@pytest.mark.parametrize("feet", [(0.0, 3937.0, 19_685.0), (-100.5, 1.0, 14_505.25)])
def test_survey_feet_become_metres(
    write_raster: Callable[..., Path], feet: tuple[float, ...]
) -> None:
    path = write_raster(np.array([feet], dtype=np.float32), unit="us-ft")
    heights, report = read_heights(HeightSource(path=path), HERE)
    expected = [float(Fraction(value) * US_SURVEY_FOOT) for value in feet]
    # To the last bit that float32 holds; the international foot is off by 12 mm at 6,000 m.
    assert heights.tolist() == [[float(np.float32(value)) for value in expected]]
    assert any("us_survey_ft" in fact for fact in report.facts)


def test_survey_and_international_feet_part_where_float32_can_tell(
    write_raster: Callable[..., Path],
) -> None:
    path = write_raster(np.array([[19_685.0, 1.0, 1.0]], dtype=np.float32))
    survey = read_heights(HeightSource(path=path, unit="us_survey_ft"), HERE)[0][0, 0]
    international = read_heights(HeightSource(path=path, unit="ft"), HERE)[0][0, 0]
    assert survey == 6000.0  # 19,685 = 5 × 3,937
    assert survey - international == pytest.approx(0.012, abs=0.0005)


def test_heights_do_not_change_by_reprojection(write_raster: Callable[..., Path]) -> None:
    # EPSG:2965, Indiana East in US survey feet: the heights are metres all the same.
    feet = pyproj.CRS.from_epsg(2965)
    x, y = pyproj.Transformer.from_crs(HERE.crs, feet, always_xy=True).transform(*HERE.centre)
    path = write_raster(np.full((40, 40), 250.0, dtype=np.float32), crs=feet, west=x - 400,
                        north=y + 400, cell=20.0)  # fmt: skip
    heights, _ = read_heights(HeightSource(path=path, unit="m"), HERE)
    assert heights.tolist() == [[250.0] * 3]
