"""The leak question: a build-up seen once a round."""

from __future__ import annotations

import numpy as np
import pytest

from alarmsift.setpoints.leak import leak_answer, time_to_alarm

CROSSING = 30.0 * np.log(2.0)  # C_max 60, limit 30 %LFL, tau 30 min


@pytest.mark.parametrize(
    ("scan", "words", "mean", "worst"),
    [
        (3.0, {}, 22.2944, 23.7944),
        (10.0, {}, 25.7944, 30.7944),
        (30.0, {}, 35.7944, 50.7944),
        (30.0, {"confirm": 2}, 65.7944, 80.7944),
        (30.0, {"confirm": 3}, 95.7944, 110.7944),
        (30.0, {"second_look": 1.0}, 36.7944, 51.7944),
    ],
)
def test_mean_and_worst_time_to_alarm(scan, words, mean, worst):
    # Worked: t* = -tau ln(1 - A/C_max); a visit comes at any moment of the round alike.
    found = time_to_alarm(CROSSING, scan, **words)
    assert found == (pytest.approx(mean, abs=5.1e-5), pytest.approx(worst, abs=5.1e-5))
    assert found[1] - found[0] == pytest.approx(scan / 2.0, rel=1e-9)


@pytest.mark.parametrize(
    ("words", "wait"), [({}, 0), ({"confirm": 3}, 60), ({"second_look": 1}, 1)]
)
def test_the_mean_is_that_of_visits_drawn_at_random(words, wait):
    rng = np.random.default_rng(7105)
    first = rng.uniform(0.0, 30.0, 100_000)
    alarm = first + 30.0 * np.maximum(np.ceil((CROSSING - first) / 30.0), 0.0) + wait
    error = alarm.std() / np.sqrt(len(alarm))
    mean, worst = time_to_alarm(CROSSING, 30.0, **words)
    assert abs(alarm.mean() - mean) < 4.5 * error
    assert worst - 0.01 < alarm.max() <= worst


ROOM = {"limit": 10.0, "lfl": 2.1, "volume": 600.0, "air_changes": 20.0, "scan": 10.0}


def test_a_leak_under_the_smallest_never_alarms_and_one_over_it_does():
    # 0.21 vol% in 12 000 m3/h of air: 25.2 m3/h = 420 L/min.
    smallest = leak_answer(**ROOM, leak=1.0).smallest
    assert smallest == pytest.approx(420.0)
    assert np.isinf(leak_answer(**ROOM, leak=0.99 * smallest).mean)
    assert np.isfinite(leak_answer(**ROOM, leak=1.01 * smallest).mean)


def test_a_shut_space_is_reached_by_any_leak_and_the_day_s_leak_in_a_day():
    shut = ROOM | {"air_changes": 0.0}
    answer = leak_answer(**shut, leak=5.0)
    assert answer.smallest == 0.0
    assert answer.crossing == pytest.approx(0.0021 * 600.0 / 0.005)
    assert leak_answer(**shut, leak=answer.within_day).crossing == pytest.approx(1440.0)
