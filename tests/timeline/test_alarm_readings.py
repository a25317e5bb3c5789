import numpy as np
import pandas as pd

from alarmsift.pipeline.diagnose import diagnose
from alarmsift.timeline.alarm_readings import with_alarm_values
from alarmsift.timeline.visits import build_visits
from tests.ten_rows import SETPOINTS, alarms, history, logs_of, quiet

POINTS = ("A", "B", "C", "AIR")
LIMITS = {("HC", "low"): 10.0}
ROUNDS = 200


def ship(*, lost=True, said=None):
    """Return logs in which A shows 14 once, and that one reading is lost."""
    values = quiet(POINTS, ROUNDS)
    values["A", "HC"][100] = 14.0
    readings = history(values)
    events = alarms(readings, LIMITS)
    if said is not None:
        events["value"] = said
    gone = (readings["value"] == 14.0) & lost
    return logs_of(
        {"readings": readings[~gone], "events": events, "setpoints": SETPOINTS},
    )


def completed(logs):
    return with_alarm_values(logs, build_visits(logs))


def test_a_lost_reading_is_taken_from_the_alarm_that_it_raised():
    logs = ship()
    whole = completed(logs)
    assert len(whole.readings) == len(logs.readings) + 1
    row = whole.readings[whole.readings["value"] == 14.0].iloc[0]
    alarm = logs.events[logs.events["state"] == "raised"].iloc[0]
    assert (row["time"], row["point"], row["gas"]) == (alarm["time"], "A", "HC")
    assert (row["source_file"], row["source_row"]) == (alarm["source_file"], alarm["source_row"])


def test_the_completed_readings_keep_their_order_and_kinds():
    logs = ship()
    whole = completed(logs).readings
    assert whole["time"].is_monotonic_increasing
    for name in whole:
        kind, was = whole[name].dtype, logs.readings[name].dtype
        assert isinstance(kind, pd.CategoricalDtype) or kind == was


def test_nothing_is_put_in_where_the_reading_is_there():
    logs = ship(lost=False)
    assert completed(logs) is logs


def test_an_alarm_without_a_value_gives_no_reading():
    logs = ship(said=np.nan)
    assert completed(logs) is logs


def test_an_alarm_of_an_unknown_point_gives_no_reading():
    logs = ship()
    logs.events["point"] = logs.events["point"].astype(str).replace("A", "Z").astype("category")
    assert completed(logs) is logs


def test_the_logs_handed_on_hold_only_what_was_read():
    logs = ship()
    assert len(diagnose(logs).logs.readings) == len(logs.readings)


def test_a_cleared_row_never_becomes_a_clean_reading():
    logs = ship()
    logs.events["state"] = "cleared"
    assert completed(logs) is logs


def test_a_reading_that_shows_more_than_the_alarm_said_stands_alone():
    """Some lists write the setpoint, not the reading, beside the alarm."""
    logs = ship(lost=False, said=10.0)
    late = logs.events["time"] + pd.Timedelta(minutes=5)
    logs.events["time"] = late
    assert completed(logs) is logs
