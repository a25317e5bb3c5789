import numpy as np

from alarmsift.timeline.dead_detector import unread
from alarmsift.timeline.visits import build_visits
from tests.ten_rows import history, logs_of, quiet

POINTS = ("A", "B", "C")
FAULT = """
time point gas event level    state
2:00 B     -   fault detector raised
5:00 B     -   fault detector cleared
"""


def without_number(shown, events=FAULT):
    """Return the hours of visits without any reading, the faulty detector showing ``shown``."""
    values = quiet(POINTS, 60)
    for point in POINTS:
        values[point, "HC"][12:30] = shown
    logs = logs_of({"readings": history(values, cycle_min=10.0), "events": events})
    visits = build_visits(logs)
    return visits.hours[unread(logs, visits)]


def test_nought_shown_while_the_detector_stands_in_fault_is_no_reading():
    hours = without_number(0.0)
    assert len(hours) == 18 * len(POINTS)
    assert hours.min() >= 2.0
    assert hours.max() < 5.0


def test_last_number_kept_while_the_detector_stands_in_fault_is_no_reading():
    assert len(without_number(7.5)) == 18 * len(POINTS)


def test_numbers_that_move_are_readings_whatever_the_fault_row_says():
    assert not len(without_number(np.linspace(1.0, 2.0, 18)))


def test_nought_without_a_fault_is_a_reading():
    assert not len(without_number(0.0, events=None))


def test_line_fault_says_nothing_of_the_detector():
    assert not len(without_number(0.0, events=FAULT.replace("detector", '"low flow"')))


def test_another_gas_is_still_read_when_the_fault_row_names_one():
    values = quiet(POINTS, 60)
    for point in POINTS:
        values[point, "HC"][12:30] = 0.0
        values[point, "H2S"] = np.zeros(60)
    events = FAULT.replace(" -   fault", " HC  fault")
    logs = logs_of({"readings": history(values, cycle_min=10.0), "events": events})
    visits = build_visits(logs)
    assert not unread(logs, visits).any()
