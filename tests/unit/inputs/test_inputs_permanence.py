"""Which water counts: by what its attributes say, and by the season of the run."""

import geopandas
import numpy as np
import pyproj
import pytest
import shapely

from suitability.config import load_run
from suitability.config.days import PartOfYear, days_of
from suitability.config.settings import RunSettings
from suitability.config.sources import Permanence
from suitability.errors import ConfigError, InputError
from suitability.grid import Grid
from suitability.inputs.permanent import flowing_all_season, lasting_of, load_permanence
from suitability.inputs.water import read_water
from suitability.layers import bed_and_bank

CRS = "EPSG:32616"
GRID = Grid(pyproj.CRS.from_epsg(32616), 500_000.0, 4_500_000.0, 10.0, 20, 20)
FILES = {"elevation": "dem.tif", "land_cover": "cover.tif", "streams": "streams.gpkg"}


def settings(**sections):
    """Return a run of these sections; its files are not opened."""
    return RunSettings.model_validate({"inputs": FILES, **sections})


def line(col):
    """Return a brook from north to south through the middle of a column of cells."""
    x = 500_000 + 10 * col + 5
    return shapely.LineString([(x, 4_500_000), (x, 4_499_800)])


def brooks(**columns):
    geometry = [line(2 + 4 * number) for number in range(len(next(iter(columns.values()))))]
    return geopandas.GeoDataFrame(columns, geometry=geometry, crs=CRS)


def lasting(frame, field, table):
    told = Permanence(field=field, table=table)
    return lasting_of(frame, told, load_permanence(told.table), "brooks.gpkg").tolist()


@pytest.mark.parametrize("codes", [[46006, 46003], [46006.0, 46003.0], ["46006", " 46003"]])
def test_codes_are_known_in_whatever_type_a_file_keeps_them(codes) -> None:
    assert lasting(brooks(FCode=codes), "FCode", "nhd") == ["perennial", "intermittent"]


def test_words_say_themselves() -> None:
    words = ["ephemeral", "perennial"]
    assert lasting(brooks(kind=words), "kind", "words") == words


def test_a_table_of_ones_own(tmp_path) -> None:
    path = tmp_path / "own.yaml"
    path.write_text(
        "name: ditches\nsource: county\n"
        "codes: {W: {name: wet, permanence: perennial}, 7: {name: dry, permanence: no_water}}\n"
    )
    assert lasting(brooks(k=["W", "7"]), "k", str(path)) == ["perennial", "no_water"]
    path.write_text("name: ditches\nsource: county\ncodes: {W: {name: wet, permanence: often}}\n")
    with pytest.raises(InputError, match="no table of permanence can be read") as caught:
        lasting(brooks(k=["W"]), "k", str(path))
    assert "permanence" in str(caught.value)


def test_unknown_codes_are_listed_with_how_many_hold_them() -> None:
    frame = brooks(FCode=[46006, 46099, None, 46099])
    with pytest.raises(InputError) as caught:
        lasting(frame, "FCode", "nhd")
    assert "nothing (1 features), 46099 (2 features)" in caught.value.what
    assert "46006" not in caught.value.what
    assert caught.value.fix


def test_a_field_that_is_not_there_is_told_with_those_that_are() -> None:
    with pytest.raises(InputError, match="no field 'fcode'") as caught:
        lasting(brooks(FCode=[46006]), "fcode", "nhd")
    assert "FCode" in str(caught.value.fix)


def test_a_table_that_is_not_shipped_is_refused_with_its_line(tmp_path) -> None:
    path = tmp_path / "run.yaml"
    path.write_text(
        "inputs:\n  elevation: a.tif\n  land_cover: b.tif\n  streams:\n"
        "    path: c.gpkg\n    permanence: {field: FCode, table: nhdplus}\n"
    )
    with pytest.raises(ConfigError, match="'nhdplus' is not the name of a table") as caught:
        load_run(path)
    assert "line 6" in str(caught.value.where)


@pytest.mark.parametrize(
    ("start", "end", "counts"),
    [
        ("04-01", "09-30", {"perennial", "unstated"}),
        ("03-01", "05-31", {"perennial", "unstated", "intermittent"}),
        ("03-01", "06-01", {"perennial", "unstated"}),
        ("12-01", "02-28", {"perennial", "unstated", "intermittent"}),
        ("10-31", "11-30", {"perennial", "unstated"}),
    ],
)
def test_intermittent_water_counts_if_it_flows_all_season(start, end, counts) -> None:
    assert flowing_all_season(settings(season={"start": start, "end": end})) == counts


def test_parts_of_the_year_may_be_stated_or_lifted() -> None:
    never = settings(season={"start": "03-01", "end": "04-30"}, water={"intermittent_flows": None})
    assert "intermittent" not in flowing_all_season(never)
    always = settings(water={"ephemeral_flows": {"start": "01-01", "end": "12-31"}})
    assert "ephemeral" in flowing_all_season(always)


def test_days_go_over_new_year() -> None:
    assert days_of("12-30", "01-02") == {"12-30", "12-31", "01-01", "01-02"}
    assert len(days_of("01-01", "12-31")) == 365
    assert str(PartOfYear(start="11-01", end="05-31")) == "11-01 to 05-31"


def waters(write_vector, codes, **sections):
    path = write_vector(brooks(FCode=codes).geometry.to_list(), FCode=codes)
    source = {"path": str(path), "permanence": {"field": "FCode", "table": "nhd"}}
    run = settings(**sections, inputs={**FILES, "streams": source})
    return read_water(run, GRID, lambda key: key, {})


def test_water_that_may_be_gone_is_a_bed_and_pipes_are_nothing(write_vector) -> None:
    found = waters(write_vector, [46006, 46003, 46007, 42800])
    assert found.counting.geometry.to_list() == [line(2)]
    assert found.dry_beds.geometry.to_list() == [line(6), line(10)]
    (report,) = found.reports
    assert "1 perennial, 1 intermittent, 1 ephemeral, 1 no water" in report.done[-1]
    assert "intermittent water flows from 11-01 to 05-31: no distance" in report.assumed[0]
    assert "ephemeral water flows after rain only" in report.assumed[1]


def test_in_spring_intermittent_water_counts_like_any(write_vector) -> None:
    found = waters(write_vector, [46006, 46003], season={"start": "03-15", "end": "05-15"})
    assert found.counting.geometry.to_list() == [line(2), line(6)]
    assert found.dry_beds is None


def test_water_of_which_nothing_is_said_counts_and_is_warned_of(write_vector) -> None:
    (report,) = waters(write_vector, [46006, 46000]).reports
    assert report.warnings == ("1 features of water do not say how lasting: they count",)


def test_no_water_that_counts_is_an_error_that_says_why(write_vector) -> None:
    with pytest.raises(InputError, match=r"no water: .*1 intermittent") as caught:
        waters(write_vector, [46003])
    assert "Distance to water would be unknown" in caught.value.what


def test_a_bed_and_its_bank_are_cells() -> None:
    beds = brooks(a=[1])
    found = bed_and_bank(beds, GRID, 12.0)
    # The middle of column 2, and centres within 12 m of it: one column on either side.
    assert np.flatnonzero(found.any(axis=0)).tolist() == [1, 2, 3]
    assert found[:, 1:4].all()
    assert np.flatnonzero(bed_and_bank(beds, GRID, 0.0).any(axis=0)).tolist() == [2]


def test_water_beyond_the_grid_counts_as_far_as_distance_reaches(write_vector) -> None:
    beyond = shapely.LineString([(GRID.bounds[2] + 200, GRID.north), (GRID.bounds[2] + 200, 0)])
    path = write_vector([line(2), beyond])
    run = settings(inputs={**FILES, "streams": str(path)})
    for reach, count in (({}, 1), ({"water_distance_m": 150.0}, 1), ({"water_distance_m": 250}, 2)):
        assert len(read_water(run, GRID, lambda key: key, reach).counting) == count
