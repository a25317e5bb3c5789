from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from alarmsift.simulate.draw import FAULTS
from alarmsift.simulate.ship import draw_settings, simulate, without
from alarmsift.tables.schema import ACTIONS, CAUSES, CONDITIONS, STATES, STATUSES, TABLES, conform


@pytest.fixture(scope="module")
def fleet():
    return [simulate(draw_settings(seed)) for seed in range(20)]


def groups(ship):
    alarms = ship.truth_episodes[ship.truth_episodes["kind"] == "alarm"]
    day = alarms["raised"].dt.floor("D")
    return alarms.assign(day=day).drop_duplicates(["point", "gas", "level", "cause", "day"])


def test_same_seed_gives_the_same_ship_and_another_seed_another():
    one, two, other = (simulate(draw_settings(seed, days=5.0)) for seed in (4, 4, 5))
    for name, frame in one.tables.items():
        pd.testing.assert_frame_equal(frame, two.tables[name])
    pd.testing.assert_frame_equal(one.truth_episodes, two.truth_episodes)
    assert one.settings.points != other.settings.points


def test_tables_hold_known_words_only_and_fit_the_schema(fleet):
    for ship in fleet:
        for name, frame in ship.tables.items():
            assert set(frame) <= set(TABLES[name].names), name
            assert set(TABLES[name].must) <= set(frame), name
            conform(frame.iloc[:2000], TABLES[name])
        assert set(ship.tables["events"]["state"]) <= set(STATES)
        if "status" in ship.tables["readings"]:
            assert set(ship.tables["readings"]["status"]) <= set(STATUSES)
        if "operations" in ship.tables:
            assert set(ship.tables["operations"]["action"]) <= set(ACTIONS)
        assert set(ship.truth_episodes["cause"]) <= {*CAUSES, "undetermined"}
        assert set(ship.truth_conditions["condition"]) <= set(CONDITIONS)


def test_times_run_forward_in_utc(fleet):
    for ship in fleet:
        for name in ("readings", "events"):
            times = ship.tables[name]["time"]
            assert str(times.dt.tz) == "UTC"
            assert times.is_monotonic_increasing


def test_every_raised_row_has_its_answer_and_only_those(fleet):
    keys = ["point", "gas", "level"]
    for ship in fleet:
        events = ship.tables["events"]
        raised = events[events["state"] == "raised"].rename(columns={"time": "raised"})
        if ship.settings.habits.repeats_raise:
            raised = raised.merge(ship.truth_episodes[[*keys, "raised"]], on=[*keys, "raised"])
        left = raised[[*keys, "raised"]].sort_values([*keys, "raised"], ignore_index=True)
        right = ship.truth_episodes[[*keys, "raised"]]
        right = right.sort_values([*keys, "raised"], ignore_index=True)
        pd.testing.assert_frame_equal(left, right)


def test_a_gas_alarm_stands_beside_a_reading_over_its_setpoint():
    settings = draw_settings(21, days=20.0)
    habits = replace(settings.habits, alarm_lag_s=0.0, time_step_s=1, loses_rows=False)
    ship = simulate(replace(settings, habits=habits))
    lowest = min(s.value for s in settings.setpoints if s.gas == "HC")
    truth = ship.truth_episodes.query("kind == 'alarm' and gas == 'HC' and cause != 'undetermined'")
    readings = ship.tables["readings"].query("gas == 'HC'")
    met = truth.merge(readings, left_on=["point", "raised"], right_on=["point", "time"])
    assert len(met) >= len(truth) > 10
    assert (met["value"] >= lowest).all()


def test_twenty_ships_together_hold_plenty_of_every_cause_and_condition(fleet):
    causes = pd.concat([groups(ship) for ship in fleet])["cause"].value_counts()
    faults = pd.concat([ship.truth_episodes.query("kind == 'fault'") for ship in fleet])
    found = pd.concat([ship.truth_conditions for ship in fleet])["condition"].value_counts()
    for cause in set(CAUSES) - {"pump", "blocked"}:
        assert causes.get(cause, 0) >= 30, cause
    for cause in ("water", "blocked", "pump"):
        assert (faults["cause"] == cause).sum() >= 10, cause
    for condition in CONDITIONS:
        assert found.get(condition, 0) >= 5, condition


def test_every_ship_has_real_gas_among_a_bearable_number_of_alarms(fleet):
    for ship in fleet:
        own = groups(ship)
        assert (own["cause"] == "gas").sum() >= 3
        assert 12 <= len(own) <= 450


@pytest.mark.parametrize("fault", sorted(set(FAULTS) & set(CAUSES)))
def test_a_fault_alone_names_its_own_cause(fault):
    seen = []
    for seed in range(4):
        drawn = draw_settings(seed, days=10.0)
        quiet = dict.fromkeys(FAULTS, 0.0) | {fault: 36.0}  # in sixty days
        ship = simulate(replace(drawn, calibration_days=999.0, expected=quiet))
        seen += ship.truth_episodes["cause"].tolist()
    counts = pd.Series(seen).value_counts()
    others = {"gas", "ambient_vapour", "moisture"}  # what a fault may bring with it
    assert counts.get(fault, 0) >= 5
    assert counts.drop(list(others & set(counts.index) - {fault})).idxmax() == fault


def test_unplugged_points_leave_no_reading(fleet):
    ship = fleet[3]
    left = ship.truth_conditions.query("condition == 'left_disconnected'").dropna()
    assert len(left) > 0
    readings = ship.tables["readings"]
    if "status" in readings:
        readings = readings[readings["status"] != "not_sampled"]
    for row in left.itertuples():
        inside = (readings["time"] > row.start) & (
            readings["time"] < row.end - pd.Timedelta(minutes=5)
        )
        assert not (inside & (readings["point"] == row.point)).any()


def test_low_sensitivity_shows_as_a_small_span_check(fleet):
    small = []
    for ship in fleet:
        if "operations" not in ship.tables:
            continue
        checks = ship.tables["operations"].query("action == 'span_check'")
        bad = ship.truth_conditions.query("condition == 'low_sensitivity'")
        for row in bad.itertuples():
            gas = row.point.split()[1]
            end = pd.Timestamp.max.tz_localize("UTC") if pd.isna(row.end) else row.end
            inside = checks[(checks["time"] > row.start) & (checks["time"] < end)]
            inside = inside[(inside["gas"] == gas) & (inside["reference"] != inside["value"])]
            small += (inside["value"] / inside["reference"]).tolist()
    assert len(small) >= 3
    assert np.median(small) < 0.9


def test_degraded_ship_keeps_its_truth():
    ship = simulate(draw_settings(2, days=6.0))
    poor = without(
        ship,
        columns=("flow", "suction", "status"),
        tables=("operations", "setpoints", "points"),
        keep_readings=0.5,
        step={"HC": 2.0},
    )
    assert set(poor.tables) <= {"readings", "events", "findings"}
    readings = poor.tables["readings"]
    assert not {"flow", "suction", "status"} & set(readings)
    assert 0.4 < len(readings) / len(ship.tables["readings"]) < 0.6
    assert (readings.query("gas == 'HC'")["value"] % 2.0 == 0.0).all()
    pd.testing.assert_frame_equal(poor.truth_episodes, ship.truth_episodes)
    assert "flow" in ship.tables["readings"] or "flow" not in ship.settings.habits.columns
