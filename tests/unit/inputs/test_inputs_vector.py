"""Vector layers: choice, filter, repair, kinds; and features into cells."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import geopandas
import numpy as np
import pyproj
import pytest
from shapely import (
    GeometryCollection,
    LineString,
    MultiLineString,
    MultiPolygon,
    Point,
    Polygon,
    box,
)

from suitability.config.sources import VectorSource
from suitability.errors import InputError
from suitability.grid import Grid
from suitability.inputs.burn import building_heights, burn, heights_of
from suitability.inputs.vector import read_features

WEST, NORTH = 500_000.0, 4_500_000.0
GRID = Grid(pyproj.CRS.from_epsg(32616), WEST, NORTH, 10.0, 4, 6)
Write = Callable[..., Path]


def at(*cells: tuple[float, float]) -> list[tuple[float, float]]:
    """Return points given as columns and rows of cells."""
    return [(WEST + col * 10, NORTH - row * 10) for col, row in cells]


def square(col: float, row: float, cols: float = 1, rows: float = 1) -> Polygon:
    (west, north), (east, south) = at((col, row), (col + cols, row + rows))
    return box(west, south, east, north)


LINE = LineString(at((0.5, 0.5), (5.5, 0.5)))


def test_a_layer_is_filtered_reprojected_and_counted(write_vector: Write) -> None:
    frame = geopandas.GeoSeries([LINE, LINE.parallel_offset(15), Point(0, 0).buffer(1).boundary],
                                crs=GRID.crs).to_crs(4269)  # fmt: skip
    path = write_vector(list(frame), crs="EPSG:4269", kind=["creek", "ditch", "creek"])
    features, report = read_features(VectorSource(path=path, where="kind = 'creek'"), GRID)
    assert features.crs == GRID.crs
    assert features["kind"].tolist() == ["creek"]
    np.testing.assert_allclose(features.total_bounds, LINE.bounds, atol=1e-3)
    assert "filter \"kind = 'creek'\": 2 kept" in report.done
    assert "reprojected to EPSG:32616" in report.done
    assert report.outside_share == 0.5


def test_features_beyond_the_grid_count_within_the_buffer(write_vector: Write) -> None:
    path = write_vector([LineString(at((8, 0), (8, 4)))])
    assert read_features(VectorSource(path=path), GRID)[0].empty
    assert len(read_features(VectorSource(path=path), GRID, buffer_m=25)[0]) == 1


def test_geometries_are_repaired_flattened_and_taken_apart(write_vector: Write) -> None:
    bowtie = Polygon(at((0, 0), (2, 2), (2, 0), (0, 2)))
    solid = Polygon([(x, y, 7.0) for x, y in at((3, 0), (4, 0), (4, 1))])
    double = MultiPolygon([square(0, 2), square(2, 2)])
    path = write_vector([bowtie, solid, double, None, Polygon()], number=[1, 2, 3, 4, 5])
    features, report = read_features(VectorSource(path=path), GRID, kinds=frozenset({"polygon"}))
    assert features["number"].tolist() == [1, 1, 2, 3, 3]
    assert features.is_valid.all()
    assert not features.has_z.any()
    assert features.area.sum() == pytest.approx(200 + 50 + 200)
    assert "1 invalid geometries repaired" in report.done
    assert "2 without a geometry left out" in report.done


def test_collections_are_opened_and_other_kinds_left_out(write_vector: Write) -> None:
    nested = GeometryCollection([LINE, GeometryCollection([square(1, 1), Point(at((1, 1))[0])])])
    path = write_vector([nested])
    features, report = read_features(
        VectorSource(path=path), GRID, kinds=frozenset({"line", "polygon"})
    )
    assert sorted(features.geom_type) == ["LineString", "Polygon"]
    assert "1 points left out" in report.done


def test_curves_are_read_as_lines(tmp_path: Path) -> None:
    (x0, y0), (x1, y1), (x2, y2) = at((0, 2), (1, 1), (2, 2))
    path = tmp_path / "curve.csv"
    path.write_text(f'WKT,name\n"CIRCULARSTRING ({x0} {y0}, {x1} {y1}, {x2} {y2})",bend\n')
    (tmp_path / "curve.prj").write_text(GRID.crs.to_wkt("WKT1_ESRI"))
    written = tmp_path / "curve.vrt"
    written.write_text(
        '<OGRVRTDataSource><OGRVRTLayer name="curve"><SrcDataSource relativeToVRT="1">curve.csv'
        "</SrcDataSource><LayerSRS>EPSG:32616</LayerSRS></OGRVRTLayer></OGRVRTDataSource>"
    )
    features, _ = read_features(VectorSource(path=written), GRID)
    assert features.geom_type.tolist() == ["LineString"]
    assert features.length[0] == pytest.approx(np.pi * 10, rel=1e-3)


def test_the_wrong_kind_is_refused(write_vector: Write) -> None:
    path = write_vector([Point(at((1, 1))[0])])
    with pytest.raises(
        InputError, match="streams must be lines or polygons; the layer holds points"
    ):
        read_features(
            VectorSource(path=path), GRID, kinds=frozenset({"line", "polygon"}), role="streams"
        )


def test_one_of_several_layers_must_be_named(write_vector: Write) -> None:
    path = write_vector([LINE], layer="flowlines")
    write_vector([square(1, 1)], layer="ponds")
    with pytest.raises(InputError, match="2 layers") as caught:
        read_features(VectorSource(path=path), GRID)
    assert "flowlines, ponds" in str(caught.value.fix)
    with pytest.raises(InputError, match="no layer 'pond'") as caught:
        read_features(VectorSource(path=path, layer="pond"), GRID)
    assert "flowlines, ponds" in str(caught.value.fix)
    features, _ = read_features(VectorSource(path=path, layer="ponds"), GRID)
    assert features.geom_type.tolist() == ["Polygon"]


@pytest.mark.parametrize("where", ["permanent = 1", "name == = 'x'", "name = 'x"])
def test_a_filter_that_cannot_be_used_shows_the_fields(write_vector: Write, where: str) -> None:
    path = write_vector([LINE], name=["creek"], order=[2])
    with pytest.raises(InputError, match="cannot be used") as caught:
        read_features(VectorSource(path=path, where=where), GRID, place="run.yaml, line 9")
    assert "name, order" in str(caught.value.fix)
    assert "run.yaml, line 9" in str(caught.value.where)


@pytest.mark.parametrize(
    ("geometries", "where", "words"),
    [
        ([LINE, LINE], "kind = 'river'", "none of 2 features in features.gpkg pass"),
        ([LineString([(0, 0), (1, 1)])], None, "none of 1 features in features.gpkg reach"),
        ([], None, "has no features"),
    ],
)
def test_nothing_left_is_a_warning_with_the_count(
    write_vector: Write, geometries: list[Any], where: str | None, words: str
) -> None:
    path = write_vector(geometries, kind=["creek"] * len(geometries))
    features, report = read_features(VectorSource(path=path, where=where), GRID)
    assert features.empty
    assert words in report.warnings[0]


def test_latin_1_text_survives(write_vector: Write, tmp_path: Path) -> None:
    write_vector([LINE], "bach.shp", naam=["Säbach"])
    table = tmp_path / "bach.dbf"
    table.write_bytes(table.read_bytes().replace("Säbach".encode(), "Säbach ".encode("latin-1")))
    (tmp_path / "bach.cpg").write_text("UTF-8")  # and it lies about its encoding
    features, _ = read_features(VectorSource(path=tmp_path / "bach.shp"), GRID)
    assert features["naam"].tolist() == ["Säbach"]


@pytest.mark.parametrize("odd", [np.inf, -np.inf, 1e300, -2e9])
def test_coordinates_that_are_nowhere_are_refused(write_vector: Write, odd: float) -> None:
    whole = LineString([(WEST, NORTH), (WEST + 50, NORTH - 50)])
    broken = LineString([(WEST, NORTH), (odd, NORTH - 50), (WEST + 50, NORTH - 50)])
    path = write_vector([whole, broken])
    with pytest.raises(InputError, match="1 of 2 features have coordinates that are nowhere"):
        read_features(VectorSource(path=str(path)), GRID)


def test_a_file_that_is_none_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "notes.gpkg"
    path.write_text("not a package")
    for broken in (path, tmp_path / "absent.gpkg"):
        with pytest.raises(InputError, match="cannot be opened"):
            read_features(VectorSource(path=broken), GRID)


def test_a_large_layer_is_read_through_its_index(
    write_vector: Write, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("suitability.inputs.vector.READ_WHOLE", 1)
    away = LineString([(0, 0), (1, 1)])
    path = write_vector([LINE, away, MultiLineString([LINE])], kind=["a", "a", "b"])
    assert len(read_features(VectorSource(path=path, where="kind = 'a'"), GRID)[0]) == 1


def frame(geometries: list[Any], **columns: list[Any]) -> geopandas.GeoDataFrame:
    return geopandas.GeoDataFrame(columns, geometry=geometries, crs=GRID.crs)


def test_touched_cells_are_burnt_or_only_covered_centres() -> None:
    slim = frame([square(1.6, 0.2, 1.3, 1.2)])
    touched = burn(slim, GRID, all_touched=True)
    assert np.argwhere(touched).tolist() == [[0, 1], [0, 2], [1, 1], [1, 2]]
    assert np.argwhere(burn(slim, GRID, all_touched=False)).tolist() == [[0, 2]]
    assert not burn(frame([]), GRID, all_touched=True).any()


def test_a_diagonal_line_has_no_gap() -> None:
    burnt = burn(frame([LineString(at((0.1, 0.2), (5.9, 3.7)))]), GRID, all_touched=True)
    rows, cols = np.nonzero(burnt)
    # Every cell but the first shares an edge with another one of the line.
    for row, col in zip(rows, cols, strict=True):
        assert (np.abs(rows - row) + np.abs(cols - col) == 1).any()
    assert set(cols) == set(range(6))


def test_the_taller_building_wins_and_gaps_take_the_default() -> None:
    houses = frame(
        [square(0, 0, 2, 2), square(1, 1, 2, 2), square(4, 0), square(4, 3),
         square(5.6, 3.6, 0.3, 0.3)],
        height_m=["12.5", "8", None, "-3", "9"],
    )  # fmt: skip
    heights = building_heights(houses, GRID, height_field="height_m", unit="ft", default_m=5.0)
    tall, low = np.float32(12.5 * 0.3048), np.float32(8 * 0.3048)
    expected = np.zeros((4, 6), dtype=np.float32)
    expected[1:3, 1:3] = low
    expected[0:2, 0:2] = tall
    expected[0, 4] = expected[3, 4] = 5.0
    np.testing.assert_array_equal(heights, expected)
    assert heights.dtype == np.float32
    metres, known = heights_of(houses, height_field="height_m", unit="ft")
    np.testing.assert_array_equal(known, [True, True, False, False, True])
    np.testing.assert_allclose(metres[known], np.array([12.5, 8, 9]) * 0.3048)


def test_buildings_without_a_field_all_take_the_default() -> None:
    house = frame([square(2, 2)])
    heights = building_heights(house, GRID, height_field=None, default_m=4.0)
    assert heights[2, 2] == heights.sum() == 4
    assert heights_of(house, height_field=None, unit="m")[1].tolist() == [False]
    none = building_heights(frame([]), GRID, height_field="h", default_m=4.0)
    assert not none.any()
    assert heights_of(frame([]), height_field="h", unit="m")[1].size == 0
