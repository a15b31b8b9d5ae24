"""Weights from comparisons and rankings; what contradicts itself is named."""

import numpy as np
import pytest
from judging import judged

from suitability.config.weighing import MOST_COMPARED
from suitability.decide.weighing import RANDOM_INDEX, consistency_of, principal, ranked_shares

LAYERS = ("sun_h", "water_m", "edge_m", "slope_deg")


def compared(pairs, count=3):
    entries = [{"layer": name, "value": {"rising": [0, 1]}} for name in LAYERS[:count]]
    return judged(*entries, weighing={"pairwise": pairs})


def ranked(*ranking, count=4):
    entries = [{"layer": name, "value": {"rising": [0, 1]}} for name in LAYERS[:count]]
    return judged(*entries, weighing={"ranking": ranking})


def test_stated_weights_are_shares_in_proportion():
    entries = [
        {"layer": name, "weight": weight, "value": {"rising": [0, 1]}}
        for name, weight in zip(LAYERS, (2, 1, 5, 0), strict=True)
    ]
    found = judged(*entries).root.weights
    assert found.shares == (0.25, 0.125, 0.625, 0)
    assert (found.origin, found.consistency, str(found)) == ("stated", None, "stated directly")


def test_comparisons_that_agree():
    # Worked by hand: 6 to 3 to 1, so every column of the matrix is a multiple of the weights.
    judgement = compared(
        [["sun_h", "water_m", 2], ["edge_m", "sun_h", "1/6"], ["water_m", "edge_m", 3]]
    )
    assert judgement.shares == pytest.approx((0.6, 0.3, 0.1), abs=1e-12)
    found = judgement.root.weights
    assert found.consistency.ratio == pytest.approx(0, abs=1e-12)
    assert found.consistency.misfit is None
    assert judgement.warnings == ()
    assert str(found) == (
        "from comparisons in pairs, consistency ratio 0.000 (random index 0.58, Saaty 1980)"
    )


def test_two_cannot_contradict_each_other_and_have_no_ratio():
    judgement = compared([["sun_h", "water_m", 3]], count=2)
    assert judgement.shares == pytest.approx((0.75, 0.25))
    found = judgement.root.weights.consistency
    assert (found.index, found.random_index, found.ratio, found.misfit) == (0, 0, None, None)
    assert str(judgement.root.weights) == "from one comparison"


def test_the_comparison_that_fits_least_is_named_with_what_would_fit():
    # 8, 4, 2, 1 throughout, but sun to slope is turned round: its weight says 8, not 1/8.
    weights = dict(zip(LAYERS, (8, 4, 2, 1), strict=True))
    pairs = [
        [one, other, weights[one] / weights[other]]
        for at, one in enumerate(LAYERS)
        for other in LAYERS[at + 1 :]
    ]
    pairs[2][2] = "1/8"
    judgement = compared(pairs, count=4)
    found = judgement.root.weights.consistency
    assert found.ratio > 0.10
    misfit = found.misfit
    assert (misfit.one, misfit.other, misfit.times) == ("slope_deg", "sun_h", pytest.approx(8))
    assert misfit.fitting == pytest.approx(1 / 8)
    assert misfit.ratio == pytest.approx(0, abs=1e-9)
    (warning,) = judgement.warnings
    assert "slope_deg is said to matter 8 times as much as sun_h, the others make it 1/8" in warning
    assert f"consistency ratio {found.ratio:.2f}, more than 0.10" in warning
    assert "random index 0.90, Saaty 1980" in warning
    assert warning.startswith("the comparisons behind the weights contradict each other: ")
    # Taken by its word, the advice puts it right.
    pairs[2][2] = 8
    assert compared(pairs, count=4).warnings == ()


def test_a_warning_names_its_group():
    entries = [{"layer": name, "value": {"rising": [0, 1]}} for name in LAYERS[:3]]
    pairs = [["sun_h", "water_m", 9], ["water_m", "edge_m", 9], ["sun_h", "edge_m", "1/9"]]
    group = {"group": "all land", "weight": 1, "criteria": entries, "weighing": {"pairwise": pairs}}
    (warning,) = judged(group).warnings
    assert warning.startswith("the comparisons behind the weights of all land contradict")


def test_a_ranking_as_it_is_written_and_not_as_the_criteria_are():
    # Rank-order centroid of four: 25/48, 13/48, 7/48, 3/48.
    found = ranked("edge_m", "slope_deg", "sun_h", "water_m")
    shares = dict(zip(LAYERS, found.shares, strict=True))
    assert shares == pytest.approx(
        {"edge_m": 25 / 48, "slope_deg": 13 / 48, "sun_h": 7 / 48, "water_m": 3 / 48}
    )
    assert str(found.root.weights) == "from a ranking (rank-order centroid)"


def test_equals_share_the_weights_of_their_ranks():
    found = ranked("sun_h", ["edge_m", "water_m"], "slope_deg")
    assert found.shares == pytest.approx((25 / 48, 10 / 48, 10 / 48, 3 / 48))
    assert ranked([*LAYERS]).shares == pytest.approx((0.25,) * 4)


@pytest.mark.parametrize("sizes", [[1], [3], [1, 2, 4], [1] * 12, [5, 5]])
def test_ranked_shares_add_up_and_never_rise(sizes):
    shares = ranked_shares(sizes)
    assert len(shares) == sum(sizes)
    assert sum(shares) == pytest.approx(1)
    assert list(shares) == sorted(shares, reverse=True)


def test_there_is_a_random_index_for_all_that_may_be_compared():
    assert len(RANDOM_INDEX) == MOST_COMPARED


def test_a_power_of_the_matrix_finds_the_same_weights():
    # The eigenvector in another way: Perron and Frobenius, by repeated squaring.
    rng = np.random.default_rng(3)
    for count in range(3, 11):
        matrix = np.ones((count, count))
        for i in range(count):
            for j in range(i):
                matrix[i, j] = rng.integers(1, 10) ** rng.choice([-1.0, 1.0])
                matrix[j, i] = 1 / matrix[i, j]
        power = matrix.copy()
        for _ in range(8):
            power = power @ power
            power /= power.sum()
        expected = power.sum(axis=1) / power.sum()
        greatest, shares = principal(matrix)
        np.testing.assert_allclose(shares, expected, rtol=0, atol=1e-12)
        assert greatest == pytest.approx(float((matrix @ expected / expected).mean()))
        found = consistency_of(matrix, [str(at) for at in range(count)])
        assert found.index >= 0
        assert found.misfit is None or found.misfit.ratio < found.ratio
