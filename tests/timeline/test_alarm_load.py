"""The load of alarms on logs short enough to count by hand."""

import numpy as np
import pandas as pd
import pytest

from alarmsift.timeline.alarm_load import alarm_load
from alarmsift.timeline.floods import floods
from alarmsift.timeline.visits import build_visits
from tests.ten_rows import at, history, logs_of, quiet


def visits_of(points=("A", "B"), hours=48, cycle_min=20.0):
    rounds = int(hours * 60 / cycle_min)
    return build_visits(logs_of({"readings": history(quiet(points, rounds), cycle_min=cycle_min)}))


def episodes(rows):
    """Return episodes from ``(point, level, raised, hours, treat_as)``."""
    names = ["point", "level", "raised", "hours", "treat_as"]
    frame = pd.DataFrame(rows, columns=names)
    raised = pd.to_datetime([at(hour) for hour in frame["raised"]], utc=True)
    length = pd.to_timedelta(frame["hours"], unit="h")
    fault = frame["level"].str.contains("flow")
    return frame.assign(
        raised=raised,
        cleared=raised + length.to_numpy(),
        gas=np.where(fault, "", "HC"),
        kind=np.where(fault, "fault", "alarm"),
    )


def load(rows, **more):
    table, tags = alarm_load(episodes(rows), visits_of(**more))
    return table.set_index("metric"), tags


def clock(minutes):
    """Return raises of A at these minutes of the log."""
    return [("A", "low", minute / 60.0, 0.05, "nuisance") for minute in minutes]


@pytest.mark.parametrize(
    ("minutes", "number", "periods", "most"),
    [
        (range(10), 0, 0, 0),  # 10 in ten minutes is no flood yet
        ([*range(10), 9.5], 1, 1, 11),  # 11 is
        ([*range(10), 9.5, 12, 13, 14, 15, 16], 1, 2, 16),  # 5 in the next go on
        ([*range(10), 9.5, 12, 13, 14, 15], 1, 1, 11),  # 4 end it
        ([*range(10), 9.5, *range(40, 50), 49.5], 2, 2, 11),  # two floods
        ([5, 6, 7, 8, 9, 9.2, 10, 11, 12, 13, 14, 15], 0, 0, 0),  # 12 in ten, over a border: none
    ],
)
def test_floods_counted_by_hand(minutes, number, periods, most):
    found = floods(np.array(list(minutes), float), 0.0, 119.0)
    assert (found.number, int(found.flooded.sum()), found.most) == (number, periods, most)
    assert len(found.counts) == 12
    table, _ = load(clock(minutes))
    assert table.loc["floods", "all"] == number
    assert table.loc["floods", "without_nuisance"] == 0


def test_rates_of_a_day_and_a_half_counted_by_hand():
    rows = [
        ("A", "low", 1.0, 0.5, "nuisance"),
        ("A", "low", 3.0, 0.5, "nuisance"),
        ("A", "high", 3.5, 0.5, "unresolved"),
        ("B", "low", 30.0, 0.5, "gas"),
        ("B", "low flow", 31.0, 0.5, "unwatched"),
        ("B", "low flow", 35.0, 1.0, "unwatched"),
    ]
    table, tags = load(rows, hours=36)
    days = table.loc["days", "all"]
    assert days == pytest.approx(1.5, abs=0.01)
    assert table.loc["alarms", ["all", "without_nuisance"]].tolist() == [6, 4]
    assert table.loc["per_day", "all"] == pytest.approx(6 / days)
    assert table.loc["per_hour", "without_nuisance"] == pytest.approx(4 / days / 24)
    assert table.loc["per_10_min", "all"] == pytest.approx(6 / days / 144)
    assert table.loc["most_per_day", ["all", "without_nuisance"]].tolist() == [3, 3]
    assert tags["raises"].tolist() == [2, 2, 1, 1]
    assert tags["nuisance"].sum() == 2


def test_published_rates_agree_with_each_other():
    """ANSI/ISA-18.2 (from memory): 144 a day are 6 an hour and 1 in ten minutes."""
    rows = [("A", "low", hour, 0.01, "gas") for hour in np.arange(144) / 6.0]
    table, _ = load(rows, hours=24)
    whole = table["all"]
    assert whole["per_day"] / whole["per_hour"] == pytest.approx(24)
    assert whole["per_hour"] / whole["per_10_min"] == pytest.approx(6)
    assert whole["per_10_min"] == pytest.approx(1.0, abs=0.02)


def test_share_of_the_ten_most_frequent():
    points = tuple("ABCDEFGHIJKL")
    rows = [(p, "low", k, 0.1, "gas") for k, p in enumerate(points)]
    rows += [("A", "low", 20 + k, 0.1, "nuisance") for k in range(8)]
    table, tags = load(rows, points=points)
    assert table.loc["top_ten", "all"] == pytest.approx(100 * 18 / 20)  # A nine times, nine others
    assert table.loc["top_ten", "without_nuisance"] == pytest.approx(100 * 10 / 12)
    assert tags.loc[0, ["point", "raises", "share"]].tolist() == ["A", 9, 0.45]


def test_alarm_of_a_scanned_point_chatters_in_visits_and_not_by_the_clock():
    """A round of 20 minutes: raised at every other visit, 40 minutes apart."""
    rows = [("A", "low", hour, 0.3, "gas") for hour in (10.0, 10 + 2 / 3, 10 + 4 / 3)]
    rows += [("B", "low", hour, 0.3, "gas") for hour in (10.2, 14.2, 18.2)]
    table, tags = load(rows)
    of = tags.set_index("point")
    assert of["chattering"].to_dict() == {"A": True, "B": False}
    assert of.loc["A", "chatter_index"] == pytest.approx(0.5)
    assert of.loc["B", "chatter_index"] == pytest.approx(1 / 12)
    assert table.loc["chattering", "all"] == 1


def test_fault_chatters_by_the_clock():
    fast = [("A", "low flow", 5 + s / 3600, 0.001, "unwatched") for s in (0, 20, 59)]
    slow = [("B", "low flow", 5 + s / 3600, 0.001, "unwatched") for s in (0, 20, 61)]
    _, tags = load(fast + slow)
    assert tags.set_index("point")["chattering"].to_dict() == {"A": True, "B": False}


def test_alarms_that_stand_over_a_day():
    rows = [
        ("A", "low", 1.0, 24.0, "gas"),  # 24 h sharp is not over 24 h
        ("A", "high", 2.0, 30.0, "gas"),
        ("B", "low", 3.0, 40.0, "unresolved"),
        ("B", "high", 4.0, 25.0, "nuisance"),
    ]
    table, _ = load(rows)
    assert table.loc["standing", ["all", "without_nuisance"]].tolist() == [3, 2]
    # over 24 h: from 26 to 32, from 27 to 43, from 28 to 29
    assert table.loc["standing_day", ["all", "without_nuisance"]].tolist() == [3, 2]


def test_logs_without_an_alarm_have_no_load():
    table, tags = load([])
    assert table.loc["alarms", "all"] == 0
    assert table.loc["top_ten", "all"] == 0
    assert table.drop(index="days")["all"].sum() == 0
    assert tags.empty
