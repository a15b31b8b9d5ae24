"""Land counted by score and by reason."""

import numpy as np
import pytest

from suitability.decide import REASONS
from suitability.decide.land_counts import LandCount, PieceOfLand
from suitability.outputs.land_table import rows_of


def test_a_score_at_a_bound_is_in_the_class_that_starts_there():
    piece = PieceOfLand()
    score = np.array([0, 0.0999, 0.1, 0.3, 0.6, 0.7, 0.9, 1], np.float32)
    piece.add(score, np.zeros(8, np.uint16))
    assert piece.scored.tolist() == [2, 1, 0, 1, 0, 0, 1, 1, 0, 2]


def test_parcels_and_what_is_in_none_make_up_the_whole():
    rng = np.random.default_rng(5)
    bits = rng.choice(np.array([0, 0, 2, 8, 10], np.uint16), (40, 30))
    score = np.where(bits == 0, rng.random((40, 30)), np.nan).astype(np.float32)
    parcel = rng.integers(0, 4, (40, 30)).astype(np.int32)
    count = LandCount(3)
    for rows in (slice(0, 17), slice(17, 40)):
        count.add(score[rows], bits[rows], parcel[rows])
    pieces = [*count.parcels, count.elsewhere]
    assert count.whole.cells == 1200
    assert sum(piece.cells for piece in pieces) == 1200
    np.testing.assert_array_equal(sum(piece.scored for piece in pieces), count.whole.scored)
    told = {(part, what): cells for part, what, cells in rows_of(count.parcels[1], REASONS)}
    here = parcel == 2
    assert told["land", "all"] == here.sum()
    assert told["reason", "outside the boundary"] == ((bits & 2 != 0) & here).sum()
    assert told["reason alone", "outside the boundary"] == ((bits == 2) & here).sum()
    assert told["candidates", "all"] + told["excluded", "for any reason"] == here.sum()


def test_a_candidate_without_a_score_is_no_count():
    with pytest.raises(ValueError, match="no score"):
        PieceOfLand().add(np.array([np.nan], np.float32), np.zeros(1, np.uint16))
