"""The unit of heights: who says it, who wins."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from suitability.errors import InputError
from suitability.inputs.opening import open_raster
from suitability.inputs.vertical import vertical_unit

FLAT = np.zeros((2, 2), dtype=np.float32)
Write = Callable[..., Path]


@pytest.mark.parametrize(
    ("tag", "unit"),
    [
        ("m", "m"), ("metre", "m"), ("Meters", "m"), ("ft", "ft"), ("foot", "ft"), ("Feet", "ft"),
        ("us-ft", "us_survey_ft"), ("US survey foot", "us_survey_ft"), ("ftUS", "us_survey_ft"),
    ],
)  # fmt: skip
def test_the_band_tag_is_read(write_raster: Write, tag: str, unit: str) -> None:
    with open_raster(write_raster(FLAT, unit=tag)) as dataset:
        found = vertical_unit(dataset)
    assert (found.unit, found.how_known) == (unit, "from the band's unit tag")


@pytest.mark.parametrize(
    ("vertical", "unit"),
    # EPSG: NAVD88 height in metres (5703), feet (8228), US survey feet (6360).
    [(5703, "m"), (8228, "ft"), (6360, "us_survey_ft")],
)
def test_a_compound_crs_is_read(write_raster: Write, vertical: int, unit: str) -> None:
    path = write_raster(FLAT, crs=f"EPSG:32616+{vertical}")
    with open_raster(path) as dataset:
        assert vertical_unit(dataset).unit == unit


def test_metres_that_only_the_run_file_states_are_doubted_where_the_map_is_in_feet(
    write_raster: Write,
) -> None:
    with open_raster(write_raster(FLAT, crs="EPSG:2965")) as dataset:
        assert "3.3 times" in str(vertical_unit(dataset, "m").conflict)
        assert vertical_unit(dataset, "us_survey_ft").conflict is None
    with open_raster(write_raster(FLAT, crs="EPSG:2965", unit="m")) as dataset:
        assert vertical_unit(dataset, "m").conflict is None
    with open_raster(write_raster(FLAT)) as dataset:
        assert vertical_unit(dataset, "m").conflict is None


def test_feet_across_say_nothing_of_feet_up(write_raster: Write) -> None:
    # EPSG:2965 counts eastings in US survey feet; heights there are often metres.
    with (
        open_raster(write_raster(FLAT, crs="EPSG:2965")) as dataset,
        pytest.raises(InputError, match="in which unit"),
    ):
        vertical_unit(dataset)


def test_the_run_file_wins_with_a_warning(write_raster: Write) -> None:
    with open_raster(write_raster(FLAT, unit="m")) as dataset:
        found = vertical_unit(dataset, "ft")
        agreed = vertical_unit(dataset, "m")
    assert found.unit == "ft"
    assert found.factor_to_m == 0.3048
    assert "states heights in ft" in str(found.conflict)
    assert agreed.conflict is None


def test_an_assumed_unit_is_marked(write_raster: Write) -> None:
    with open_raster(write_raster(FLAT)) as dataset:
        assert vertical_unit(dataset, assumed="m").is_assumed
