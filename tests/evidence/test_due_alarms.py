import pytest

from alarmsift.evidence.due_alarms import due_alarms
from alarmsift.pipeline.diagnose import measured
from tests.ten_rows import SETPOINTS, alarms, history, logs_of, quiet

POINTS = tuple("ABCDEF")
LIMITS = {("HC", "low"): 10.0, ("HC", "high"): 30.0}


def due(*, gas_at=None, without=None, operations=None, extra=None):
    """Return (missed, unfounded) of each alarm with any, on a ship where B may hold gas."""
    values = quiet(POINTS, 144)
    if gas_at is not None:
        values["B", "HC"][gas_at] = 14.0
    readings = history(values, cycle_min=10.0)
    events = alarms(readings, LIMITS)
    if without is not None:
        events = events[events["point"].astype(str) != without].reset_index(drop=True)
    if extra is not None:
        events = extra
    tables = {"readings": readings, "events": events, "setpoints": SETPOINTS}
    if operations is not None:
        tables["operations"] = "time action point gas value level\n" + operations
    ship, table, _ = measured(logs_of(tables))
    return [
        (d.point, d.level, len(d.missed), len(d.unfounded))
        for d in due_alarms(ship, table)
        if d.missed or d.unfounded
    ]


def test_alarms_that_came_as_they_were_due_are_in_order():
    assert due(gas_at=slice(40, 60)) == []


def test_crossing_without_an_alarm_is_missed():
    assert due(gas_at=slice(40, 60), without="B") == [("B", "low", 1, 0)]


def test_alarm_with_no_reading_near_the_setpoint_is_unfounded():
    extra = (
        "time point gas event level state value\n"
        "6:40 B HC alarm low raised -\n6:50 B HC alarm low cleared -"
    )
    assert due(extra=extra) == [("B", "low", 0, 1)]


def test_setpoint_that_was_raised_in_the_log_makes_no_alarm_due():
    rows = "2:00 setpoint B HC 20 low"
    assert due(gas_at=slice(40, 60), without="B", operations=rows) == []


@pytest.mark.parametrize("action", ["zero_check", "span_check"])
def test_crossing_in_a_calibration_makes_no_alarm_due(action):
    rows = f"6:50 {action} - HC 0 -"
    assert due(gas_at=slice(40, 43), without="B", operations=rows) == []
