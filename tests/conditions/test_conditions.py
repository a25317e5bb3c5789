"""Each silent failure on a tiny ship that has it, and on one that has not."""

import importlib
import pkgutil

import numpy as np
import pandas as pd
import pytest

import alarmsift.conditions as shelf
from alarmsift.pipeline.diagnose import diagnose
from alarmsift.tables.schema import CONDITIONS
from alarmsift.tables.site import Site
from tests.simulated import as_logs, ship_with_only
from tests.ten_rows import SETPOINTS, alarms, at, history, logs_of, of_columns, quiet

POINTS = ("A", "B", "C", "D", "E", "F", "AIR")
DAYS = 8
ROUNDS = 72 * DAYS  # of 20 min
HOURS = np.arange(ROUNDS) / 3.0
LIMITS = {("HC", "low"): 10.0, ("HC", "high"): 30.0}
NAMES = [info.name for info in pkgutil.iter_modules(shelf.__path__)]


def conditions(
    *, values=None, lines=None, operations=None, events=None, columns=("flow", "suction")
):
    """Return the conditions of a healthy ship with something changed."""
    rng = np.random.default_rng(4)
    flow = {p: 8.0 * (1 + 0.02 * rng.standard_normal(ROUNDS)) for p in POINTS}
    suction = {p: 6.0 * (1 + 0.02 * rng.standard_normal(ROUNDS)) for p in POINTS}
    shown = quiet(POINTS, ROUNDS)
    shown["AIR", "HC"] -= 1.0
    if values is not None:
        values(shown)
    if lines is not None:
        lines(flow, suction)
    drawn = {"flow": flow, "suction": suction}
    readings = history(shown, **{name: drawn[name] for name in columns})
    logs = logs_of(
        {
            "readings": readings,
            "events": alarms(readings, LIMITS) if events is None else events(readings),
            "operations": operations,
            "setpoints": SETPOINTS,
        },
        Site(reference_point="AIR"),
    )
    return diagnose(logs).conditions


def only(found, condition, point):
    """Return the one row there is, which must be this condition at this point."""
    got = list(zip(found["point"], found["condition"], strict=True))
    assert got == [(point, condition)]
    return found.iloc[0]


def between(hours, start, end):
    return (hours >= start) & (hours < end)


def test_shelf_holds_every_condition_of_the_contract():
    assert sorted(NAMES) == sorted(CONDITIONS)
    for name in NAMES:
        module = importlib.import_module(f"alarmsift.conditions.{name}")
        assert module.CONDITION.key == name
        assert (module.__doc__ or "").splitlines()[0].endswith((".", "?"))


def test_healthy_ship_has_none():
    assert conditions().empty


def test_healthy_ship_with_an_honest_gas_alarm_has_none():
    def leak(values):
        values["B", "HC"][200:230] = 25.0

    assert conditions(values=leak).empty


def test_water_reached_the_probe_at_once_while_the_tank_was_filled():
    wet = between(HOURS, 60.0, 75.0)

    def lines(flow, suction):
        flow["A"][wet] *= 0.3
        suction["A"][wet] += 6.0

    row = only(
        conditions(
            lines=lines,
            operations="""
            time  action                point
            58:00 ballast_fill_start    A
            62:00 ballast_fill_end      A
            70:00 ballast_discharge_start A
            74:00 ballast_discharge_end A
            """,
        ),
        "water",
        "A",
    )
    assert abs(row["start"] - at(60.0)) < pd.Timedelta(hours=1)
    assert abs(row["end"] - at(75.0)) < pd.Timedelta(hours=1)


def test_blockage_grew_over_days():
    grown = np.clip((HOURS - 48.0) / 72.0, 0.0, 1.0)

    def lines(flow, suction):
        flow["C"] *= 1.0 - 0.6 * grown
        suction["C"] *= 1.0 + 0.2 * grown

    row = only(conditions(lines=lines), "blocked", "C")
    # flow/suction is halved where (1 - .6 g) / (1 + .2 g) = .5, that is at g = 5/7.
    assert abs(row["start"] - at(48.0 + 72.0 * 5 / 7)) < pd.Timedelta(hours=5)
    assert pd.isna(row["end"])


def test_air_leak_makes_a_line_better_than_clean():
    def lines(flow, suction):
        flow["D"][HOURS >= 100.0] *= 1.4

    row = only(conditions(lines=lines), "air_leak", "D")
    assert abs(row["start"] - at(100.0)) < pd.Timedelta(hours=8)
    assert "28%" in row["why"] or "29%" in row["why"]  # 0.4/1.4 of what is drawn


def test_worn_pump_takes_flow_from_all_lines():
    def lines(flow, suction):
        for point in POINTS:
            flow[point][HOURS >= 120.0] *= 0.6
            suction[point][HOURS >= 120.0] *= 0.6

    row = only(conditions(lines=lines), "low_flow_all", "analyser")
    assert abs(row["start"] - at(120.0)) < pd.Timedelta(hours=8)
    assert pd.isna(row["end"])


def test_point_drops_out_of_the_scan():
    def values(values):
        values["E", "HC"][between(HOURS, 90.0, 110.0)] = np.nan

    row = only(conditions(values=values), "not_sampled", "E")
    assert abs(row["start"] - at(90.0)) < pd.Timedelta(hours=1)
    assert abs(row["end"] - at(110.0)) < pd.Timedelta(hours=1)


OFF = """
time  action                  point
40:00 disconnect              B
41:00 ballast_fill_start      B
45:00 ballast_fill_end        B
80:00 ballast_discharge_start B
84:00 ballast_discharge_end   B
"""


def off_until(end):
    def values(values):
        values["B", "HC"][between(HOURS, 40.0, end)] = np.nan

    return values


def test_line_left_off_after_the_tank_was_empty():
    found = conditions(values=off_until(110.0), operations=OFF + "110:00 reconnect B")
    row = only(found, "left_disconnected", "B")
    assert row["start"] == at("84:00")
    assert abs(row["end"] - at("110:00")) < pd.Timedelta(hours=1)


def test_line_put_back_at_once_is_no_failure():
    assert conditions(values=off_until(85.0), operations=OFF + "85:00 reconnect B").empty


def test_line_left_off_is_found_without_rows_of_disconnecting():
    rows = "".join(f"{row}\n" for row in OFF.splitlines() if "disconnect" not in row)
    found = conditions(values=off_until(110.0), operations=rows)
    (row,) = found[found["condition"] == "left_disconnected"].to_dict("records")
    assert row["start"] == at("84:00")
    assert abs(row["end"] - at("110:00")) < pd.Timedelta(hours=1)


def test_tank_emptied_twice_with_its_line_off_was_unwatched_both_times():
    again = "90:00 ballast_fill_start B\n100:00 ballast_discharge_end B\n110:00 reconnect B"
    found = conditions(values=off_until(110.0), operations=OFF + again)
    rows = found[found["condition"] == "left_disconnected"]
    assert rows["start"].tolist() == [at("84:00"), at("100:00")]
    assert rows["end"].iloc[0] == at("90:00")


def test_line_never_put_back_is_still_off_at_the_end():
    row = only(
        conditions(values=off_until(1e9), operations=OFF + "84:00 note -"), "left_disconnected", "B"
    )
    assert row["start"] == at("84:00")
    assert pd.isna(row["end"])


def test_readings_over_the_setpoint_raised_no_alarm():
    def values(values):
        values["A", "HC"][100:110] = 15.0  # alarmed
        values["F", "HC"][300:312] = 15.0  # silent

    def events(readings):
        return alarms(readings[readings["point"] == "A"], LIMITS)

    row = only(conditions(values=values, events=events), "no_alarm", "F")
    assert abs(row["start"] - at(100.0)) < pd.Timedelta(hours=1)


def test_alarms_with_no_reading_at_the_setpoint():
    def events(readings):
        return of_columns(
            "events",
            {
                "time": [90.0, 91.0],
                "point": ["C", "C"],
                "gas": ["HC", "HC"],
                "event": ["alarm", "alarm"],
                "level": ["low", "low"],
                "state": ["raised", "cleared"],
            },
        )

    only(conditions(events=events), "no_alarm", "C")


@pytest.mark.parametrize(("drift", "found"), [(8.0, True), (-8.0, True), (1.5, False)])
def test_zero_drift_up_and_down(drift, found):
    def values(values):
        for point in POINTS:
            values[point, "HC"] = np.round(values[point, "HC"] + drift * HOURS / HOURS[-1], 1)

    rows = conditions(values=values, events=lambda readings: None)
    assert ("zero_drift" in set(rows["condition"])) == found
    if found:
        row = only(rows, "zero_drift", "detector HC")
        # 3 %LFL is passed after 3/8 of the log.
        assert abs(row["start"] - at(HOURS[-1] * 3 / 8)) < pd.Timedelta(hours=20)
        assert ("hides gas" in row["why"]) == (drift < 0)


SPAN = "time action gas value reference\n"


def test_span_check_that_finds_too_little():
    row = only(
        conditions(
            operations=SPAN
            + """
            24:00  span_check  HC 50 50
            120:00 span_check  HC 40 50
            120:30 span_adjust HC 50 50
            """
        ),
        "low_sensitivity",
        "detector HC",
    )
    assert at("24:00") <= row["start"] <= at("120:00")
    assert abs(row["end"] - at("120:30")) <= pd.Timedelta(hours=1)
    assert "low 10 is really 12.5" in row["why"]  # 10 / 0.8


def test_span_check_within_tolerance_is_none():
    assert conditions(operations=SPAN + "120:00 span_check HC 45 50").empty


PAIR = """
point space
A     "BT 1"
B     "BT 1"
V     VOID
AIR   CABINET
"""


def of_pair(operations, *, missing):
    """Return the conditions of a ship with an upper and a lower point in one tank."""
    values = quiet(("A", "B", "V", "AIR"), ROUNDS)
    for point, start, end in missing:
        values[point, "HC"][between(HOURS, start, end)] = np.nan
    tables = {"readings": history(values), "operations": operations, "points": PAIR}
    return diagnose(logs_of(tables)).conditions


def test_ballast_row_of_one_point_is_about_the_whole_tank():
    found = of_pair(
        """
        time  action             point
        40:00 disconnect         A
        40:00 disconnect         B
        41:00 ballast_fill_start A
        45:00 ballast_fill_end   A
        """,
        missing=[("A", 40.0, 1e9), ("B", 40.0, 1e9)],
    )
    assert found.empty


def test_point_in_the_table_that_never_has_a_reading_is_not_sampled():
    tables = {"readings": history(quiet(("A", "V", "AIR"), ROUNDS)), "points": PAIR}
    result = diagnose(logs_of(tables))
    assert "B" in set(result.conditions["point"])
    assert "B" in set(result.coverage["point"])


def test_skipped_point_is_found_while_most_others_are_disconnected():
    def values(values):
        for point in ("B", "C", "D", "E", "F"):
            values[point, "HC"][between(HOURS, 20.0, 160.0)] = np.nan
        values["A", "HC"][between(HOURS, 60.0, 80.0)] = np.nan

    off = "".join(f"20:00 disconnect {p}\n160:00 reconnect {p}\n" for p in "BCDEF")
    found = conditions(values=values, operations="time action point\n" + off)
    assert ("A", "not_sampled") in set(zip(found["point"], found["condition"], strict=True))


def test_valve_that_shut_at_once_in_a_void_is_no_water():
    def lines(flow, suction):
        flow["C"][HOURS >= 100.0] *= 0.4
        suction["C"][HOURS >= 100.0] *= 1.8

    only(conditions(lines=lines), "blocked", "C")


@pytest.mark.parametrize("seed", [1, 2, 5])
def test_simulated_ship_on_which_nothing_goes_wrong_has_no_line_failure(seed):
    found = diagnose(as_logs(ship_with_only(seed, "gas", 0.0))).conditions
    assert not set(found["condition"]) & {"water", "blocked", "air_leak", "low_flow_all"}


def test_simulated_air_leaks_are_found_where_they_were_put():
    """At least one: a joint that leaks near the probe leaves the line's resistance as it was."""
    met = 0
    for seed in (3, 8):
        ship = ship_with_only(seed, "air_leak", 4.0)
        found = diagnose(as_logs(ship)).conditions
        last = ship.tables["readings"]["time"].max()
        for row in ship.truth_conditions.query("condition == 'air_leak'").itertuples():
            mine = found[(found["point"] == row.point) & (found["condition"] == "air_leak")]
            end = last if pd.isna(row.end) else row.end
            met += bool(((mine["start"] <= end) & ~(mine["end"] < row.start)).any())
    assert met >= 1


def test_low_flow_alarms_at_most_spaces_are_the_pump_where_no_flow_is_logged():
    def events(readings):
        rows = []
        for k, point in enumerate(("D", "E", "A", "B")):
            rows += [
                (at(60 + k), point, "fault", "low flow", "raised"),
                (at(90), point, "fault", "low flow", "cleared"),
            ]
        frame = pd.DataFrame(rows, columns=["time", "point", "event", "level", "state"])
        return of_columns("events", frame)

    row = only(conditions(events=events, columns=()), "low_flow_all", "analyser")
    assert row["start"] == at(60)
    assert row["end"] == at(90)
    assert "alarms of 4 spaces" in row["why"]


def test_low_flow_alarms_of_two_lines_are_their_own_where_no_flow_is_logged():
    def events(readings):
        rows = []
        for point, last in (("D", 80), ("E", 90)):
            rows += [
                (at(60), point, "fault", "low flow", "raised"),
                (at(last), point, "fault", "low flow", "cleared"),
            ]
        frame = pd.DataFrame(rows, columns=["time", "point", "event", "level", "state"])
        return of_columns("events", frame)

    found = conditions(events=events, columns=())
    assert set(found["point"]) == {"D", "E"}
    assert set(found["condition"]) <= {"water", "blocked"}


def two_silent_leaks(*, worked_between):
    """Return conditions of a ship whose point D rose twice unheard, three days apart."""

    def values(values):
        for start in (40.0, 70.0, 110.0):
            values["D", "HC"][between(HOURS, start, start + 4.0)] = 16.0
        values["B", "HC"][between(HOURS, 20.0, 24.0)] = 16.0

    def events(readings):
        all_ = alarms(readings, LIMITS)
        middle = all_["time"].between(at(69), at(80))
        return all_[(all_["point"] != "D") | (middle & worked_between)].reset_index(drop=True)

    found = conditions(values=values, events=events)
    return found[found["condition"] == "no_alarm"]


def test_an_alarm_that_failed_again_and_never_worked_between_failed_all_the_while():
    found = two_silent_leaks(worked_between=False)
    assert len(found) == 1
    assert "occasions" in found["why"].iat[0]
    assert pd.isna(found["end"].iat[0])  # still so


def test_an_alarm_that_worked_between_two_failures_failed_twice():
    assert len(two_silent_leaks(worked_between=True)) == 2


@pytest.mark.parametrize(("hours", "told"), [(8.0, True), (2.0, False)])
def test_an_analyser_that_stood_for_a_watch_leaves_no_point_sampled(hours, told):
    def values(values):
        for series in values.values():
            series[between(HOURS, 40.0, 40.0 + hours)] = np.nan

    rows = f"time action point\n{40 + hours:.0f}:00 restart -\n"
    found = conditions(values=values, operations=rows)
    assert set(found["point"]) == (set(POINTS) if told else set())
    assert found["why"].str.contains("whole analyser").all()


def test_an_alarm_that_let_readings_pass_and_came_at_a_higher_one_has_moved():
    def values(values):
        values["D", "HC"][between(HOURS, 40.0, 44.0)] = np.linspace(11.0, 24.0, 12)

    def events(readings):
        due = alarms(readings, LIMITS)
        late = due["point"].astype(str).eq("D") & due["state"].astype(str).eq("raised")
        due.loc[late, "time"] = at(42.0)
        return due.sort_values("time", kind="stable", ignore_index=True)

    found = conditions(values=values, events=events)
    row = found[found["condition"] == "no_alarm"].iloc[0]
    assert row["point"] == "D"
    assert "the alarm came only at" in row["why"]
    assert pd.isna(row["end"])  # no alarm since showed that it works


def test_an_oxygen_alarm_that_never_came_is_told_by_how_low_it_went():
    def values(values):
        for point in POINTS:
            values[point, "O2"] = np.full(ROUNDS, 20.9)
        values["D", "O2"][between(HOURS, 40.0, 44.0)] = 18.2
        values["B", "HC"][between(HOURS, 20.0, 24.0)] = 16.0

    why = conditions(values=values)["why"]
    told = why[why.str.contains("O2")].iloc[0]
    assert "at or under the low setpoint" in told
    assert "down to 18.2" in told
