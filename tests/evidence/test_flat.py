import numpy as np
import pytest

from alarmsift.evidence.flat import REACH_HOURS, flat_hours
from tests.signs.case_file import Case, windows_of

ROUNDS, FIRST, AN_HOUR = 400, -150, 3


def hours(values, *, which=0, rounds=ROUNDS):
    course = {"point": "A", "from": FIRST, "values": list(values)}
    given = {"courses": [course], "which": which, "rounds": rounds}
    w, row = windows_of(Case("long_flat", 0, given))
    return flat_hours(w)[row]


def steady():
    ripple = np.resize([0.0, 0.2, -0.1, 0.0, -0.2, 0.1], ROUNDS)
    return 9.5 + ripple


def test_level_found_again_under_something_higher_was_kept_meanwhile():
    values = steady()
    values[200:250] = 25.0  # seventeen hours
    values[330] = 10.3
    assert hours(values, which=1) == pytest.approx(133 - 17, abs=5)


def test_level_that_was_left_downwards_began_when_it_came_back():
    values = steady()
    values[200:250] = 1.0
    values[330] = 10.3
    assert hours(values) == pytest.approx((400 - 250) / AN_HOUR, abs=5)


def test_gap_does_not_end_a_level():
    values = steady()
    values[100:300] = np.nan
    values[330] = 10.3
    assert hours(values) == pytest.approx((400 - 200) / AN_HOUR, abs=5)


def test_level_that_gas_passes_twice_is_none_found_again():
    rise = np.linspace(5.0, 15.0, 170)
    values = np.concatenate([rise, np.full(60, 15.0), rise[::-1]])
    # From 8.2 to 11.8 within tolerance of 10, that is 36 % of 57 hours, at one time.
    assert hours(values) < 30


def test_level_is_sought_ten_days_either_way_and_no_further():
    assert REACH_HOURS == 240.0
    values = np.resize(steady(), 2400)  # 800 hours
    values[:1200], values[1200] = 9.5, 10.3
    assert hours(values, rounds=2400) == pytest.approx(2 * 240, abs=5)


def test_level_that_was_short_by_itself_is_sought_no_further():
    values = steady()
    values[150:180], values[210:240] = 25.0, 25.0  # ten hours between, an alarm in them
    values[195] = 10.3
    assert hours(values, which=1) == pytest.approx(10, abs=5)


def test_gas_well_over_a_level_does_not_stand_for_it_beyond_its_own_course():
    values = steady() - 1.0  # 8.5
    values[150:180], values[240:270], values[330:360] = 14.0, 14.0, 14.0
    assert hours(values, which=2) < 40
