"""What tiles tell of an input, put together."""

import json
from dataclasses import asdict

import pytest

from suitability.inputs.report import InputReport, merge_reports

GROUND = InputReport(
    "elevation",
    "dem.tif",
    facts=("GTiff", "300.0 to 311.0 m seen"),
    done=("read as they are",),
    warnings=("2 cells hold -9999 and were taken as nodata",),
    outside_share=0.5,
)


def test_a_report_comes_back_from_plain_values():
    kept = json.loads(json.dumps(asdict(GROUND)))
    assert InputReport.of(kept) == GROUND
    assert InputReport.of(asdict(GROUND)) == GROUND


def test_one_tile_tells_all():
    assert merge_reports([(12, [GROUND])]) == [GROUND]
    assert merge_reports([]) == []


def test_what_tiles_tell_alike_is_told_once():
    cover = InputReport("land cover", "cover.tif", facts=("legend NLCD",))
    found = merge_reports([(10, [GROUND, cover]), (10, [GROUND, cover])])
    assert found == [GROUND, cover]


def test_numbers_of_tiles_are_told_as_of_the_first():
    other = InputReport(
        "elevation",
        "dem.tif",
        facts=("GTiff", "290.5 to 300.0 m seen"),
        done=("read as they are",),
        warnings=("17 cells hold -9999 and were taken as nodata", "heights are odd"),
    )
    (found,) = merge_reports([(10, [GROUND]), (10, [other])])
    more = " (in one tile; alike in others)"
    assert found.facts == ("GTiff", "300.0 to 311.0 m seen" + more)
    assert found.done == ("read as they are",)
    assert found.warnings == (GROUND.warnings[0] + more, "heights are odd")


def test_the_share_without_data_weighs_tiles_by_their_cells():
    full = InputReport("elevation", "dem.tif")
    (found,) = merge_reports([(30, [full]), (10, [GROUND])])
    assert found.outside_share == pytest.approx(0.125)  # 5 of 40 cells


def test_inputs_of_one_role_stay_apart_in_their_order():
    brook = InputReport("streams", "brook.gpkg")
    pond = InputReport("streams", "pond.gpkg")
    found = merge_reports([(1, [brook, pond]), (1, [pond, brook])])
    assert [report.path for report in found] == ["brook.gpkg", "pond.gpkg"]
