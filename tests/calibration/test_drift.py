"""Drift is measured between adjustments only, whatever the readings and the clock."""

import doctest
import time

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from alarmsift.calibration import drift as module
from alarmsift.calibration.drift import crossing_day, drift, pairs_within

numbers = st.floats(-1e3, 1e3)


def test_worked_examples_give_what_they_print():
    assert doctest.testmod(module).failed == 0


@given(st.lists(st.integers(0, 400), max_size=40), st.lists(st.integers(0, 400), max_size=6))
def test_no_pair_ever_crosses_a_reset(days, resets):
    days, marks = np.sort(np.array(days, float)), np.sort(np.array(resets, float))
    before, after = pairs_within(np.searchsorted(marks, days, side="right"))
    for i, j in zip(before, after, strict=True):
        assert not any(days[i] < reset <= days[j] for reset in resets)
    inside = sum(
        np.searchsorted(marks, a, "right") == np.searchsorted(marks, b, "right")
        for k, a in enumerate(days)
        for b in days[k + 1 :]
    )
    assert len(before) == inside


@given(
    st.lists(st.floats(-50, 50), min_size=4, max_size=4),
    st.floats(-5, 5),
    st.permutations(range(40)),
)
def test_any_offset_after_a_reset_leaves_the_slope_alone(offsets, slope, order):
    days = np.arange(40.0)
    readings = slope * days + np.repeat(offsets, 10)
    found = drift(days[order], readings[order], [20, 10, 30])
    assert found.slope == pytest.approx(slope, abs=1e-9)
    np.testing.assert_allclose(found.steps, np.diff(offsets), atol=1e-9)


@given(st.lists(st.tuples(numbers, numbers), min_size=2, max_size=30))
def test_the_interval_holds_the_slope(rows):
    days, readings = np.array(rows).T
    found = drift(np.round(days), readings, [0.0])
    if found.pairs:
        assert found.low <= found.slope <= found.high


def test_a_reading_at_the_very_moment_of_a_reset_belongs_to_the_time_after():
    found = drift([0, 1, 2, 3], [0.0, 1.0, 7.0, 8.0], [2])
    assert (found.slope, found.steps) == (1.0, (5.0,))


def test_dates_in_any_zone_and_numbers_of_days_agree():
    readings = [0.0, 0.3, 0.1, 0.5, 2.0, 2.2, 2.4, 2.3]
    dates = pd.date_range("2026-03-27", periods=8, freq="12h", tz="UTC")
    numbered = drift(np.arange(8) / 2, readings, [2.0])
    for given_dates in (dates, dates.tz_convert("Europe/Berlin"), pd.Series(dates), list(dates)):
        found = drift(given_dates, readings, [given_dates[4]])
        assert found.slope == pytest.approx(numbered.slope)
        assert found.steps == pytest.approx(numbered.steps)
    crossing = crossing_day(dates, readings, 5.0, resets=[dates[4]])
    assert crossing.origin == dates[0]
    assert crossing.day == pytest.approx(
        crossing_day(np.arange(8) / 2, readings, 5.0, resets=[2]).day
    )


def test_says_nan_when_no_two_readings_share_a_period():
    found = drift([1, 2, 3], [1.0, 2.0, 3.0], [2, 3])
    assert np.isnan([found.slope, found.low, found.high, *found.steps]).all()
    assert found.pairs == 0
    assert np.isnan(drift([], [], []).slope)


def test_a_period_without_readings_has_steps_unknown():
    found = drift([0, 1, 8, 9], [0.0, 1.0, 0.0, 1.0], [3, 5])
    assert found.slope == 1.0
    assert np.isnan(found.steps).all()


def test_missing_readings_are_left_out():
    assert drift([0, 1, 2, 3], [0.0, np.nan, 2.0, 3.0], []).pairs == 3


def test_two_hundred_thousand_readings_are_gathered_and_keep_their_slope():
    rng = np.random.default_rng(1)
    days = np.arange(200_000) / 100
    readings = 0.01 * days + rng.normal(size=len(days)) - 5.0 * (days >= 1000)
    begun = time.perf_counter()
    found = drift(days, readings, [1000.0])
    assert time.perf_counter() - begun < 2.0
    assert found.pairs <= module.MOST_PAIRS
    assert found.slope == pytest.approx(0.01, abs=1e-4)
    assert found.steps == pytest.approx((-5.0,), abs=0.1)
    # medians of 200 readings each, so about 1.25 / sqrt(200) of the noise: no falsely wide interval
    assert found.high - found.low < 2e-4


def test_the_interval_holds_the_truth_as_often_as_it_says():
    rng = np.random.default_rng(2)
    days, resets = np.arange(60.0), [20.0, 40.0]
    held = 0
    for _ in range(600):
        readings = 0.05 * days - np.searchsorted(resets, days, "right") + rng.normal(size=60)
        found = drift(days, readings, resets)
        held += found.low <= 0.05 <= found.high
    assert held / 600 == pytest.approx(0.9, abs=4.5 * np.sqrt(0.09 / 600))


def test_a_slope_that_is_hardly_there_has_no_finite_limit():
    rng = np.random.default_rng(3)
    crossing = crossing_day(np.arange(20), rng.normal(size=20), 50.0)
    assert crossing.uncertainty > 1
    assert np.isnan([crossing.low, crossing.high]).all()


def test_too_few_readings_have_no_crossing():
    assert np.isnan(crossing_day([0, 1], [0.0, 1.0], 5.0).day)
    assert np.isnan(crossing_day([1, 1, 1], [0.0, 1.0, 2.0], 5.0).day)
    assert np.isnan(crossing_day([0, 1, 2], [1.0, 1.0, 1.0], 5.0).day)


def test_readings_without_scatter_cross_exactly():
    crossing = crossing_day([0, 1, 2, 3], [0.0, 0.5, 1.0, 1.5], 3.0)
    assert [crossing.day, crossing.low, crossing.high] == pytest.approx([6.0, 6.0, 6.0])
