"""Times to first use against published data, closed forms and reference libraries."""

import math

import numpy as np
import pytest
from statsmodels.duration.survfunc import SurvfuncRight

from suitability.follow_up.first_use import waiting_between, waiting_exact

# Remission of leukaemia under 6-MP in weeks (Freireich et al. 1963, Blood 21:699-716; data, and
# the table of estimates as textbooks print it, from memory). A plus is a time without relapse.
WEEKS = "6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+"
TIME = np.array([float(week.strip("+")) for week in WEEKS.split()])
ENDED = np.array([not week.endswith("+") for week in WEEKS.split()])
STEPS = [6, 7, 10, 13, 16, 22, 23]
SHARES = [0.8571, 0.8067, 0.7529, 0.6902, 0.6275, 0.5378, 0.4482]


def test_published_remissions():
    found = waiting_exact(TIME, ENDED)
    assert found.time.tolist() == STEPS
    np.testing.assert_allclose(found.share, SHARES, atol=5e-5)
    assert found.median == 23


def test_intervals_of_the_reference_library():
    """statsmodels, `SurvfuncRight`: Greenwood on the log-log scale."""
    found = waiting_exact(TIME, ENDED)
    wanted = SurvfuncRight(TIME, ENDED)
    share, error = wanted.surv_prob, wanted.surv_prob_se
    # d/dS log(-log S) = 1 / (S log S)
    half = 1.959963984540054 * error / (share * np.abs(np.log(share)))
    np.testing.assert_allclose(found.share, share, atol=1e-12)
    np.testing.assert_allclose(found.low, share ** np.exp(half), atol=1e-9)
    np.testing.assert_allclose(found.high, share ** np.exp(-half), atol=1e-9)


def test_exact_days_as_intervals_are_the_same_estimate():
    until = np.where(ENDED, TIME, np.inf)
    found = waiting_between(TIME, until)
    assert found.time.tolist() == STEPS
    np.testing.assert_allclose(found.share, waiting_exact(TIME, ENDED).share, atol=1e-8)


def test_closed_form_of_visits_on_the_same_days():
    """Ten boxes, 4 used by the first visit, 3 by the second, 3 not: shares by counting."""
    found = waiting_between([0] * 4 + [1] * 3 + [2] * 3, [1] * 4 + [2] * 3 + [np.inf] * 3)
    assert found.time.tolist() == [1, 2]
    np.testing.assert_allclose(found.share, [0.6, 0.3], atol=1e-9)


def test_closed_form_of_a_missed_visit():
    """One box of the second was not looked at the first time: p1 = 4/10 + 1/10 p1 / (p1 + p2).

    With p1 + p2 = 0.7: p1 = 0.4 / (1 - 1/7) = 7/15.
    """
    after = [0] * 4 + [1] * 2 + [0] + [2] * 3
    found = waiting_between(after, [1] * 4 + [2] * 3 + [np.inf] * 3)
    np.testing.assert_allclose(found.share, [8 / 15, 0.3], atol=1e-8)


def test_no_use_at_all():
    for found in (waiting_between([1, 2], [np.inf, np.inf]), waiting_exact([1, 2], [False, False])):
        assert found.time.size == 0
        assert found.at(5) == 1
        assert found.median == math.inf


def test_a_visit_before_the_one_before_is_a_mistake():
    with pytest.raises(ValueError, match="before it begins"):
        waiting_between([3], [2])


@pytest.mark.lifelines
@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("seed", range(5))
def test_reference_library_for_intervals(seed):
    """lifelines, `KaplanMeierFitter.fit_interval_censoring`, which stops at some 1e-5.

    It takes intervals as closed: a start a little later makes ours of them.
    """
    from lifelines import KaplanMeierFitter

    rng = np.random.default_rng(seed)
    after = rng.integers(0, 6, 200).astype(float)
    until = after + rng.integers(1, 5, 200)
    until[rng.random(200) < 0.3] = np.inf
    found = waiting_between(after, until)
    wanted = KaplanMeierFitter().fit_interval_censoring(after + 1e-9, until).survival_function_
    for time, share in zip(found.time, found.share, strict=True):
        assert wanted.loc[time].to_numpy()[-1] == pytest.approx(share, abs=2e-3)
