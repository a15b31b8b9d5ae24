"""A value function in a CSV file: what is read, and how its mistakes are told with their line."""

from __future__ import annotations

from pathlib import Path

import pytest

from suitability.config import load_run
from suitability.config.curve_table import read_table
from suitability.config.curves import ValueFunction
from suitability.config.unfit import UnfitValueError
from suitability.errors import ConfigError

RUN = """\
inputs: {elevation: dem.tif, land_cover: cover.tif, streams: streams.gpkg}
criteria:
- layer: direct_sun_h
  weight: 1
  value:
    table: curves/sun.csv
"""


def table(folder: Path, text: str, encoding: str = "utf-8") -> str:
    path = folder / "curve.csv"
    path.write_text(text, encoding=encoding, newline="")
    return str(path)


def knots(path: str, unit: str):
    return ValueFunction.model_validate({"table": path}).curve(unit).knots


@pytest.mark.parametrize(
    ("text", "unit", "expected"),
    [
        ("sun_h,value\n3,0\n5,0.5\n7,1\n", "h", ((3, 0), (5, 0.5), (7, 1))),
        ("sun (min),value\r\n180,0\r\n420,1\r\n", "h", ((3, 0), (7, 1))),
        ('"distance [ft]","value"\n100,1\n1000,0\n', "m", ((30.48, 1), (304.8, 0))),
        ("\nwater_distance_m , v\n\n 0 , 1 \n\n1e3,.5\n\n", "m", ((0, 1), (1000, 0.5))),
        ("cover_share,value\n0,0\n0.4,1\n", "1", ((0, 0), (0.4, 1))),
        ("cover (%),value\n0,0\n40,1\n", "1", ((0, 0), (0.4, 1))),
        ("edge_m,value\n-5.5,0\n+10,1", "m", ((-5.5, 0), (10, 1))),
    ],
)
def test_tables_that_are_read(tmp_path: Path, text: str, unit: str, expected) -> None:
    found = knots(table(tmp_path, text), unit)
    assert [x for point in found for x in point] == pytest.approx(
        [x for point in expected for x in point], rel=1e-12
    )


def test_a_byte_order_mark_is_no_part_of_the_header(tmp_path: Path) -> None:
    assert knots(table(tmp_path, "a_h,v\n1,0\n2,1\n", "utf-8-sig"), "h") == ((1, 0), (2, 1))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "curve.csv is empty"),
        ("\n \n", "curve.csv is empty"),
        ("sun_h,value\n3,0\n", "curve.csv has 1 line of values"),
        ("3,0\n5,1\n7,1\n", "curve.csv, line 1: '3' names no column"),
        ("sun,value\n3,0\n5,1\n", "curve.csv, line 1: 'sun' names no unit"),
        ("sun_h,value\n3,0\n5,1,2\n", "curve.csv, line 3: 3 columns stand where two belong"),
        ("sun_h;value\n3;0\n5;1\n", "curve.csv, line 1: 1 column stands where two belong"),
        ("sun_h,value\n3,0\n\nfive,1\n", "curve.csv, line 4: 'five' is not a number"),
        ("sun_h,value\n3,0\n5 h,1\n", "curve.csv, line 3: '5 h' is not a number"),
        ("sun_h,value\n3,0\nnan,1\n", "curve.csv, line 3: 'nan' is not a number"),
        ("sun_h,value\n3,0\n5,1.2\n", "curve.csv, line 3: 1.2 is no value from 0 to 1"),
        ("sun_h,value\n3,0\n5,-0.1\n", "curve.csv, line 3: -0.1 is no value from 0 to 1"),
        ("sun_h,value\n5,0\n\n5,1\n", "curve.csv, line 4: 5 h follows 5 h; measures must rise"),
        ("sun (m),value\n3,0\n5,1\n", "curve.csv, line 2: '3 m' is not a time"),
        ("sun (furl),value\n3,0\n5,1\n", "curve.csv, line 2: '3 furl' is not a time"),
        ('sun_h,value\n3,"0\n5,1\n', "curve.csv, line 3: this is not CSV"),
    ],
)
def test_mistakes_are_told_with_file_and_line(tmp_path: Path, text: str, told: str) -> None:
    with pytest.raises(UnfitValueError) as caught:
        read_table(table(tmp_path, text)).knots("h")
    assert told in caught.value.what
    assert caught.value.fix


def test_what_is_no_table_is_told(tmp_path: Path) -> None:
    with pytest.raises(UnfitValueError, match=r"no_such.csv cannot be read"):
        read_table(str(tmp_path / "no_such.csv"))
    with pytest.raises(UnfitValueError, match="cannot be read"):
        read_table(str(tmp_path))
    (tmp_path / "photo.csv").write_bytes(b"sun_h,value\n3,\xff\xfe\n")
    with pytest.raises(UnfitValueError, match=r"photo.csv, line 2: this is not UTF-8"):
        read_table(str(tmp_path / "photo.csv"))
    (tmp_path / "huge.csv").write_bytes(b"0" * 1_000_001)
    with pytest.raises(UnfitValueError, match="larger than 1 MB"):
        read_table(str(tmp_path / "huge.csv"))


def test_a_table_lies_where_the_run_file_sees_it(tmp_path: Path) -> None:
    (tmp_path / "curves").mkdir()
    (tmp_path / "curves" / "sun.csv").write_text("sun_h,value\n3,0\n5,0.8\n7,1\n")
    (tmp_path / "run.yaml").write_text(RUN)
    (criterion,) = load_run(tmp_path / "run.yaml").settings.criteria
    assert criterion.curve.knots == ((3, 0), (5, 0.8), (7, 1))
    # Once read, the file may go: a run remembers the numbers, not the path.
    (tmp_path / "curves" / "sun.csv").unlink()
    assert criterion.in_numbers().value.points == ((3, 0), (5, 0.8), (7, 1))
    assert criterion.in_numbers().curve == criterion.curve


def test_a_mistake_in_a_table_is_told_with_the_line_of_the_run_file_as_well(tmp_path: Path) -> None:
    (tmp_path / "curves").mkdir()
    (tmp_path / "curves" / "sun.csv").write_text("sun_h,value\n3,0\n2,1\n")
    (tmp_path / "run.yaml").write_text(RUN)
    with pytest.raises(ConfigError) as caught:
        load_run(tmp_path / "run.yaml")
    assert caught.value.where == "run.yaml, line 6: criteria[0].value.table"
    assert caught.value.what == "sun.csv, line 3: 2 h follows 3 h; measures must rise"
