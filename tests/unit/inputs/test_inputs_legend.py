"""Legends: the shipped ones, own ones, and codes that no legend holds."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from suitability.errors import InputError
from suitability.inputs.legend import NO_CLASS, load_legend


def test_nlcd_codes_are_those_of_the_published_legend() -> None:
    # MRLC (USGS), National Land Cover Database class legend, with Alaska's four.
    published = {11, 12, 21, 22, 23, 24, 31, 41, 42, 43, 51, 52, 71, 72, 73, 74, 81, 82, 90, 95}
    legend = load_legend("nlcd")
    assert legend.codes == published
    assert legend.name_of(90) == "Woody Wetlands"
    assert legend.name_of(250) == "no data"


def test_worldcover_codes_are_those_of_the_published_legend() -> None:
    # ESA WorldCover Product User Manual, class legend.
    assert load_legend("worldcover").codes == {10, 20, 30, 40, 50, 60, 70, 80, 90, 95, 100}


def test_masks_and_assumed_canopy_follow_the_classes() -> None:
    legend = load_legend("nlcd")
    codes = np.array([[11, 41, 52], [90, 21, NO_CLASS]], dtype=np.int16)
    assert legend.mask_of(codes, "water").tolist() == [[True, False, False], [False] * 3]
    assert legend.mask_of(codes, "forest", "wetland").tolist() == [
        [False, True, False],
        [True, False, False],
    ]
    heights = legend.assumed_canopy_m(codes)
    assert heights.dtype == np.float32
    np.testing.assert_array_equal(heights, [[0, 18, 2], [15, 0, np.nan]])


def test_unknown_codes_are_listed_with_their_counts() -> None:
    with pytest.raises(InputError) as caught:
        load_legend("nlcd").require_known({11: 5, 77: 1200, 13: 2, NO_CLASS: 9, 250: 4}, "lc.tif")
    assert "13 (2 cells), 77 (1,200 cells)" in caught.value.what
    assert "250" not in caught.value.what
    assert caught.value.where == "lc.tif"


@pytest.mark.parametrize(
    ("counts", "hint"),
    [
        ({10: 5, 30: 5, 80: 1}, "legend: worldcover"),
        ({20: 5, 111: 3, 126: 1}, "100 m global land cover of Copernicus"),
        ({11: 5, 91: 3}, "1992"),
        ({11: 5, 77: 3}, "write one in YAML"),
    ],
)
def test_a_wrong_legend_is_hinted_at_and_never_guessed(counts: dict[int, int], hint: str) -> None:
    with pytest.raises(InputError) as caught:
        load_legend("nlcd").require_known(counts)
    assert hint in str(caught.value.fix)


def test_an_own_legend_is_read(tmp_path: Path) -> None:
    path = tmp_path / "own.yaml"
    path.write_text(
        "name: Own\nsource: field map 2024\nnodata: [0, -9999]\n"
        "classes:\n  7: {name: Bog, group: wetland}\n  3: {name: Oaks, group: forest}\n"
        "  4: {name: Coppice, group: forest, canopy_height_m: 6.5}\n"
    )
    legend = load_legend(path)
    assert legend.nodata == (-9999, 0)
    assert [(c.code, c.name, c.canopy_height_m) for c in legend.classes] == [
        (3, "Oaks", 18.0),
        (4, "Coppice", 6.5),
        (7, "Bog", 0.0),
    ]


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", "valid dictionary"),
        ("name: [", "no legend can be read"),
        ("name: A\nsource: B\nclasses: {}", "classes"),
        ("name: A\nsource: B\nclasses: {1: {name: C, group: woods}}", "classes.1.group"),
        ("name: A\nsource: B\nclasses: {-1: {name: C, group: forest}}", "classes.-1"),
        ("name: A\nsource: B\nclasses: {99999: {name: C, group: forest}}", "classes.99999"),
        (
            "name: A\nsource: B\nclasses: {1: {name: C, group: forest, canopy_height_m: .nan}}",
            "canopy_height_m",
        ),
        ("name: A\nsource: B\nnodata: [1]\nclasses: {1: {name: C, group: ice}}", "both"),
        ("name: A\nsource: B\nclasses: {1: {name: C, group: ice}}\nextra: 1", "extra"),
    ],
)
def test_what_is_no_legend_is_refused(tmp_path: Path, text: str, fault: str) -> None:
    path = tmp_path / "own.yaml"
    path.write_text(text)
    with pytest.raises(InputError) as caught:
        load_legend(path, "run.yaml, line 4")
    assert fault in caught.value.what
    assert "run.yaml, line 4" in str(caught.value.where)


def test_bytes_that_are_no_text_and_missing_files_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "own.yaml"
    path.write_bytes(b"\xff\xfe\x00name")
    for broken in (path, tmp_path / "absent.yaml", tmp_path):
        with pytest.raises(InputError, match="no legend can be read"):
            load_legend(broken)
