import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from alarmsift.simulate.recurrence import carry
from alarmsift.simulate.space import concentration, follow


def by_hand(kept, fresh):
    out, last = [], 0.0
    for k, f in zip(kept, fresh, strict=True):
        last = k * last + f
        out.append(last)
    return out


@given(st.lists(st.tuples(st.floats(0, 1), st.floats(-5, 50)), min_size=1, max_size=60))
def test_carry_is_the_plain_recurrence(rows):
    kept, fresh = np.array(rows).T
    assert carry(kept, fresh) == pytest.approx(by_hand(kept, fresh), abs=1e-6)


def test_previous_sample_after_one_dwell():
    # prev 40, next clean, T90 30 s, 60 s: 40 * exp(-60 ln10 / 30) = 0.400
    kept = np.exp(-60.0 * np.log(10.0) / 30.0)
    shown = carry(np.array([0.0, kept]), np.array([40.0, 0.0]))
    assert shown[1] == pytest.approx(0.400, abs=5e-4)


@pytest.mark.parametrize(("changes", "minutes"), [(6.0, 46), (12.0, 23), (20.0, 14)])
def test_ventilated_room_loses_99_percent_in_the_published_time(changes, minutes):
    # CDC, MMWR 1994;43(RR-13), table S3-1: minutes to remove 99 % at so many air changes an hour.
    step = 1.0 / 60.0
    source = np.zeros((200, 1))
    source[0] = 100.0 / step
    level = concentration(source, np.full((200, 1), changes), step)[:, 0]
    reached = np.interp(-np.log(0.01), -np.log(level[:60] / level[0]), np.arange(60))
    assert round(float(reached)) == minutes


def test_sealed_tank_fills_in_proportion_to_time():
    # 2 L/min of propane into 3000 m3 is 0.19048 %LFL/h at 2.1 %vol; 1 %LFL in 5.25 h (worked sum).
    level = concentration(np.full((64, 1), 0.19048), np.full((64, 1), 1e-6), 1.0 / 12.0)
    assert level[62, 0] == pytest.approx(1.0, rel=0.01)


def test_neighbour_follows_later_and_weaker():
    source = np.zeros((500, 2))
    source[:, 0] = 5.0
    level = concentration(
        source, np.full((500, 2), 0.1), 1.0 / 12.0, seep=np.array([[0.0, 0.0], [0.01, 0.0]])
    )
    assert 0.0 < level[-1, 1] < 0.2 * level[-1, 0]
    assert level[60, 1] / level[-1, 1] < level[60, 0] / level[-1, 0]


def test_lag_reaches_63_percent_after_its_own_time():
    assert follow(np.ones(200), 2.0, 0.01)[199] == pytest.approx(1.0 - np.exp(-1.0), abs=1e-3)
