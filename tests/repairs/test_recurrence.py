import numpy as np
import pytest

from alarmsift.repairs.recurrence import recurrence, trouble_before

# A trouble of about two alarms a day over the last four days before the repair; watched for ten.
AGO = np.array([4.0, 3.4, 3.1, 2.4, 1.8, 1.3, 0.9, 0.2])


def outcome(after, watched, ago=AGO):
    return recurrence(trouble_before(ago, 10.0), np.asarray(after, float), watched)


def test_trouble_is_the_stretch_in_which_alarms_came_fastest():
    found = trouble_before(np.append(9.5, AGO), 10.0)
    assert found.count == 8
    assert found.rate == pytest.approx(2.0, rel=0.1)
    assert found.rest_count == 1


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
