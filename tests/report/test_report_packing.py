"""Packed series come back as they were."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from unfold import unfold

from alarmsift.report.packing import FINEST, pack, pack_times, runs, step_of


@given(
    st.lists(st.one_of(st.integers(-(10**9), 10**9), st.just(None)), max_size=80),
    st.sampled_from([1.0, 0.5, 0.1, 0.05, 0.01, 0.001]),
)
def test_every_value_comes_back_to_the_step(counts, step):
    values = np.array([np.nan if k is None else k * step for k in counts], dtype=float)
    back = unfold(pack(values, step=step), step)
    assert back.size == values.size
    np.testing.assert_allclose(back, values, rtol=0, atol=step / 1000)


def test_rising_times_come_back_to_the_second():
    times = np.array([0.0, 720.0, 1440.0, 1441.0, 1441.0, 9e6])
    np.testing.assert_array_equal(np.cumsum(unfold(pack_times(times), 1.0)), times)


def test_empty_series_is_packed():
    assert unfold(pack(np.empty(0), step=1.0), 1.0).size == 0


@pytest.mark.parametrize(
    ("values", "step"),
    [([1.0, 30.0], 1.0), ([0.5, 7.0], 0.5), ([0.1, 2.0], 0.1), ([20.95, 20.9], 0.05)],
)
def test_step_is_the_one_that_the_display_counts_in(values, step):
    assert step_of(np.array([*values, np.nan])) == step


def test_values_of_another_unit_keep_three_places():
    values = np.array([1.0, 2.0]) / 2.1
    step = step_of(values)
    assert step == FINEST
    np.testing.assert_allclose(unfold(pack(values, step=step), step), values, atol=FINEST / 2)


def test_a_visit_costs_little_where_readings_are_calm():
    rng = np.random.default_rng(1)
    calm = np.round(rng.normal(1.0, 0.4, 30_000) * 2) / 2
    assert len(pack(calm, step=0.5)) < 0.8 * calm.size


def test_same_values_give_the_same_text():
    values = np.linspace(0, 9, 50).round(1)
    assert pack(values, step=0.1) == pack(values.copy(), step=0.1)


def test_runs_name_every_state_that_is_not_left_out():
    words = np.array(["ok", "fault", "fault", "", "test"], dtype=object)
    assert runs(words, but=("ok", "")) == [(1, 2, "fault"), (4, 1, "test")]
    assert runs(np.empty(0, dtype=object), but=()) == []
