"""Intervals of repairs against general statistics libraries."""

import numpy as np
import pytest
from scipy import stats

from alarmsift.repairs.line_level import level_ratio
from alarmsift.repairs.line_outcome import foreseen
from alarmsift.repairs.rates import rate_ratio


@pytest.mark.parametrize(("before", "after"), [(8, 2), (1, 5), (30, 31)])
def test_ratio_of_rates_is_jeffreys_interval_of_the_share_that_came_after(before, after):
    # Przyborowski and Wilenski (1940): given the sum, the later count is binomial; Brown, Cai and
    # DasGupta (2001): Jeffreys' interval, as statsmodels works it out
    proportion = pytest.importorskip("statsmodels.stats.proportion")
    days = (10.0, 20.0)
    found = rate_ratio(before, after, days=days)
    ends = proportion.proportion_confint(after, before + after, alpha=0.10, method="jeffreys")
    assert found.ratio == pytest.approx(after / before * 0.5)
    theirs = [share / (1.0 - share) * days[0] / days[1] for share in ends]
    assert [found.low, found.high] == pytest.approx(theirs)


def test_no_alarm_after_has_the_ratio_nought_and_an_upper_end():
    found = rate_ratio(6, 0, days=(10.0, 10.0))
    assert (found.ratio, found.low) == (0.0, 0.0)
    assert 0.0 < found.high < 1.0
    # and turned round: nobody can say how many times as often
    assert rate_ratio(0, 6, days=(10.0, 10.0)).high == np.inf


def test_line_ratio_of_independent_visits_is_welchs_interval():
    # Welch (1947), as scipy works it out; such visits swing about their level and carry nothing on
    rng = np.random.default_rng(4)
    before = np.log(0.4) + 0.1 * rng.permutation(np.tile([-1.0, 1.0, -0.5, 0.5], 6))
    after = np.log(0.9) + 0.05 * np.tile([1.0, -1.0], 15)
    off = before - before.mean()
    assert off[1:] @ off[:-1] < 0.0
    found = level_ratio(before, after)
    theirs = stats.ttest_ind(after, before, equal_var=False).confidence_interval(0.90)
    assert [found.low, found.high] == pytest.approx(np.exp([theirs.low, theirs.high]))
    assert found.ratio == pytest.approx(0.9 / 0.4, rel=0.05)


def test_level_that_a_trend_leads_to_is_the_regressions_own_interval():
    # visits that swing about a falling level carry nothing on; least squares as statsmodels has it
    api = pytest.importorskip("statsmodels.api")
    days = np.arange(0.0, 2.0, 1.0 / 24.0)
    health = -0.1 * days + 0.05 * np.tile([1.0, -1.0, -1.0, 1.0, -0.5, 0.5], 8)
    found = foreseen(days, health, ahead=1.0)
    fit = api.OLS(health, api.add_constant(days)).fit()
    low = fit.get_prediction([[1.0, days[-1] + 1.0]]).conf_int(alpha=0.10)[0, 0]
    assert found == pytest.approx(low, rel=1e-6)
