import numpy as np
import pytest

from alarmsift.evidence.stood import only_passed
from tests.signs.case_file import Case, windows_of

ROUNDS, FIRST = 400, -150


def passed(values, *, which=0):
    course = {"point": "A", "from": FIRST, "values": list(values)}
    w, row = windows_of(Case("background_level", 0, {"courses": [course], "which": which}))
    return bool(only_passed(w)[row])


def steady():
    values = np.full(ROUNDS, 9.5)
    values[200] = 10.2
    return values


def test_background_under_the_setpoint_stood():
    assert not passed(steady())


@pytest.mark.parametrize("rest", [slice(0, 150), slice(250, ROUNDS)])
def test_level_that_came_or_went_within_a_day_is_passed(rest):
    values = steady()
    values[rest] = 1.0
    assert passed(values)


def test_level_that_was_come_down_to_within_the_day_is_passed():
    values = steady()
    values[150:190] = 16.0  # on a level that had stood for two days
    assert passed(values, which=1)
    values[150:190], values[70:110] = 9.5, 16.0  # a day earlier
    assert not passed(values, which=1)


def test_level_that_is_left_of_something_higher_is_passed():
    values = steady()
    values[:100] = np.geomspace(200.0, 9.5, 100)
    assert passed(values, which=1)


def test_something_higher_on_a_level_that_had_stood_does_not_make_it_a_rest():
    values = steady()
    values[90:110] = 30.0
    assert not passed(values, which=1)
