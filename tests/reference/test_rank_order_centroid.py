"""Weights from a ranking against the published table of rank-order centroids.

Source: Barron, F. H. and Barrett, B. E. (1996), Decision quality using ranked attribute weights,
Management Science 42, 1515-1523 (table from memory; every entry follows from the formula).
"""

import numpy as np
import pytest

from suitability.decide.weighing import ranked_shares

TABLE = {
    2: (0.75, 0.25),
    3: (0.6111, 0.2778, 0.1111),
    4: (0.5208, 0.2708, 0.1458, 0.0625),
    5: (0.4567, 0.2567, 0.1567, 0.0900, 0.0400),
    6: (0.4083, 0.2417, 0.1583, 0.1028, 0.0611, 0.0278),
    7: (0.3704, 0.2276, 0.1561, 0.1085, 0.0728, 0.0442, 0.0204),
    8: (0.3397, 0.2147, 0.1522, 0.1106, 0.0793, 0.0543, 0.0335, 0.0156),
}


@pytest.mark.parametrize("count", TABLE)
def test_the_table(count):
    assert ranked_shares([1] * count) == pytest.approx(TABLE[count], abs=1e-4)


@pytest.mark.parametrize("count", TABLE)
def test_it_is_the_centroid_of_all_weights_in_that_order(count):
    """What the name says: the mean of the corners of the ranked weights' simplex."""
    corners = [[1 / k] * k + [0.0] * (count - k) for k in range(1, count + 1)]
    assert ranked_shares([1] * count) == pytest.approx(np.mean(corners, axis=0))
