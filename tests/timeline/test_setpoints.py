import numpy as np
import pandas as pd
import pytest

from alarmsift.tables.site import Site, SiteSetpoint
from alarmsift.timeline.in_force import in_force
from alarmsift.timeline.setpoints import most_agreed, setpoints_in_force
from alarmsift.timeline.visits import build_visits
from tests.ten_rows import SETPOINTS, alarms, at, history, logs_of, quiet

POINTS = ("A", "B", "C")


def stated(site=None, **tables):
    tables.setdefault("readings", history(quiet(POINTS, 60)))
    logs = logs_of(tables, site)
    visits = build_visits(logs)
    return visits, setpoints_in_force(logs, visits)


def value(table, point, gas="HC", level="low"):
    rows = table[(table["point"] == point) & (table["gas"] == gas) & (table["level"] == level)]
    return rows["value"].tolist()


def test_a_row_without_a_point_is_spread_over_all_points():
    _, table = stated(setpoints=SETPOINTS)
    assert [value(table, point) for point in POINTS] == [[10.0]] * 3
    assert set(table["source"]) == {"table"}


def test_own_row_of_a_point_wins_over_all_points_in_any_order():
    rows = ["HC low 10 -", "HC low 5 B"]
    for order in (rows, rows[::-1]):
        _, table = stated(setpoints="gas level value point\n" + "\n".join(order))
        assert [value(table, point) for point in POINTS] == [[10.0], [5.0], [10.0]]


def test_site_file_wins_over_the_table():
    site = Site(setpoints=(SiteSetpoint("HC", "low", 15.0),))
    _, table = stated(site, setpoints=SETPOINTS)
    assert value(table, "A") == [15.0]
    assert value(table, "A", level="high") == [30.0]


def test_oxygen_alarms_fall_unless_said_otherwise():
    _, table = stated(setpoints=SETPOINTS)
    assert set(table.loc[table["gas"] == "O2", "direction"]) == {"falling"}
    assert set(table.loc[table["gas"] == "HC", "direction"]) == {"rising"}


def test_logged_change_splits_the_span_at_its_time():
    visits, table = stated(
        setpoints=SETPOINTS,
        operations="""
        time action   point gas level value
        5:00 setpoint A     HC  low   20
        """,
    )
    assert value(table, "A") == [10.0, 20.0]
    assert value(table, "B") == [10.0]
    mine = table[(table["point"] == "A") & (table["level"] == "low") & (table["gas"] == "HC")]
    assert mine["end"].iloc[0] == at("5:00") == mine["start"].iloc[1]
    assert mine["source"].tolist() == ["table", "operations"]
    hours = visits.hours[visits.of(0)]
    force = in_force(table, visits)["A", "HC", "low"].value_at(hours)
    assert (force[hours < 5.0] == 10.0).all()
    assert (force[hours >= 5.0] == 20.0).all()


def test_change_without_a_point_or_level_holds_for_every_one():
    _, table = stated(
        setpoints=SETPOINTS,
        operations="""
        time action   gas level value
        5:00 setpoint HC  low   20
        """,
    )
    assert [value(table, point)[-1] for point in POINTS] == [20.0] * 3
    assert value(table, "A", level="high") == [30.0]


def seen_from(limits, *, spoil):
    values = quiet(POINTS, 200)
    spoil(values)
    readings = history(values)
    return stated(readings=readings, events=alarms(readings, limits))


def bumps(values, key, tops, *, start=20):
    for i, top in enumerate(tops):
        values[key][start + 12 * i : start + 12 * i + 4] = np.linspace(0.6, 1.0, 4) * top


def test_setpoint_seen_from_alarms_is_a_round_number():
    tops = [12.3, 14.1, 11.2, 17.4, 13.7, 10.9]
    _, table = seen_from({("HC", "low"): 10.0}, spoil=lambda v: bumps(v, ("A", "HC"), tops))
    assert value(table, "A") == [10.0]
    assert value(table, "C") == [10.0]
    assert set(table["source"]) == {"inferred"}


def test_a_point_whose_alarms_disagree_gets_its_own_setpoint():
    values = quiet(POINTS, 200)
    bumps(values, ("A", "HC"), [23.0, 28.0, 31.0, 22.0, 25.0, 24.0])
    bumps(values, ("B", "HC"), [23.0, 28.0, 31.0, 22.0, 25.0, 21.0])
    bumps(values, ("C", "HC"), [6.4, 7.2, 5.9, 8.3, 6.1])
    readings = history(values)
    twenty = alarms(readings[readings["point"] != "C"], {("HC", "low"): 20.0})
    five = alarms(readings[readings["point"] == "C"], {("HC", "low"): 5.0})
    both = pd.concat([twenty, five]).astype({"point": "str"}).astype({"point": "category"})
    both = both.sort_values("time", kind="stable", ignore_index=True)
    _, table = stated(readings=readings, events=both)
    assert value(table, "A") == [20.0]
    assert value(table, "C") == [5.0]


def test_oxygen_setpoint_is_seen_from_falling_alarms():
    values = quiet(POINTS, 200, gases=("O2",), noise=0.05)
    for i, low in enumerate([18.6, 19.1, 18.2, 19.3, 18.9]):
        values["A", "O2"][20 + 12 * i : 24 + 12 * i] = np.linspace(20.2, low, 4).round(1)
    readings = history(values)
    _, table = stated(readings=readings, events=alarms(readings, {("O2", "low"): 19.5}))
    assert set(table["direction"]) == {"falling"}
    (found,) = value(table, "A", gas="O2")
    assert 19.3 <= found <= 19.7


def test_stated_level_is_not_inferred_again():
    tops = [12.3, 14.1, 11.2]
    values = quiet(POINTS, 100)
    bumps(values, ("A", "HC"), tops)
    readings = history(values)
    events = alarms(readings, {("HC", "low"): 10.0})
    _, table = stated(readings=readings, events=events, setpoints="gas level value\nHC LOW 10")
    assert value(table, "A") == [10.0]
    assert set(table["source"]) == {"table"}


@pytest.mark.parametrize(
    ("below", "top", "setpoint"),
    [
        ([3.0, 8.0, 9.5], [11.0, 14.0, 10.2], 10.0),
        ([3.0, 19.0], [22.0, 21.0], 20.0),
        ([3.0, 4.9], [5.3, 5.1], 5.0),
        ([11.1, 11.0], [11.4, 11.3], 11.2),
    ],
)
def test_most_agreed_is_the_roundest_number_that_the_raises_allow(below, top, setpoint):
    found, share, _ = most_agreed(np.array(below), np.array(top))
    assert found == pytest.approx(setpoint, abs=0.11)
    assert max(below) < found <= min(top)
    assert share == 1.0


def test_one_wrong_raise_does_not_move_the_setpoint():
    below = np.array([3.0, 8.0, 9.5, 2.0, 1.0])
    top = np.array([11.0, 14.0, 10.2, 12.0, 3.0])
    found, share, _ = most_agreed(below, top)
    assert found == 10.0
    assert share == pytest.approx(0.8)


def test_neither_setpoints_nor_alarms_give_an_empty_table():
    _, table = stated()
    assert table.empty


def test_a_setpoint_set_again_to_what_it_was_is_no_new_span():
    _, table = stated(
        setpoints=SETPOINTS,
        operations="""
        time action   point gas level value
        5:00 setpoint A     HC  low   10
        6:00 setpoint A     HC  low   20
        7:00 setpoint A     HC  low   20
        """,
    )
    mine = table[(table["point"] == "A") & (table["level"] == "low") & (table["gas"] == "HC")]
    assert mine["value"].tolist() == [10.0, 20.0]
    assert mine["end"].iloc[0] == at("6:00") == mine["start"].iloc[1]
    assert mine["end"].isna().tolist() == [False, True]
