import numpy as np
import pandas as pd
import pytest

from alarmsift.calibration.ledger import calibration_ledger
from alarmsift.repairs.table import repair_table
from alarmsift.tables.diagnosis import REPAIR_COLUMNS
from alarmsift.timeline.operations import read_operations
from alarmsift.timeline.visits import build_visits
from tests.ten_rows import START, history, logs_of

POINTS = ("VOID 1", "VOID 2")
HEADER = "time action point gas value level note\n"
DAYS = 20


def repairs(operations, alarms, health=None):
    """Alarms: rows of (hour, point, gas, level, kind); health: (hours, point's index) -> share."""
    rounds = DAYS * 48
    readings = history({(point, "HC"): np.ones(rounds) for point in POINTS}, cycle_min=30.0)
    logs = logs_of({"readings": readings, "operations": HEADER + operations})
    visits = build_visits(logs)
    frame = pd.DataFrame(alarms, columns=["hour", "point", "gas", "level", "kind"])
    frame["raised"] = (START + pd.to_timedelta(frame.pop("hour"), unit="h")).dt.as_unit("us")
    line = np.full(len(visits), np.nan)
    if health is not None:
        noise = np.random.default_rng(1).normal(0.0, 0.03, len(visits))
        line = np.log(health(visits.hours, visits.point)) + noise
    return repair_table(
        logs,
        visits,
        read_operations(logs, visits),
        episodes=frame,
        health=line,
        ledger=calibration_ledger(logs),
    )


def faults(hours, point="VOID 1"):
    return [(hour, point, "", "low flow", "fault") for hour in hours]


BEFORE = [100.0, 112.0, 120.0, 131.0, 140.0, 150.0, 161.0]


def test_purge_that_ended_the_faults_held():
    found = repairs("168:00 purge 'VOID 1' - - - -", faults(BEFORE)).iloc[0]
    assert (found["alarms_before"], found["alarms_after"]) == (7, 0)
    assert found["days_before"] == pytest.approx(7.0, abs=0.1)
    assert found["days_after"] == pytest.approx(13.0, abs=0.1)
    assert found["outcome"] == "held"
    assert found["ratio_high"] < 0.5
    assert "7 alarms in 7.0 watched days before, 0 in 12.9 after" in found["why"]


def test_faults_that_are_back_are_dated():
    later = [300.0, 309.0, 320.0, 330.0, 341.0]
    found = repairs("168:00 purge 'VOID 1' - - - -", faults(BEFORE + later)).iloc[0]
    assert found["outcome"] == "came_back"
    assert found["days_to_return"] == pytest.approx((300.0 - 168.0) / 24.0, abs=0.1)


def test_alarms_of_other_points_say_nothing_of_a_purge():
    found = repairs("168:00 purge 'VOID 1' - - - -", faults(BEFORE, "VOID 2")).iloc[0]
    assert (found["alarms_before"], found["outcome"]) == (0, "no_trouble")


def test_drain_is_known_by_its_own_word_and_by_a_note():
    found = repairs(
        "168:00 note 'VOID 1' - - - 'drain: trap'\n"
        "200:00 note 'VOID 2' - - - 'trap drained'\n"
        "210:00 note 'VOID 2' - - - 'trap not drained'\n"
        "220:00 note - - - - 'watch changed'",
        [],
    )
    assert found["action"].tolist() == ["drain", "drain"]


def test_time_compared_ends_where_the_same_work_was_done_again():
    found = repairs("168:00 purge 'VOID 1' - - - -\n240:00 purge 'VOID 1' - - - -", faults(BEFORE))
    assert found["days_after"].iloc[0] == pytest.approx(3.0, abs=0.1)
    assert found["days_before"].iloc[1] == pytest.approx(3.0, abs=0.1)


def test_work_on_other_things_in_the_time_compared_is_named():
    found = repairs(
        "168:00 purge 'VOID 1' - - - -\n240:00 setpoint 'VOID 1' HC 20 low -\n"
        "250:00 purge 'VOID 2' - - - -",
        faults(BEFORE),
    )
    assert found["also"].tolist() == ["setpoint", "purge", ""]


def test_rows_of_one_round_are_one_job():
    found = repairs("168:00 zero_adjust - HC 0 - -\n168:20 span_adjust - HC 50 - -", [])
    assert found["days_before"].tolist() == pytest.approx([7.0, 7.0], abs=0.1)
    assert found["days_after"].nunique() == 1


def test_setpoint_is_judged_by_alarms_of_its_level_alone():
    alarms = [(hour, "VOID 1", "HC", "low", "alarm") for hour in BEFORE]
    alarms += [(hour, "VOID 1", "HC", "high", "alarm") for hour in BEFORE[:2]]
    alarms += [(hour, "VOID 1", "H2S", "low", "alarm") for hour in BEFORE[:3]]
    found = repairs("168:00 setpoint - HC 15 low -", alarms).iloc[0]
    assert found["alarms_before"] == 7
    assert "cures nothing" in found["why"]
    assert "held" not in found["why"]


def test_line_that_was_choked_and_draws_again_is_measured():
    def health(hours, point):
        return np.where((point == 0) & (hours < 168.0), 0.4, 1.0)

    found = repairs("168:00 purge 'VOID 1' - - - -", [], health).iloc[0]
    assert found["line_before"] == pytest.approx(0.4, rel=0.03)
    assert found["line_after"] == pytest.approx(1.0, rel=0.03)
    assert found["line_ratio_low"] < 2.5 < found["line_ratio_high"]
    assert found["outcome"] == "held"


def test_line_that_chokes_again_came_back_though_no_alarm_told():
    def health(hours, point):
        bad = (point == 0) & ((hours < 168.0) | (hours > 264.0))
        return np.where(bad, 0.4, 1.0)

    found = repairs("168:00 purge 'VOID 1' - - - -", [], health).iloc[0]
    assert found["outcome"] == "came_back"
    assert found["days_to_return"] == pytest.approx(4.0, abs=0.15)


def test_purge_that_won_nothing_back_did_not_help():
    found = repairs(
        "168:00 purge 'VOID 1' - - - -", [], lambda hours, point: np.full(len(hours), 0.4)
    ).iloc[0]
    assert (found["outcome"], found["days_to_return"]) == ("came_back", 0.0)
    assert "it did not help" in found["why"]


def test_adjustment_whose_zero_walked_off_again_came_back():
    found = repairs(
        "168:00 zero_adjust - HC 0 - -\n336:00 zero_check - HC 4 - -\n"
        "336:10 zero_adjust - HC 0 - -",
        [],
    ).iloc[0]
    assert (found["outcome"], found["days_to_return"]) == ("came_back", pytest.approx(7.0))


def test_line_that_was_measured_decides_where_alarms_are_too_few():
    def health(hours, point):
        return np.where((point == 0) & (hours < 168.0), 0.4, 1.0)

    purges = "168:00 purge 'VOID 1' - - - -\n264:00 purge 'VOID 1' - - - -"
    told = repairs(purges, faults([40.0]))
    assert told["outcome"].iloc[0] == "too_early"
    told = repairs(purges, faults([40.0]), health)
    assert told["outcome"].iloc[0] == "held"


def test_adjustment_not_checked_since_is_judged_by_the_alarms_that_ended():
    alarms = [(hour, "VOID 1", "HC", "low", "alarm") for hour in BEFORE]
    found = repairs("168:00 zero_adjust - HC 0 - -", alarms).iloc[0]
    assert found["outcome"] == "held"
    assert repairs("168:00 zero_adjust - HC 0 - -", []).iloc[0]["outcome"] == "too_early"


def test_no_repair_no_row():
    found = repairs("168:00 resample 'VOID 1' - - - -", faults(BEFORE))
    assert list(found) == REPAIR_COLUMNS
    assert found.empty
