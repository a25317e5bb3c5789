import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from alarmsift.timeline.coverage import explain_gaps, explained_gaps, raw_gaps
from alarmsift.timeline.operations import read_operations
from alarmsift.timeline.visits import build_visits
from tests.ten_rows import history, logs_of, quiet

POINTS = ("A", "B", "C", "D")
OPS = "time action point gas value\n"


def gaps(values, *, cycle_min=10.0, limit_min=30.0, operations=None, events=None, spoil=None):
    readings = history(values, cycle_min=cycle_min)
    if spoil is not None:
        readings = spoil(readings)
    logs = logs_of(
        {
            "readings": readings,
            "events": events,
            "operations": None if operations is None else OPS + operations,
        }
    )
    visits = build_visits(logs)
    found = raw_gaps(visits, limit_min / 60.0)
    reason = explain_gaps(found, logs, visits, read_operations(logs, visits))
    return [
        (visits.points[row.point], round(row.start, 3), round(row.end, 3), why)
        for row, why in zip(found.itertuples(), reason, strict=True)
    ]


def missing(points, first, last, rounds=60):
    values = quiet(POINTS, rounds)
    for point in points:
        values[point, "HC"][first:last] = np.nan
    return values


def test_watched_within_the_limit_leaves_no_gap():
    assert gaps(quiet(POINTS, 60)) == []


def test_one_point_missing_while_the_others_are_sampled():
    assert gaps(missing("A", 12, 30)) == [("A", 1.833, 5.0, "not_sampled")]


def test_gap_of_just_the_limit_is_none():
    assert gaps(missing("A", 12, 14)) == []  # 30 minutes between two visits
    assert len(gaps(missing("A", 12, 15))) == 1


def test_disconnected_by_the_log():
    ops = "1:55 disconnect A - -\n4:55 reconnect A - -"
    assert gaps(missing("A", 12, 30), operations=ops) == [("A", 1.833, 5.0, "disconnected")]


def test_all_rows_missing_with_nothing_else_logged_is_no_proof():
    found = gaps(missing(POINTS, 12, 30))
    assert [gap[0] for gap in found] == list(POINTS)
    assert {gap[3] for gap in found} == {"no_log"}


def test_all_rows_missing_around_a_restart_is_a_stop():
    found = gaps(missing(POINTS, 12, 30), operations="4:50 restart - - -")
    assert {gap[3] for gap in found} == {"stopped"}


def test_all_rows_missing_while_the_alarm_list_lives_on_is_a_stop():
    events = """
    time point gas event level state
    3:00 A     -   fault pump  raised
    """
    assert {gap[3] for gap in gaps(missing(POINTS, 12, 30), events=events)} == {"stopped"}


def test_round_stands_still_in_a_calibration():
    ops = "2:30 zero_check - HC 0\n2:50 span_check - HC 50"
    assert {gap[3] for gap in gaps(missing(POINTS, 12, 18), operations=ops)} == {"test"}


def test_readings_marked_as_test_are_no_watch():
    def mark(readings):
        late = readings["time"] >= readings["time"].iloc[0] + pd.Timedelta(hours=2)
        soon = readings["time"] < readings["time"].iloc[0] + pd.Timedelta(hours=3)
        status = readings["status"].astype("str").mask(late & soon, "test")
        return readings.assign(status=status.astype("category"))

    found = gaps(quiet(POINTS, 60), spoil=mark)
    assert [gap[0] for gap in found] == list(POINTS)
    assert {gap[3] for gap in found} == {"test"}


def reasons(point, spoil, operations=""):
    logs = logs_of(
        {
            "readings": spoil(history(quiet(POINTS, 60), cycle_min=10.0)),
            "operations": OPS + operations,
        }
    )
    visits = build_visits(logs)
    found = explained_gaps(logs, visits, read_operations(logs, visits), 0.5)
    mine = found[found["point"] == visits.points.index(point)]
    return [(round(r.start), round(r.end), r.reason) for r in mine.itertuples()]


def in_fault_then_off(readings):
    """A's rows are a fault from 2:00, and there is none from 4:00 to 8:00."""
    clock = (readings["time"] - readings["time"].iloc[0]) / pd.Timedelta(hours=1)
    mine = readings["point"] == "A"
    status = readings["status"].astype("str").mask(mine & clock.between(2.0, 4.0), "fault")
    kept = ~(mine & clock.between(4.0, 8.0))
    return readings.assign(status=status.astype("category"))[kept].reset_index(drop=True)


def test_line_in_fault_and_then_unplugged_has_two_gaps():
    ops = "4:02 disconnect A - -\n7:58 reconnect A - -"
    assert reasons("A", in_fault_then_off, ops) == [(2, 4, "not_sampled"), (4, 8, "disconnected")]


def test_line_in_fault_and_then_skipped_is_one_gap():
    assert reasons("A", in_fault_then_off) == [(2, 8, "not_sampled")]


def test_round_that_waits_at_one_point_is_no_failure_of_the_others():
    def wait(readings):
        # 2:30 to 2:55 at A, ten visits there and none elsewhere
        clock = (readings["time"] - readings["time"].iloc[0]) / pd.Timedelta(hours=1)
        late = readings["time"].mask(clock >= 2.5, readings["time"] + pd.Timedelta(minutes=25))
        stay = readings[(readings["point"] == "A") & clock.between(2.49, 2.51)]
        more = [stay.assign(time=stay["time"] + pd.Timedelta(minutes=2.5 * i)) for i in range(10)]
        both = pd.concat([readings.assign(time=late), *more], ignore_index=True)
        return both.sort_values("time", ignore_index=True)

    (gap,) = reasons("C", wait)
    assert gap[2] != "not_sampled"


def test_slow_round_of_the_whole_system():
    found = gaps(quiet(POINTS, 20), cycle_min=40.0)
    assert {gap[3] for gap in found} == {"slow_cycle"}
    assert len([gap for gap in found if gap[0] == "A"]) == 19


def test_rows_marked_not_sampled_are_no_watch():
    def mark(readings):
        mine = (readings["point"] == "A") & (readings["time"] >= readings["time"].iloc[100])
        status = readings["status"].astype("str").mask(mine, "not_sampled")
        return readings.assign(status=status.astype("category"), value=readings["value"].mask(mine))

    (gap,) = gaps(quiet(POINTS, 60), spoil=mark)
    assert (gap[0], gap[3]) == ("A", "not_sampled")
    assert gap[2] > 9.7  # to the end of the log


def test_point_that_starts_late_was_unwatched_before():
    (gap,) = gaps(missing("B", 0, 30))
    assert gap[:2] == ("B", 0.0)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.booleans(), min_size=20, max_size=60),
    st.sampled_from([25.0, 30.0, 45.0]),
)
def test_watched_time_and_gaps_tile_the_log(present, limit):
    values = quiet(("A", "B"), len(present))
    values["A", "HC"] = np.where(present, values["A", "HC"], np.nan)
    logs = logs_of({"readings": history(values, cycle_min=10.0)})
    visits = build_visits(logs)
    found = raw_gaps(visits, limit / 60.0)
    mine = found[found["point"] == 0]
    if "A" not in visits.points:
        return
    times = visits.hours[visits.of(0)]
    span = (visits.hours[0], visits.hours[-1])
    edges = np.concatenate([[span[0]], times, [span[1]]])
    step = np.diff(edges)
    watched = step[step <= 1.02 * limit / 60.0].sum()
    assert watched + (mine["end"] - mine["start"]).sum() == pytest.approx(span[1] - span[0])
    assert (mine["start"].to_numpy()[1:] >= mine["end"].to_numpy()[:-1] - 1e-9).all()
    inside = (times[:, None] > mine["start"].to_numpy() + 1e-9) & (
        times[:, None] < mine["end"].to_numpy() - 1e-9
    )
    assert not inside.any()
