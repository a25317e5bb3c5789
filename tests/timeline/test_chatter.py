"""Chatter by the clock and in visits, against cases worked by hand and by closed form."""

import numpy as np
import pytest

from alarmsift.timeline.chatter import WITHIN_VISITS, bursts, chatter_index

# Raises at these seconds; run lengths 5 5 2 28 60 600.
BY_HAND = np.array([0.0, 5, 10, 12, 40, 100, 700])


def test_index_of_seven_raises_worked_by_hand():
    # (1/5 + 1/5 + 1/2 + 1/28 + 1/60 + 1/600) / 6, digit by digit
    assert chatter_index(BY_HAND) == pytest.approx(0.1590079365, abs=1e-10)
    assert 1.0 / np.diff(BY_HAND).mean() == pytest.approx(0.0085714286, abs=1e-10)


def test_three_in_a_minute_holds_from_the_first_three_raises_and_not_from_88_seconds():
    assert bursts(BY_HAND, within=60.0).tolist() == [True] * 3 + [False] * 4


def test_bound_of_a_minute_is_included():
    assert bursts(np.array([0.0, 30, 60]), within=60.0).tolist() == [True, False, False]
    assert not bursts(np.array([0.0, 30, 61]), within=60.0).any()


def test_periodic_alarm_has_the_index_of_its_period_and_three_a_minute_is_a_twentieth():
    # EEMUA 191 / ISA-18.2 practice (from memory): three a minute, one every 20 s, is 0.05 a second
    assert chatter_index(np.arange(0.0, 401.0, 20.0)) == pytest.approx(0.05, rel=1e-12)


@pytest.mark.parametrize("p", [0.05, 0.2, 0.3, 0.5])
def test_index_of_independent_readings_is_that_of_the_closed_form(p):
    """Raise with probability p while clear, clear with 1 - p: (p ln p - q ln q) / (2 p - 1)."""
    exact = (
        1.0 - np.log(2.0) if p == 0.5 else (p * np.log(p) - (1 - p) * np.log(1 - p)) / (2 * p - 1)
    )
    high = np.random.default_rng(7003).random(400_000) < p
    raised = np.flatnonzero(high[1:] & ~high[:-1]) + 1
    runs = 1.0 / np.diff(raised)
    error = 4.5 * runs.std() / np.sqrt(len(runs))
    assert chatter_index(raised.astype(float)) == pytest.approx(exact, abs=error)


@pytest.mark.parametrize(
    ("visits", "chatters"),
    [((1, 3, 5), True), ((1, 4, 7), True), ((1, 4, 8), False), ((1, 3), False), ((), False)],
)
def test_three_raises_within_six_visits_chatter(visits, chatters):
    assert bursts(np.array(visits, float), within=WITHIN_VISITS).any() == chatters


def test_one_raise_has_no_index_and_two_rows_of_one_moment_are_no_run():
    assert np.isnan(chatter_index(np.array([5.0])))
    assert chatter_index(np.array([5.0, 5.0, 9.0])) == 0.25
