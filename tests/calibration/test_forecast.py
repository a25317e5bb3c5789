import numpy as np
import pytest

from alarmsift.calibration.drift import crossing_day
from alarmsift.calibration.forecast import crossing_forecast

ONE = np.zeros(10, dtype=int)
DAYS = np.arange(10.0)
RISING = np.array([1.1, 1.2, 1.6, 1.5, 1.9, 2.1, 2.0, 2.4, 2.6, 2.7])


def test_interval_holds_that_of_the_straight_line():
    # Fieller (1954) takes the scatter as independent; what may wander can only be less sure.
    line = crossing_day(DAYS, RISING, 5.0, confidence=0.90)
    found = crossing_forecast(DAYS, RISING, period=ONE, limit=5.0, now=9.0)
    assert found.crosses == pytest.approx(line.day, abs=0.3)
    assert found.low <= line.low + 0.2
    assert found.high >= line.high - 0.2


def test_falling_zero_is_foreseen_at_the_lower_limit():
    up = crossing_forecast(DAYS, RISING, period=ONE, limit=5.0, now=9.0)
    down = crossing_forecast(DAYS, -RISING, period=ONE, limit=5.0, now=9.0)
    assert (down.crosses, down.low, down.high) == pytest.approx((up.crosses, up.low, up.high))


def test_what_does_not_drift_has_no_finite_end():
    still = 0.1 * np.sin(np.arange(30.0) * 2.0)
    found = crossing_forecast(np.arange(30.0), still, period=np.zeros(30, int), limit=3.0, now=29.0)
    assert np.isnan(found.high)
    assert not found.passed


def test_periods_lend_their_slope_but_not_their_level():
    days = np.arange(12.0)
    values = np.concatenate([0.2 * np.arange(9) + 5.0, 0.2 * np.arange(3)])
    values += np.tile([0.02, -0.02], 6)
    period = np.repeat([0, 1], [9, 3])
    found = crossing_forecast(days, values, period=period, limit=3.0, now=11.0)
    assert found.slope == pytest.approx(0.2, abs=0.01)
    assert found.crosses == pytest.approx(24.0, abs=0.6)  # 0 on day 9, 3 fifteen days later


def test_too_few_values_foresee_nothing():
    found = crossing_forecast(DAYS[:2], RISING[:2], period=ONE[:2], limit=5.0, now=2.0)
    assert (found.used, np.isnan(found.crosses)) == (0, True)


def test_a_level_inside_the_tolerance_is_not_called_beyond_it_however_unsure():
    days = np.array([0.0, 1.0, 2.0, 3.0, 4.0])
    values = np.array([0.4, 2.6, -0.9, 2.9, 0.6])
    found = crossing_forecast(days, values, period=np.zeros(5, int), limit=3.0, now=30.0)
    assert abs(found.level) < 3.0
    assert not found.passed
