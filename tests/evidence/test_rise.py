"""How a rise is cut out of the readings, and the range of its rate, where growth is known."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from alarmsift.evidence.inflow import inflow_of, inflow_over_volume
from alarmsift.evidence.rise import rise_of
from alarmsift.physics.mixing import concentration

ROUND = 1 / 3  # h


def seen(course, *, hours=40.0, noise=0.2, seed=3, raised=None, until=None, step=ROUND):
    """Return the rise found in a course (a function of hours), the raise at 10 units."""
    t = np.arange(0.0, hours, step)
    true = course(t)
    value = true + noise * np.random.default_rng(seed).standard_normal(len(t))
    raised = float(t[np.argmax(value >= 10)]) if raised is None else raised
    return rise_of(t, value, noise=noise, raised=raised, until=hours if until is None else until)


def leak(t, *, source, air, start=10.0):
    """Return %LFL in a well-mixed space: inflow over volume [%LFL/h], air changes [1/h]."""
    on = np.clip(t - start, 0.0, None)
    return concentration(on, volume=1.0, source=source, air_flow=air)


def test_steady_growth_is_in_its_range_and_the_range_is_narrow():
    rise = seen(lambda t: 3.0 * np.clip(t - 10, 0, 12))
    assert rise.low < 3.0 < rise.high
    assert rise.high / rise.low < 1.5
    assert rise.start == pytest.approx(11.2, abs=ROUND)  # a tenth of the top of 36
    assert not rise.settled


def test_hundred_noisy_leaks_have_their_mean_rate_and_their_inflow_in_the_ranges():
    """A tank that is changed once in 20 h: true inflow 4 %LFL of its volume an hour."""
    rates, flows = 0, 0
    for seed in range(100):
        rise = seen(lambda t: leak(t, source=4.0, air=0.05), noise=0.5, seed=seed)
        ends = leak(np.array([rise.start, rise.end]), source=4.0, air=0.05)
        rates += rise.low <= (ends[1] - ends[0]) / rise.hours <= rise.high
        low, high = inflow_over_volume(rise)
        flows += low <= 4.0 <= high
    assert rates >= 90
    assert flows >= 90


def test_rise_watched_for_three_time_constants_tells_its_air_changes_and_a_short_one_does_not():
    long = seen(lambda t: leak(t, source=20.0, air=0.5), until=40.0)
    assert long.settled
    assert long.air_low < 0.5 < long.air_high
    short = seen(lambda t: leak(t, source=2.0, air=0.02), hours=24.0)
    assert short.air_low * short.hours < 1.0
    assert not short.settled


def test_few_visits_give_the_least_rate_only():
    rise = seen(lambda t: 40.0 * (t >= 20), noise=0.1)
    assert np.isnan(rise.growth)
    assert np.isnan(rise.high)
    # 40 units came up between two visits, a third of an hour apart: at least about 100 an hour
    assert 90 < rise.least < 40 / ROUND


def test_rate_after_an_unwatched_night_is_the_least_over_the_whole_night():
    t = np.concatenate([np.arange(0, 10, ROUND), np.arange(18, 24, ROUND)])
    value = 20.0 * (t > 12)
    rise = rise_of(t, value, noise=0.1, raised=18.0, until=24.0)
    assert rise.before == pytest.approx(18.0 - 9.667, abs=0.01)
    assert rise.least < 20.0 / 8.0


def test_no_rise_where_nothing_stands_clear_of_the_noise():
    assert seen(lambda t: 0.0 * t, noise=1.0, raised=20.0) is None
    assert rise_of(np.zeros(0), np.zeros(0), noise=0.1, raised=1.0, until=2.0) is None


def test_second_rise_is_cut_off_from_the_first():
    def two(t):
        return 20.0 * np.clip(t - 5, 0, 1) * np.clip((12 - t) / 4, 0.2, 1) + 5.0 * np.clip(
            t - 20, 0, 5
        )

    rise = seen(two, raised=22.0)
    assert rise.start > 11.0
    assert rise.low < 5.0 < rise.high


@settings(max_examples=40, deadline=None)
@given(st.floats(0.2, 20.0), st.floats(0.0, 0.5), st.integers(0, 1000))
def test_range_holds_the_best_rate_and_grows_with_the_unit(rate, air, seed):
    def course(scale):
        t = np.arange(0.0, 40.0, ROUND)
        noise = 0.02 * rate * np.random.default_rng(seed).standard_normal(len(t))
        value = scale * (leak(t, source=rate, air=air) + noise)
        return rise_of(t, value, noise=0.02 * rate * scale, raised=15.0, until=40.0)

    one, ten = course(1.0), course(10.0)
    assert one.low <= one.growth <= one.high
    assert ten.growth == pytest.approx(10.0 * one.growth, rel=1e-3)
    assert ten.air_low == pytest.approx(one.air_low)


def test_inflow_of_a_closed_tank_worked_by_hand():
    """1000 m3 that rise by 6 %LFL of propane (2.1 vol%) an hour take 1.26 m3/h, 21 L/min."""
    rise = seen(lambda t: 6.0 * np.clip(t - 10, 0, 8), noise=0.05)
    found = inflow_of(rise, "HC", 1000.0, ("propane", 2.1))
    assert found.low < 21.0 < found.high
    assert found.high / found.low < 2.5
    unsaid = inflow_of(rise, "HC", 1000.0, None)
    # published limits from n-hexane to propane: IEC 60079-20-1:2010, NFPA 497 (2008)
    assert unsaid.low == pytest.approx(found.low * 1.0 / 2.1)
    assert unsaid.high == pytest.approx(found.high)
    assert "1 to 2.1 vol%" in unsaid.why
    ppm = inflow_of(rise, "H2S", 1000.0, None)  # 6 ppm an hour of 1000 m3: 0.1 L/min
    assert ppm.low < 0.1 < ppm.high


@pytest.mark.parametrize(("gas", "volume"), [("O2", 1000.0), ("HC", np.nan), ("HC", 0.0)])
def test_no_inflow_without_a_volume_or_of_oxygen(gas, volume):
    rise = seen(lambda t: 6.0 * np.clip(t - 10, 0, 8), noise=0.05)
    found = inflow_of(rise, gas, volume, None)
    assert np.isnan(found.low)
    assert found.why
