"""Flow directions, worked by hand: the steepest way down, then across flats to where they drain."""

import numpy as np
import pytest

from suitability.kernels.flow import OUTLET, UNKNOWN, d8_directions


def directions(rows):
    return d8_directions(np.array(rows, np.float32)).tolist()


def test_water_takes_the_steepest_of_eight_ways_by_distance() -> None:
    # From the middle: 1 down to the east, 1.3 to the south-east over 1.41 cells, that is 0.92.
    assert directions([[9, 9, 9], [9, 5, 4], [9, 9, 3.7]])[1][1] == 1
    # 1.5 over 1.41 cells is 1.06: steeper.
    assert directions([[9, 9, 9], [9, 5, 4], [9, 9, 3.5]])[1][1] == 2


@pytest.mark.parametrize(
    ("row", "col", "code"),
    [(1, 2, 1), (2, 2, 2), (2, 1, 4), (2, 0, 8), (1, 0, 16), (0, 0, 32), (0, 1, 64), (0, 2, 128)],
)
def test_each_direction_has_its_code(row: int, col: int, code: int) -> None:
    z = np.full((3, 3), 9.0, np.float32)
    z[1, 1], z[row, col] = 5.0, 1.0
    assert d8_directions(z)[1, 1] == code
    assert d8_directions(z)[row, col] == OUTLET


def test_of_equals_the_first_of_east_south_west_north_is_taken() -> None:
    assert directions([[9, 4, 9], [4, 5, 4], [9, 4, 9]])[1][1] == 1
    assert directions([[9, 4, 9], [4, 5, 9], [9, 4, 9]])[1][1] == 4


def test_a_flat_drains_the_shortest_way_to_its_lower_end() -> None:
    found = directions(
        [
            [9, 9, 9, 9, 9, 9],
            [9, 5, 5, 5, 5, 1],
            [9, 5, 5, 5, 5, 9],
            [9, 9, 9, 9, 9, 9],
        ]
    )
    assert found[1][1:5] == [1, 1, 1, 1]
    assert found[2][1:4] == [128, 128, 128]
    assert found[2][4] == 128  # its own steepest drop, over the corner


def test_a_flat_without_a_lower_end_drains_over_the_rim() -> None:
    found = directions([[5, 5, 5], [5, 5, 5], [5, 5, 5]])
    assert found[1][1] not in (OUTLET, UNKNOWN)
    rim = [found[0], found[2], [found[1][0], found[1][2]]]
    assert all(code == OUTLET for part in rim for code in part)


def test_land_beside_the_unknown_is_a_rim() -> None:
    nan = np.nan
    found = directions([[9, 9, 9, 9], [9, 5, nan, 9], [9, 9, 9, 9]])
    assert found[1][1] == OUTLET
    assert found[1][2] == UNKNOWN


def test_a_pit_is_left_as_an_end_and_never_a_loop() -> None:
    assert directions([[9, 9, 9], [9, 1, 9], [9, 9, 9]])[1][1] == OUTLET
