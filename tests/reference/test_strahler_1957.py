"""Stream order on a network drawn by hand.

A. N. Strahler, Quantitative analysis of watershed geomorphology, Trans. Am. Geophys. Union 38,
913-920, 1957: streams without tributaries are of order 1; where two of one order meet, the next
begins; a lesser tributary changes nothing.
"""

import pyproj
from drainage import counted, drawn

from suitability.flow.network import stream_lines
from suitability.grid import Grid

# The trunk runs down column 4; branches are named by where they join.
TRUNK = [(row, 4) for row in range(2, 10)]
BRANCHES = [
    [(0, 2), (1, 3), (2, 4)],  # 1
    [(0, 6), (1, 5), (2, 4)],  # 1: with it, 2 begins at (2, 4)
    [(2, 2), (3, 3), (4, 4)],  # 1 into 2: still 2
    [(2, 8), (3, 7), (4, 6), (5, 5), (6, 4)],  # 2 from (4, 6) on, for ...
    [(4, 8), (4, 7), (4, 6)],  # ... 1 joins it there; into 2: 3 begins at (6, 4)
    [(6, 1), (7, 2), (7, 3), (8, 4)],  # 2 from (7, 3) on, for ...
    [(8, 1), (8, 2), (7, 3)],  # ... 1 joins it there; into 3: still 3
]
# By the cell in which a stretch begins.
ORDER = {
    (0, 2): 1,
    (0, 6): 1,
    (2, 4): 2,
    (2, 2): 1,
    (4, 4): 2,
    (2, 8): 1,
    (4, 8): 1,
    (4, 6): 2,
    (6, 4): 3,
    (6, 1): 1,
    (8, 1): 1,
    (7, 3): 2,
    (8, 4): 3,
}


def test_orders_are_strahlers() -> None:
    grid = Grid(pyproj.CRS.from_epsg(32616), 500_000.0, 4_500_000.0, 1.0, 10, 9)
    directions = drawn(grid.shape, TRUNK, *BRANCHES)
    counts = counted(directions)
    lines = stream_lines(directions, counts, counts > 0, grid)
    found = {
        grid.cell_of(*line.geometry.coords[0]): line.strahler_order for line in lines.itertuples()
    }
    assert found == ORDER


def test_three_of_one_order_in_one_place_make_one_step() -> None:
    grid = Grid(pyproj.CRS.from_epsg(32616), 500_000.0, 4_500_000.0, 1.0, 5, 5)
    directions = drawn(
        grid.shape,
        [(0, 2), (1, 2), (2, 2), (3, 2), (4, 2)],
        [(0, 0), (1, 1), (2, 2)],
        [(0, 4), (1, 3), (2, 2)],
    )
    counts = counted(directions)
    lines = stream_lines(directions, counts, counts > 0, grid)
    assert sorted(lines["strahler_order"]) == [1, 1, 1, 2]
