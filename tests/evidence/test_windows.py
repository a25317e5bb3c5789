import numpy as np
import pytest

from alarmsift.evidence.shape import decay_of, jump_share, run_of
from tests.measured import windows
from tests.ten_rows import SETPOINTS, START, alarms, history, logs_of, quiet

POINTS = ("A", "B", "C", "D", "E")
FIRST = 150  # round of the excursion
ROUNDS = 400


def around(course, *, lag_s=0.0, gases=("HC",)):
    """Return windows around the alarms of one course at A (background 1, 20 min rounds)."""
    values = quiet(POINTS, ROUNDS, gases=gases, noise=0.1)
    gas = gases[0]
    values["A", gas][FIRST : FIRST + len(course)] = course
    readings = history(values)
    limit = {"HC": 10.0, "O2": 19.5}[gas]
    events = alarms(readings, {(gas, "low"): limit})
    events = events.assign(time=events["time"] + np.timedelta64(int(1e6 * lag_s), "us"))
    return windows(logs_of({"readings": readings, "events": events, "setpoints": SETPOINTS}))


def shown_at_raise(w):
    return w.ship.visits.value["HC"][w.visit[:, w.at]].tolist()


@pytest.mark.parametrize("lag_s", [-60.0, 0.0, 20.0, 200.0, 500.0])
def test_window_is_centred_on_the_visit_that_raised(lag_s):
    w = around([4.0, 15.0, 20.0, 12.0, 3.0], lag_s=lag_s)
    assert shown_at_raise(w) == [15.0]
    assert w.value.tolist() == [15.0]


def test_window_holds_excess_over_background_and_its_hours():
    w = around([4.0, 15.0, 20.0, 12.0, 3.0])
    assert w.x0[0] == pytest.approx(14.0, abs=0.5)
    assert w.rel[0, w.at + 1] == pytest.approx(1 / 3)
    assert w.setpoint.tolist() == [10.0]
    assert w.deadband.tolist() == [1.0]


def test_window_ends_with_the_log():
    w = around([4.0, 15.0])
    late = w.visit[0] < 0
    assert np.isnan(w.x[0, late]).all()


def test_previous_column_is_the_point_before_in_the_round():
    w = around([4.0, 15.0, 3.0])
    visits = w.ship.visits
    before = visits.previous[w.visit[0, w.at]]
    assert visits.points[visits.point[before]] == "E"


def test_oxygen_is_turned_so_that_alarms_are_upwards():
    w = around([20.0, 18.5, 17.5, 19.0, 20.5], gases=("O2",))
    assert not w.rising[0]
    assert w.x0[0] == pytest.approx(2.4, abs=0.2)


def test_alarm_of_an_unknown_point_has_an_empty_window():
    events = """
    time point   gas event level state  value
    9:00 NOWHERE HC  alarm low   raised 15
    """
    readings = history(quiet(POINTS, 100))
    w = windows(logs_of({"readings": readings, "events": events, "setpoints": SETPOINTS}))
    assert w.point.tolist() == [-1]
    assert np.isnan(w.x).all()
    assert w.value.tolist() == [15.0]


def test_run_counts_the_visits_of_the_excursion():
    w = around([12.0, 15.0, 20.0, 18.0, 12.0, 1.0, 1.0])
    run = run_of(w)
    assert run.visits.tolist() == [5.0]
    assert run.hours[0] == pytest.approx(4 / 3)
    assert run.ended.tolist() == [True]
    assert (run.first[0], run.last[0]) == (w.at, w.at + 4)


def test_one_low_visit_in_between_does_not_end_a_run():
    w = around([12.0, 15.0, 1.0, 18.0, 14.0, 1.0, 1.0])
    assert run_of(w).visits[0] == 4.0
    assert run_of(w).last[0] == w.at + 4


def test_end_of_a_run_that_the_log_does_not_show_is_not_claimed():
    values = quiet(POINTS, 100, noise=0.1)
    values["A", "HC"][95:] = 20.0
    readings = history(values)
    events = alarms(readings, {("HC", "low"): 10.0})
    w = windows(logs_of({"readings": readings, "events": events, "setpoints": SETPOINTS}))
    assert run_of(w).ended.tolist() == [False]
    assert run_of(w).visits.tolist() == [5.0]


def test_jump_is_told_from_creep():
    assert jump_share(around([20.0, 19.0, 18.0, 1.0]))[0] > 0.9
    assert jump_share(around([4.0, 7.0, 9.5, 11.0, 12.0, 12.0]))[0] < 0.5


def test_exponential_decay_comes_back():
    hours = np.arange(10) / 3.0
    w = around(1.0 + 30.0 * np.exp(-hours / 1.5))
    decay = decay_of(w, run_of(w))
    assert decay.tau[0] == pytest.approx(1.5, rel=0.1)
    assert decay.fit[0] > 0.97


def test_nothing_that_rises_has_a_decay():
    w = around(np.linspace(11.0, 30.0, 12))
    assert not decay_of(w, run_of(w)).tau[0] < 6.0


def test_hour_nought_is_the_first_row():
    assert around([15.0]).ship.visits.origin == START
