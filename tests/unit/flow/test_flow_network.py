"""A stream network from a valley whose every cell can be worked by hand."""

import numpy as np
import pyproj
import pytest
from drainage import counted, drawn

from suitability.flow import flow_engine, stream_network
from suitability.flow.network import stream_lines, with_low_holes
from suitability.grid import Grid

CELL_M = 10.0
HA = 10_000.0


def grid_of(shape):
    return Grid(pyproj.CRS.from_epsg(32616), 500_000.0, 4_500_000.0, CELL_M, *shape)


def valley(rows=60, cols=41, side=1.0):
    """Return a straight valley that falls to the south: its sides lead into the middle column."""
    row, col = np.indices((rows, cols))
    return (100 - 0.1 * row + side * abs(col - cols // 2)).astype(np.float32)


def network_of(ground, area_m2=2 * HA):
    return stream_network(ground, grid_of(ground.shape), area_m2, flow_engine("pyflwdir"))


def test_a_valley_has_one_stream_in_its_middle_from_where_enough_land_drains() -> None:
    network = network_of(valley())
    (line,) = network.lines.geometry
    x, y = np.array(line.coords).T
    assert set(x) == {500_000 + 20.5 * CELL_M}
    # A side falls ten times as steeply as the valley, so each row runs straight to the middle: its
    # cell of row k gathers 41 (k + 1) cells. 2 ha are 200.
    first = int(np.ceil(200 / 41)) - 1
    assert y[0] == 4_500_000 - (first + 0.5) * CELL_M
    assert y[-1] == 4_500_000 - 59.5 * CELL_M
    assert network.lines["strahler_order"].tolist() == [1]
    assert network.lines["upstream_ha"].tolist() == [60 * 41 * CELL_M**2 / HA]
    assert (network.filled_share, network.deepest_m) == (0.0, 0.0)


def test_two_streams_meet_in_one_of_the_next_order() -> None:
    directions = drawn(
        (5, 5), [(0, 0), (1, 1), (2, 2)], [(0, 4), (1, 3), (2, 2)], [(2, 2), (3, 2), (4, 2)]
    )
    counts = counted(directions)
    lines = stream_lines(directions, counts, counts >= 1, grid_of((5, 5)))
    order = lines["strahler_order"].tolist()
    assert sorted(order) == [1, 1, 2]
    trunk = lines[lines["strahler_order"] == 2].iloc[0]
    assert trunk["upstream_ha"] == pytest.approx(7 * CELL_M**2 / HA)
    # Each branch reaches the confluence, and tells the land above it.
    middle = (500_000 + 2.5 * CELL_M, 4_500_000 - 2.5 * CELL_M)
    for branch in lines[lines["strahler_order"] == 1].itertuples():
        assert branch.geometry.coords[-1] == middle
        assert branch.upstream_ha == pytest.approx(2 * CELL_M**2 / HA)


def test_a_pond_is_filled_and_the_stream_runs_on_through_it() -> None:
    ground = valley()
    whole = network_of(ground)
    ground[30:34, 19:22] -= 3.0
    network = network_of(ground)
    assert network.filled_share > 0
    assert network.deepest_m == pytest.approx(3.0, abs=0.5)
    assert network.lines["upstream_ha"].max() == whole.lines["upstream_ha"].max()


def test_unknown_land_within_is_low_and_unknown_land_at_the_rim_is_the_sea() -> None:
    ground = valley()
    whole = network_of(ground).lines
    ground[30:33, 19:22] = np.nan
    assert network_of(ground).lines["upstream_ha"].max() == whole["upstream_ha"].max()
    ground[30:, 20] = np.nan  # an arm of the sea: the stream ends at its head
    (line,) = network_of(ground).lines.geometry[:1]
    assert min(y for _, y in line.coords) >= 4_500_000 - 30.5 * CELL_M


def test_holes_are_told_from_the_sea() -> None:
    ground = np.ones((5, 6), np.float32)
    ground[2, 2] = np.nan
    ground[:2, 5] = np.nan
    told = with_low_holes(ground)
    assert told[2, 2] == 0
    assert np.isnan(told[:2, 5]).all()
    assert np.isnan(told).sum() == 2


def test_a_valley_cut_by_the_rim_is_told_of() -> None:
    # Its upper end is cut 5 m deep and no stream leaves there; by its lower end one does.
    wide = valley(rows=200, cols=201, side=0.05)
    assert network_of(wide).inlets == 1
    # The same valley with its head within the known land: a slope across the upper rim.
    row, _ = np.indices(wide.shape)
    assert network_of(np.where(row < 5, 200 + wide.max(), wide)).inlets == 0


def test_land_without_enough_drainage_has_no_stream() -> None:
    assert network_of(valley(), area_m2=100 * HA).lines.empty
