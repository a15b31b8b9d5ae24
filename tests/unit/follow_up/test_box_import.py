"""Boxes from CSV, GPX and runs, moves, ends, and the way out and in again."""

from datetime import date
from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from registers import add_visit, new_register

from suitability.errors import InputError, ResultError
from suitability.follow_up import moves
from suitability.follow_up.box_export import export_boxes
from suitability.follow_up.box_rows import import_boxes, read_boxes, rows_of_run

TODAY = date(2026, 11, 25)
GOOD = (
    "box,lon_deg,lat_deg,put_up,taken_down,kind,facing_deg,design,chambers,note\n"
    "Mill 1,-84.3,40.2,2022-03-01,2024-03-01,pole,135,flat,2,by the race\n"
    "Mill 1,-84.31,40.2,2024-03-01,,wall,360,,,\n"
    "Mill 2,-84.32,40.2,2022-03-01,,,,,,\n"
)


def taken(register, tmp_path, text, name="boxes.csv", **more):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return import_boxes(register, read_boxes(path), today=TODAY, **more)


@pytest.fixture
def register(address):
    return new_register(address)


def test_boxes_with_their_history_are_taken_once(register, tmp_path):
    dry = taken(register, tmp_path, GOOD, dry_run=True)
    assert register.boxes().empty
    found = taken(register, tmp_path, GOOD)
    assert dry == found
    assert (found.boxes, found.placements, found.rejected) == (2, 3, ())
    again = taken(register, tmp_path, GOOD)
    assert (again.boxes, again.placements, again.already, again.rejected) == (0, 0, 3, ())
    places = register.placements()
    assert places["box"].tolist() == ["Mill 1", "Mill 1", "Mill 2"]
    assert places["facing_deg"].tolist()[:2] == [135, 0]
    assert places["chambers"].tolist()[:2] == [2, 2]


@pytest.mark.parametrize(
    ("row", "column", "what"),
    [
        ("Mill 2,-84.32,40.2,2023-03-01,,,,,,", "put_up", "in another place from 2022-03-01"),
        ("Mill 2,-84.4,40.2,2022-03-01,,,,,,", "lon_deg", "hung at -84.320000"),
        ("Mill 2,-84.32,40.2,2022-03-01,,pole,,,,", "kind", "has nothing for this box"),
        ("Mill 3,-84.32,95,2022-03-01,,,,,,", "lat_deg", "no number from -90 to 90"),
        ("Mill 3,-84.32,nan,2022-03-01,,,,,,", "lat_deg", "no number"),
        ("Mill 3,-84.32,40.2,,,,,,,", "put_up", "empty"),
        ("Mill 3,-84.32,40.2,2026-11-26,,,,,,", "put_up", "still to come"),
        ("Mill 3,-84.32,40.2,2022-03-01,2022-03-01,,,,,", "taken_down", "not after"),
        ("Mill 3,-84.32,40.2,2022-03-01,,tree,,,,", "kind", "none of the words"),
        (",-84.32,40.2,2022-03-01,,,,,,", "box", "empty"),
    ],
)
def test_bad_rows_are_told(tmp_path, row, column, what):
    register = new_register(tmp_path / "register.gpkg")
    found = taken(register, tmp_path, GOOD + row + "\n")
    assert found.placements == 3
    (rejected,) = found.rejected
    assert rejected.row.number == 5
    assert (rejected.faults[0].column, what in rejected.faults[0].what) == (column, True)
    assert len(register.placements()) == 3


def test_handhelds_waypoints_are_taken(register, tmp_path):
    gpx = (
        '<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="test">'
        '<wpt lat="40.2" lon="-84.3"><time>2022-03-05T15:00:00Z</time><name>BOX1</name></wpt>'
        '<wpt lat="40.3" lon="-84.4"><name>BOX2</name></wpt></gpx>'
    )
    found = taken(register, tmp_path, gpx, "boxes.gpx")
    assert [each.row.cells["box"] for each in found.rejected] == ["BOX2"]
    found = taken(register, tmp_path, gpx, "boxes.gpx", put_up=date(2022, 3, 7))
    assert (found.boxes, found.already) == (1, 1)
    places = register.placements()
    assert places["put_up"].dt.strftime("%m-%d").tolist() == ["03-05", "03-07"]
    assert places["lat_deg"].tolist() == [40.2, 40.3]


SITES = gpd.GeoDataFrame(
    {
        "rank": [1, 2], "site": ["Site 1", "Site 2"], "lon_deg": [-84.3, -84.31],
        "lat_deg": [40.2, 40.2], "box": ["flat", "flat"], "chambers": [2, 2],
        "facing_deg": [170.0, np.nan], "score": [0.9, 0.8], "direct_sun_h": [8.1, 7.0],
    },
    geometry=gpd.points_from_xy([0, 1], [0, 0]), crs=32616,
)  # fmt: skip


def test_sites_of_a_run_are_taken_with_what_was_advised(register, tmp_path):
    run = SimpleNamespace(sites=SITES, folder=tmp_path / "preserve")
    given = rows_of_run(run, [2], "North ")
    found = import_boxes(register, given, today=TODAY, put_up=date(2023, 3, 1))
    assert (found.boxes, found.rejected) == (1, ())
    import_boxes(register, rows_of_run(run, (), ""), today=TODAY, put_up=date(2023, 3, 1))
    places = register.placements()
    assert places["box"].tolist() == ["North Site 2", "Site 1", "Site 2"]
    assert places["run"].unique().tolist() == ["preserve"]
    assert places["design"].tolist()[0] == "flat"
    assert places["kind"].tolist()[0] == "pole"
    assert places["direct_sun_h"].tolist() == [7.0, 8.1, 7.0]
    assert places["facing_deg"].isna().tolist() == [True, False, True]
    with pytest.raises(ResultError, match="no site 3"):
        rows_of_run(run, [1, 3], "")


def test_the_table_of_sites_is_no_table_of_boxes(tmp_path):
    path = tmp_path / "sites.csv"
    path.write_text("rank,site,lon_deg,lat_deg,mgrs,box\n")
    with pytest.raises(InputError, match="what to put up, not which box"):
        read_boxes(path)


def test_moves_and_ends_lose_nothing(register, tmp_path):
    taken(register, tmp_path, GOOD)
    to = {"lon_deg": -84.4, "lat_deg": 40.25, "facing_deg": 90.0}
    days = {"on": date(2025, 2, 1), "why": "empty", "today": TODAY}
    moves.move(register, "Mill 2", to=to, **days)
    places = register.placements()
    assert places["box"].tolist() == ["Mill 1", "Mill 1", "Mill 2", "Mill 2"]
    assert places["why"].tolist()[2] == "empty"
    assert (
        places["taken_down"].tolist()[2] == places["put_up"].tolist()[3] == pd.Timestamp(days["on"])
    )
    assert places["lon_deg"].tolist()[3] == -84.4
    with register.writing() as connection:
        add_visit(connection, "Mill 2", places["placement"].tolist()[3], "2025-06-09")
    later = {"why": "gone", "today": TODAY}
    for box, on, what in (
        ("Mill 2", date(2025, 6, 8), "visited there on 2025-06-09"),
        ("Mill 2", date(2025, 2, 1), "was put up on 2025-02-01"),
        ("Mill 2", date(2026, 11, 26), "still to come"),
        ("Mill 3", date(2025, 7, 1), "no box `Mill 3`"),
    ):
        with pytest.raises(ResultError, match=what):
            moves.take_down(register, box, on=on, **later)
    moves.take_down(register, "Mill 2", on=date(2025, 6, 9), **later)
    with pytest.raises(ResultError, match="`Mill 2` is not up"):
        moves.take_down(register, "Mill 2", on=date(2025, 7, 1), **later)
    assert len(register.placements()) == 4


def test_what_is_exported_can_be_imported(tmp_path):
    register = new_register(tmp_path / "register.gpkg")
    taken(register, tmp_path, GOOD.replace("by the race", "=1+1"))
    assert export_boxes(register.placements(), tmp_path / "out.csv") == 3
    assert "'=1+1" in (tmp_path / "out.csv").read_text()
    other = new_register(tmp_path / "other.gpkg")
    import_boxes(other, read_boxes(tmp_path / "out.csv"), today=TODAY)
    pd.testing.assert_frame_equal(other.placements(), register.placements())
    assert export_boxes(register.placements(), tmp_path / "out.gpx") == 2
    assert [row.cells["box"] for row in read_boxes(tmp_path / "out.gpx").rows] == [
        "Mill 1", "Mill 2"
    ]  # fmt: skip
    with pytest.raises(InputError, match=r"not written as `\.pdf`"):
        export_boxes(register.placements(), tmp_path / "out.pdf")
