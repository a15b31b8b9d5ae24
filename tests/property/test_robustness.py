"""What holds of any ranking under unsure weights, whatever the land."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from suitability.decide.robustness import rank_acceptability
from suitability.decide.robustness import ranking as ranked
from suitability.decide.robustness_land import sampled, thresholds, times_among_best
from suitability.decide.robustness_swings import moved, swing
from suitability.decide.robustness_weights import Spread, draw_weights, weighted_means
from suitability.grid import Window

LEVELS = st.integers(0, 16).map(lambda sixteenths: sixteenths / 16)


@st.composite
def rankings(draw, *, least=1):
    """Draw values of alternatives, weights as given, and draws of them."""
    count, criteria = draw(st.integers(least, 12)), draw(st.integers(2, 5))
    values = draw(hnp.arrays(np.float64, (count, criteria), elements=LEVELS))
    weights = np.array(draw(st.lists(st.integers(1, 9), min_size=criteria, max_size=criteria)))
    weights = weights / weights.sum()
    spread = Spread(draw(st.sampled_from([None, 2, 20, 500])))
    drawn = draw_weights(
        weights, (slice(0, criteria),), spread, draws=200, seed=draw(st.integers(0, 99))
    )
    return values, weights, drawn


@given(rankings())
def test_every_alternative_has_a_rank_and_every_rank_an_alternative(ranking):
    values, _, drawn = ranking
    found = rank_acceptability(weighted_means, values, drawn)
    np.testing.assert_allclose(found.ranks.sum(axis=0), 1)
    np.testing.assert_allclose(found.ranks.sum(axis=1), 1)
    favoured = found.none_better > 0
    np.testing.assert_array_equal(np.isnan(found.central_weights[:, 0]), ~favoured)
    np.testing.assert_allclose(found.central_weights[favoured].sum(axis=1), 1)
    # Of equals one is ranked first, and all of them have none better.
    assert (found.none_better >= found.ranks[:, 0]).all()
    scores = weighted_means(values, drawn)
    if (np.sort(scores)[:, -1:] > np.sort(scores)[:, -2:-1]).all():
        np.testing.assert_array_equal(found.none_better, found.ranks[:, 0])
        # What favours each alternative makes up all the weights that were drawn.
        mixed = found.none_better[favoured] @ found.central_weights[favoured]
        np.testing.assert_allclose(mixed, drawn.mean(axis=0))


@given(rankings(least=2))
def test_equals_are_told_apart_by_their_order_alone(ranking):
    values, _, drawn = ranking
    values[1] = values[0]
    found = rank_acceptability(weighted_means, values, drawn)
    assert found.none_better[0] == found.none_better[1]
    np.testing.assert_array_equal(found.central_weights[0], found.central_weights[1])
    np.testing.assert_array_equal(found.ranks[1, 1:], found.ranks[0, :-1])
    assert found.ranks[1, 0] == 0


@given(rankings(least=2), st.data())
def test_what_is_worse_than_another_in_everything_is_never_first(ranking, data):
    values, _, drawn = ranking
    values[1] = (
        values[0]
        - np.array(
            data.draw(
                st.lists(st.integers(1, 4), min_size=values.shape[1], max_size=values.shape[1])
            )
        )
        / 16
    )
    found = rank_acceptability(weighted_means, values, drawn)
    assert found.none_better[1] == 0
    assert found.ranks[1, 0] == 0
    assert np.isnan(found.central_weights[1]).all()


@given(rankings(), st.data())
def test_the_order_of_the_criteria_is_no_matter(ranking, data):
    values, weights, drawn = ranking
    order = data.draw(st.permutations(range(values.shape[1])))
    found = rank_acceptability(weighted_means, values, drawn)
    turned = rank_acceptability(weighted_means, values[:, order], drawn[:, order])
    np.testing.assert_array_equal(turned.ranks, found.ranks)
    np.testing.assert_array_equal(turned.central_weights, found.central_weights[:, order])
    everything = slice(0, weights.size)
    swung = swing(weighted_means, values, weights, everything, order[0], listed=2)
    same = swing(weighted_means, values[:, order], weights[order], everything, 0, listed=2)
    np.testing.assert_array_equal(swung.kept, same.kept)
    assert (swung.best_stays, swung.list_stays) == (same.best_stays, same.list_stays)


def test_what_is_equal_whatever_the_weight_is_no_change():
    # 3 of the second and 1 of the third: 19/16 both, and the first is 0 for both.
    values = np.array([[0, 0.1875, 0.625], [0, 0.375, 0.0625], [0, 0, 0]])
    for weights in ([1 / 3, 0.5, 1 / 6], [0.2, 0.6, 0.2]):
        found = swing(weighted_means, values, np.array(weights), slice(0, 3), 0, listed=1)
        assert found.best_stays == found.list_stays == (0.0, 1.0)
        assert (found.kept == 1).all()


@settings(max_examples=30)
@given(rankings(least=3), st.integers(0, 4), st.integers(1, 3))
def test_within_its_range_the_best_stays_and_beyond_it_does_not(ranking, at, listed):
    values, weights, _ = ranking
    at %= weights.size
    everything = slice(0, weights.size)
    found = swing(weighted_means, values, weights, everything, at, listed=listed)

    now = int(ranked(weighted_means(values, weights[None, :]))[0, 0])

    def is_best(share):
        scores = weighted_means(values, moved(weights, everything, at, np.array([share])))[0]
        return scores[now] >= scores.max() - 1e-7  # equals may differ by a last bit

    low, high = found.best_stays
    assert low <= found.share <= high
    for share in np.linspace(low, high, 7):
        assert is_best(share)
    for share in (low - 1e-4, high + 1e-4):
        if 0 <= share <= 1:
            assert not is_best(share)
    assert found.kept[found.shares == found.share] == 1
    # The list is a set; with one listed it is the best one.
    if listed == 1:
        assert found.list_stays == found.best_stays


@given(rankings(least=6), st.integers(1, 5), st.integers(1, 5))
def test_pieces_of_the_land_give_what_the_whole_gives(ranking, first, second):
    values, _, drawn = ranking
    lowest = thresholds(weighted_means, values, drawn)
    whole = times_among_best(weighted_means, values, drawn, lowest)
    parts = np.split(values, sorted({first, second}))
    pieces = [times_among_best(weighted_means, part, drawn, lowest) for part in parts]
    np.testing.assert_array_equal(np.concatenate(pieces), whole)
    # In every draw at least the best tenth is in.
    assert whole.sum() >= max(1, round(0.1 * len(values))) * len(drawn)


@given(st.integers(0, 3000), st.integers(0, 3000), st.integers(1, 40), st.integers(1, 40))
def test_a_cell_is_in_the_sample_whatever_the_window(row, col, rows, cols):
    whole = sampled(Window(0, 0, 64, 64).grown(0), 0.3)
    assert 0.2 < whole.mean() < 0.4
    wide = Window(row, col, rows + 10, cols + 7)
    inner = Window(row + 3, col + 5, rows, cols)
    np.testing.assert_array_equal(sampled(wide, 0.3)[inner.within(wide)], sampled(inner, 0.3))
    assert sampled(inner, 1).all()
    assert not sampled(inner, 0).any()
