"""What holds of any judgement, whatever the land."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from judging import judged

from suitability.config.criteria import Criterion
from suitability.decide import pick_sites, value_of

SHAPES = hnp.array_shapes(min_dims=2, max_dims=2, min_side=1, max_side=9)
WEIGHTS = st.lists(st.integers(0, 100), min_size=1, max_size=5).filter(any)
MEASURE = st.floats(-50, 500, width=32)


@st.composite
def judgements(draw, *, missing=True):
    """Draw criteria with any curve and weight, and the layers that they judge."""
    shape = draw(SHAPES)
    criteria, layers = [], {}
    for at, weight in enumerate(draw(WEIGHTS)):
        name = f"layer{at}_m"
        ends = sorted(draw(st.lists(st.integers(-50, 500), min_size=2, max_size=5, unique=True)))
        points = [[end, draw(st.floats(0, 1))] for end in ends]
        criteria.append(
            Criterion.model_validate({"layer": name, "weight": weight, "value": {"points": points}})
        )
        cell = st.one_of(MEASURE, st.just(np.nan)) if missing else MEASURE
        layers[name] = draw(hnp.arrays(np.float32, shape, elements=cell))
    return criteria, layers


@st.composite
def scores(draw, *, unequal=False):
    """Draw a score of a few levels with holes; or one in which no two cells are equal."""
    shape = draw(SHAPES)
    if unequal:
        count = shape[0] * shape[1]
        order = draw(st.permutations(range(1, count + 1)))
        values = np.array(order, dtype=np.float32).reshape(shape) / np.float32(count)
    else:
        levels = st.integers(0, 8).map(lambda eighths: eighths / 8)
        values = draw(hnp.arrays(np.float32, shape, elements=levels))
    values[draw(hnp.arrays(bool, shape))] = np.nan
    return values


def counted(criteria, layers):
    return np.stack([value_of(layers[c.layer], c.curve) for c in criteria if c.weight > 0])


@given(judgements(), st.sampled_from([0.25, 0.5, 3, 7, 1000]))
def test_weights_times_a_constant_change_nothing(judgement, factor):
    criteria, layers = judgement
    scaled = [c.model_copy(update={"weight": c.weight * factor}) for c in criteria]
    np.testing.assert_allclose(
        judged(*scaled).score(layers), judged(*criteria).score(layers), rtol=0, atol=6e-8
    )


@given(judgements(missing=False))
def test_a_score_lies_between_the_lowest_and_the_highest_value(judgement):
    criteria, layers = judgement
    score, values = judged(*criteria).score(layers), counted(criteria, layers)
    assert (score >= values.min(axis=0)).all()
    assert (score <= values.max(axis=0)).all()


@given(judgements())
def test_a_score_is_missing_just_where_a_measure_that_counts_is(judgement):
    criteria, layers = judgement
    expected = np.isnan(counted(criteria, layers)).any(axis=0)
    np.testing.assert_array_equal(np.isnan(judged(*criteria).score(layers)), expected)


@given(judgements(missing=False), st.floats(0, 300, width=32))
def test_what_no_value_function_likes_less_lowers_no_score(judgement, more):
    criteria, layers = judgement
    rising = [
        c.model_copy(
            update={"value": c.value.model_copy(update={"points": _rising(c.curve.knots)})}
        )
        for c in criteria
    ]
    raised = {name: values + np.float32(more) for name, values in layers.items()}
    assert (judged(*rising).score(raised) >= judged(*rising).score(layers)).all()


def _rising(knots):
    return tuple(
        (at, value) for (at, _), value in zip(knots, sorted(v for _, v in knots), strict=True)
    )


@given(
    scores(),
    st.integers(1, 12),
    st.sampled_from([0, 1, 1.5, 2, 2.9, 4]),
    st.integers(0, 2),
    st.sampled_from([0, 0.5, 1]),
)
def test_sites_are_apart_and_each_is_the_best_that_is_left(score, count, spacing, around, least):
    rows, cols = pick_sites(
        score, count=count, spacing_cells=spacing, around_cells=around, min_score=least
    )  # fmt: skip
    free = score >= least  # False where there is no score
    row, col = np.indices(score.shape)
    for r, c in zip(rows, cols, strict=True):
        assert free[r, c]
        assert score[r, c] == score[free].max()
        free &= (row - r) ** 2 + (col - c) ** 2 >= spacing**2
        free[r, c] = False
    assert rows.size == count or not free.any()


@given(scores(unequal=True), st.sampled_from([1, 2, 3.5]))
def test_a_mirrored_land_has_the_mirrored_sites(score, spacing):
    rows, cols = pick_sites(score, count=9, spacing_cells=spacing, around_cells=1)
    for mirrored, r, c in (
        (score[::-1], score.shape[0] - 1 - rows, cols),
        (score[:, ::-1], rows, score.shape[1] - 1 - cols),
        (score.T, cols, rows),
    ):
        found = pick_sites(mirrored, count=9, spacing_cells=spacing, around_cells=1)
        np.testing.assert_array_equal(found, (r, c))


@given(scores(), st.sampled_from([1, 2, 3.5]))
def test_fewer_sites_are_the_first_of_more(score, spacing):
    many = pick_sites(score, count=9, spacing_cells=spacing, around_cells=1)
    few = pick_sites(score, count=4, spacing_cells=spacing, around_cells=1)
    np.testing.assert_array_equal(few, [part[:4] for part in many])
