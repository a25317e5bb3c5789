"""Well-mixed spaces and first-order detectors against printed tables."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from alarmsift.physics.detector import share_shown, shown, time_constant
from alarmsift.physics.mixing import (
    air_changes,
    concentration,
    leak_in,
    share_left,
    steady_state,
    time_to_reach,
)

# CDC, MMWR 43 (RR-13), 1994, Supplement 3, Table S3-1: air changes an hour, then minutes required
# for a removal of 90 %, 99 % and 99.9 % of an airborne contaminant (whole minutes as printed)
TABLE_S3_1 = [(6, 23, 46, 69), (12, 12, 23, 35), (20, 7, 14, 21)]


@pytest.mark.parametrize(("per_hour", "ninety", "two_nines", "three_nines"), TABLE_S3_1)
def test_minutes_for_removal_are_those_of_mmwr_1994_table_s3_1(
    per_hour, ninety, two_nines, three_nines
):
    left = np.array([0.1, 0.01, 0.001])
    minutes = time_to_reach(left, volume=100.0, air_flow=100.0 * per_hour / 3600, start=1.0) / 60
    np.testing.assert_array_equal(np.round(minutes), [ninety, two_nines, three_nines])


def test_one_to_five_air_changes_leave_the_powers_of_e():
    # e**-1 = 36.79 %, e**-2 = 13.53 %, ...: any table of exponentials
    expected = [0.3679, 0.1353, 0.0498, 0.0183, 0.0067]
    np.testing.assert_allclose(share_left(np.arange(1.0, 6.0)), expected, atol=5e-5)


def test_a_first_order_lag_shows_632_865_950_and_982_thousandths_after_1_to_4_time_constants():
    # Bentley, Principles of Measurement Systems, first-order step: 63.2, 86.5, 95.0, 98.2 %
    t90 = 20.0
    times = np.arange(1.0, 5.0) * time_constant(t90)
    np.testing.assert_allclose(share_shown(times, t90), [0.632, 0.865, 0.950, 0.982], atol=5e-4)
    assert share_shown(t90, t90) == pytest.approx(0.9)
    assert share_shown(-5.0, t90) == 0.0


def test_carry_over_after_two_t90_is_one_hundredth():
    assert shown(40.0, 0.0, time=60.0, t90=30.0) == pytest.approx(0.4)


def test_concentration_obeys_its_own_differential_equation():
    # scipy's integrator is the second route
    from scipy.integrate import solve_ivp  # noqa: PLC0415  (only this test needs it)

    room = {"volume": 500.0, "source": 2.0, "air_flow": 0.3, "supply": 0.5}
    solved = solve_ivp(
        lambda _, c: (2.0 - 0.3 * (c - 0.5)) / 500.0, (0, 4000), [9.0], rtol=1e-9, atol=1e-9
    )
    found = concentration(solved.t, start=9.0, **room)
    np.testing.assert_allclose(found, solved.y[0], rtol=1e-6)


def test_a_closed_space_fills_evenly_and_never_settles():
    assert concentration(7200.0, volume=3000.0, source=1.0) == pytest.approx(2.4)
    assert steady_state(1.0, 0.0) == np.inf
    assert time_to_reach(1.0, volume=3000.0, source=1.0) == pytest.approx(3000.0)
    assert time_to_reach(1.0, volume=3000.0) == np.inf


def test_a_level_above_the_steady_state_is_never_reached():
    assert time_to_reach(2.0, volume=100.0, source=1.0, air_flow=1.0) == np.inf


@given(
    volume=st.floats(10, 1e4),
    source=st.floats(1e-6, 1.0),
    air=st.floats(1e-4, 10),
    share=st.floats(0.01, 0.99),
)
def test_time_to_reach_inverts_concentration(volume, source, air, share):
    level = share * steady_state(source, air)
    time = time_to_reach(level, volume=volume, source=source, air_flow=air)
    again = concentration(time, volume=volume, source=source, air_flow=air)
    assert again == pytest.approx(level, rel=1e-6)
    growth = (source - air * level) / volume
    assert leak_in(growth, volume, level=level, air_flow=air) == pytest.approx(source)


def test_air_changes_inverts_share_left():
    assert air_changes(1.0, share_left(2.5)) == pytest.approx(2.5)
