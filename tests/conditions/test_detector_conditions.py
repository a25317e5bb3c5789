"""Failures of detectors and of the analyser: what the logs must hold for one to be found."""

import numpy as np
import pandas as pd

from tests.conditions.test_conditions import HOURS, POINTS, SPAN, between, conditions, only
from tests.ten_rows import at

NOTED = "time action gas value reference note\n"


def test_lone_check_that_repeats_the_cylinder_does_not_say_that_the_span_was_right():
    found = conditions(
        operations=SPAN
        + """
        24:00  span_check  HC 49 50
        90:00  span_check  HC 50 50
        120:00 span_check  HC 30 50
        120:30 span_adjust HC 50 50
        """
    )
    row = only(found, "low_sensitivity", "detector HC")
    assert f"the good check of {str(at('24:00'))[:16]}" in row["why"]


def test_check_beside_a_zero_check_tells_though_it_repeats_the_cylinder():
    found = conditions(
        operations=SPAN
        + """
        89:50  zero_check  HC 0  0
        90:00  span_check  HC 50 50
        120:00 span_check  HC 30 50
        120:30 span_adjust HC 50 50
        """
    )
    row = only(found, "low_sensitivity", "detector HC")
    assert at("90:00") <= row["start"] <= at("120:00")


def test_check_tells_of_the_analyser_that_its_note_names():
    found = conditions(
        operations=NOTED
        + """
        24:00  span_check  HC 49 50 "analyser A1"
        25:00  span_check  HC 49 50 "analyser A2"
        120:00 span_check  HC 30 50 "analyser A2"
        120:30 span_adjust HC 50 50 "analyser A2"
        """
    )
    only(found, "low_sensitivity", "detector HC (A2)")


def test_adjustment_written_before_its_check_still_ends_the_failure():
    found = conditions(
        operations=SPAN
        + """
        24:00  span_check  HC 49 50
        120:00 span_adjust HC 50 50
        120:01 span_check  HC 30 50
        150:00 span_check  HC 49 50
        """
    )
    row = only(found, "low_sensitivity", "detector HC")
    assert row["end"] == at("120:00")


def test_zero_left_at_the_adjustment_is_not_taken_out_of_the_span_again():
    found = conditions(
        operations=SPAN
        + """
        119:30 zero_adjust HC 0  0
        119:31 zero_check  HC 12 0
        120:00 span_check  HC 48 50
        """
    )
    assert "low_sensitivity" not in set(found["condition"])


def shift(values, course):
    for point in POINTS:
        values[point, "HC"] = np.round(values[point, "HC"] + course, 1)


def quiet_list(readings):
    """Return no alarms: what they would say is not asked here."""
    return


def test_zero_that_swings_over_the_limit_every_day_is_one_condition():
    def values(values):
        day = np.sin(2 * np.pi * HOURS / 24.0)
        shift(values, np.where(between(HOURS, 48.0, 144.0), 3.0 + 3.0 * day, 0.0))

    rows = conditions(values=values, events=quiet_list)
    row = only(rows, "zero_drift", "detector HC")
    assert abs(row["start"] - at(48.0)) < pd.Timedelta(hours=6)


def test_optics_that_were_wet_for_half_a_day_are_no_zero():
    def values(values):
        shift(values, np.where(between(HOURS, 60.0, 74.0), 8.0, 0.0))

    rows = conditions(values=values, events=quiet_list)
    assert "zero_drift" not in set(rows["condition"])


def test_gas_at_the_few_points_that_are_left_in_the_scan_is_no_zero():
    def values(values):
        for point in POINTS[2:]:
            values[point, "HC"][HOURS >= 60.0] = np.nan
        for point in POINTS[:2]:
            values[point, "HC"][HOURS >= 80.0] += 8.0

    off = "".join(f"60:00 disconnect {p}\n" for p in POINTS[2:])
    rows = conditions(values=values, events=quiet_list, operations="time action point\n" + off)
    assert "zero_drift" not in set(rows["condition"])


def test_drift_is_told_with_its_rate_and_the_day_it_passed_the_limit():
    def values(values):
        shift(values, np.clip(HOURS - 24.0, 0.0, None) / 24.0)

    row = only(conditions(values=values, events=quiet_list), "zero_drift", "detector HC")
    assert "+1.0" in row["why"] or "+0.9" in row["why"]
    assert "a day" in row["why"]
    assert "and passed 3 on" in row["why"]
    assert abs(row["start"] - at(96.0)) < pd.Timedelta(hours=10)


def test_zero_that_stepped_is_told_so():
    def values(values):
        shift(values, np.where(HOURS >= 100.0, 6.0, 0.0))

    row = only(conditions(values=values, events=quiet_list), "zero_drift", "detector HC")
    assert "at once" in row["why"]
    assert abs(row["start"] - at(100.0)) < pd.Timedelta(hours=4)


def under_nought(values):
    """Let the zero fall under nought on a display that shows nothing under nought."""
    down = np.where(HOURS >= 96.0, -8.0, 0.0)
    for point in POINTS:
        shown = np.round(values[point, "HC"] + (point == "AIR") + down, 1)
        values[point, "HC"] = np.maximum(shown, 0.0)


def test_display_that_lies_still_at_nought_hides_a_zero():
    row = only(conditions(values=under_nought, events=quiet_list), "zero_drift", "detector HC")
    assert "lay still at nought" in row["why"]
    assert abs(row["start"] - at(96.0)) < pd.Timedelta(hours=12)


def test_zero_check_settles_why_the_display_lies_still():
    found = conditions(
        values=under_nought,
        events=quiet_list,
        operations="time action gas value reference\n150:00 zero_check HC -0.5 0",
    )
    assert "zero_drift" not in set(found["condition"])
    found = conditions(
        values=under_nought,
        events=quiet_list,
        operations="time action gas value reference\n150:00 zero_check HC -8 0",
    )
    row = only(found, "zero_drift", "detector HC")
    assert "8.0 too low: it hides gas" in row["why"]
    assert at(84.0) < row["start"] < at(130.0)


def test_pump_is_not_weak_while_one_line_in_three_draws_as_ever():
    def lines(flow, suction):
        for point in POINTS[:4]:
            flow[point][HOURS >= 120.0] *= 0.6

    assert "low_flow_all" not in set(conditions(lines=lines)["condition"])


def test_suction_alone_tells_of_a_weak_pump():
    def lines(flow, suction):
        for point in POINTS:
            flow[point][:] = np.nan
            suction[point][HOURS >= 120.0] *= 0.6

    row = only(conditions(lines=lines), "low_flow_all", "analyser")
    assert "suction" in row["why"]
    assert abs(row["start"] - at(120.0)) < pd.Timedelta(hours=4)


def test_leak_that_fills_most_of_the_log_is_found_against_the_level_before():
    def lines(flow, suction):
        flow["D"][HOURS >= 50.0] *= 1.25

    row = only(conditions(lines=lines), "air_leak", "D")
    assert abs(row["start"] - at(50.0)) < pd.Timedelta(hours=6)
    assert "19%" in row["why"] or "20%" in row["why"]  # 0.25/1.25 of what is drawn


def test_small_leak_that_stays_is_found_and_told_as_the_least_there_is():
    def lines(flow, suction):
        flow["D"][between(HOURS, 60.0, 150.0)] *= 1.08

    row = only(conditions(lines=lines), "air_leak", "D")
    assert "at least 7%" in row["why"] or "at least 6%" in row["why"]
    assert row["probability"] < 0.8


def test_line_that_was_choked_and_came_free_does_not_leak():
    def lines(flow, suction):
        flow["D"][HOURS < 50.0] *= 0.4

    assert "air_leak" not in set(conditions(lines=lines)["condition"])


def test_line_that_was_better_in_the_first_rows_does_not_leak():
    def lines(flow, suction):
        flow["D"][HOURS < 40.0] *= 1.1

    assert "air_leak" not in set(conditions(lines=lines)["condition"])


def test_leak_mended_while_the_line_was_off_ends_where_the_log_says():
    gone = between(HOURS, 100.0, 160.0)

    def lines(flow, suction):
        flow["D"][between(HOURS, 50.0, 160.0)] *= 1.4
        flow["D"][gone] = np.nan

    def values(values):
        values["D", "HC"][gone] = np.nan

    found = conditions(
        lines=lines,
        values=values,
        operations="""
        time   action      point
        100:00 disconnect  D
        130:00 maintenance D
        160:00 reconnect   D
        """,
    )
    row = found[found["condition"] == "air_leak"].iloc[0]
    assert abs(row["end"] - at(130.0)) < pd.Timedelta(minutes=1)
