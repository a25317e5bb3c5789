import numpy as np
import pytest
from scipy import stats

from alarmsift.repairs.recurrence import AGAIN, recurrence, trouble_before

# A trouble of about two alarms a day over the last four days before the repair; watched for ten.
AGO = np.array([4.0, 3.4, 3.1, 2.4, 1.8, 1.3, 0.9, 0.2])


def outcome(after, watched, ago=AGO):
    return recurrence(trouble_before(ago, 10.0), np.asarray(after, float), watched)


def test_trouble_that_broke_out_comes_faster_than_the_mean_of_all_days():
    # 8 in the last 4 days and 1 in the 6 before: 2 a day and 0.17 a day, 0.9 a day over all
    found = trouble_before(np.append(9.5, AGO), 10.0)
    assert found.count == 9
    assert 1.2 < found.rate < 2.2
    assert 0.05 < found.rest < 0.3


def test_trouble_that_was_there_all_along_has_the_rate_of_all_days():
    found = trouble_before(np.arange(0.25, 20.0, 0.5), 20.0)
    assert found.rate == pytest.approx(2.0, rel=0.15)


def test_chance_after_a_short_silence_is_that_of_no_alarm_at_the_rate_it_comes_back_with():
    # 140 alarms in 14 days leave no doubt of 10 a day. In 0.2 days of silence it had no time to go
    # and come back: never cured, or cured, at even odds. No alarm where two are due has the chance
    # exp(-2) = 0.135, and 0.155 if it may have come back weaker or stronger. Away it has the chance
    # 0.87, for the rest is not known but to be between 0.03 and 4 a day: 0.155 / 1.025.
    found = recurrence(trouble_before(np.arange(0.05, 14.0, 0.1), 14.0), np.zeros(0), 0.2)
    none = stats.lognorm(s=AGAIN).expect(lambda f: np.exp(-2.0 * f))
    quiet = stats.loguniform(0.03, 4.0).expect(lambda rest: np.exp(-0.2 * rest))
    assert found.chance == pytest.approx(none / (quiet + none), abs=0.02)


def test_alarms_as_rare_as_without_the_trouble_are_seldom_taken_for_its_return():
    rng = np.random.default_rng(5)
    found = []
    for _ in range(100):
        ago = np.concatenate([rng.uniform(0.0, 4.0, 8), rng.uniform(4.0, 14.0, rng.poisson(1.0))])
        later = np.sort(rng.uniform(0.0, 30.0, rng.poisson(3.0)))
        found.append(recurrence(trouble_before(ago, 14.0), later, 30.0).outcome)
    assert found.count("came_back") <= 8


def test_long_silence_after_a_lively_trouble_held():
    assert outcome([], 10.0).outcome == "held"


def test_an_hour_of_silence_says_nothing():
    assert outcome([], 0.05).outcome == "too_early"


def test_one_alarm_before_and_a_silence_as_long_as_the_one_before_it_says_nothing():
    assert outcome([], 3.0, ago=np.array([5.0])).outcome == "too_early"


def test_trouble_that_is_back_is_dated_by_its_first_alarm():
    found = outcome([6.0, 6.4, 7.1, 7.5, 8.0], 8.5)
    assert found.outcome == "came_back"
    assert found.days == pytest.approx(6.0)


def test_trouble_that_goes_on_was_never_away():
    found = outcome([0.4, 0.9, 1.5, 2.0], 2.5)
    assert (found.outcome, found.days) == ("came_back", pytest.approx(0.4))


def test_one_alarm_in_a_month_is_no_return():
    assert outcome([12.0], 30.0).outcome == "held"


def test_no_alarm_before_leaves_nothing_to_cure():
    assert outcome([1.0], 30.0, ago=np.array([])).outcome == "no_trouble"


def test_more_alarms_before_make_a_silence_tell_more():
    few = outcome([], 4.0, ago=np.array([3.0, 1.5]))
    many = outcome([], 4.0, ago=np.arange(0.2, 9.9, 0.4))
    assert many.chance < few.chance
    assert (few.outcome, many.outcome) == ("too_early", "held")
