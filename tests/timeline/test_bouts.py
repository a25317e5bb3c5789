import numpy as np
import pandas as pd

from alarmsift.timeline.bouts import bouts, counts_around, points_with_faults


def frame(points, gas="HC", level="low", kind="alarm"):
    return pd.DataFrame({"kind": kind, "point": points, "gas": gas, "level": level})


def run(points, raised, *, cause="gas", minutes=30.0):
    raised = np.array(raised, float)
    causes = np.array([cause] * len(raised) if isinstance(cause, str) else cause, object)
    return bouts(frame(points), causes, raised, raised + minutes / 60.0).tolist()


def test_episodes_that_follow_closely_are_one_bout():
    assert run(["A"] * 4, [0, 2, 4, 6]) == ["B0001"] * 4


def test_half_a_day_of_quiet_starts_a_new_bout():
    assert run(["A"] * 4, [0, 2, 20, 22]) == ["B0001", "B0001", "B0002", "B0002"]


def test_the_quiet_counts_from_the_clear_of_a_long_alarm():
    raised, cleared = np.array([0.0, 20.0]), np.array([15.0, 21.0])
    assert bouts(frame(["A", "A"]), np.array(["gas"] * 2, object), raised, cleared).tolist() == [
        "B0001",
        "B0001",
    ]


def test_another_cause_is_another_bout():
    assert run(["A"] * 3, [0, 1, 2], cause=["spike", "gas", "gas"]) == ["B0001", "B0002", "B0002"]


def test_points_do_not_share_a_bout_and_numbers_follow_time():
    assert run(["B", "A", "B"], [0, 1, 2]) == ["B0001", "B0002", "B0001"]


def test_open_alarm_and_the_next_raise():
    raised, cleared = np.array([0.0, 2.0]), np.array([np.inf, np.inf])
    found = bouts(frame(["A", "A"]), np.array(["gas"] * 2, object), raised, cleared)
    assert found.tolist() == ["B0001", "B0001"]


def test_no_episode_no_bout():
    none = np.zeros(0)
    assert len(bouts(frame([]), none.astype(object), none, none)) == 0


def test_alarms_of_a_day_are_counted_either_way_and_by_point():
    found = counts_around(frame(["A", "A", "A", "B"]), np.array([0.0, 20.0, 50.0, 20.0]), hours=24)
    assert found.tolist() == [2.0, 2.0, 1.0, 1.0]


def test_points_with_flow_faults_at_the_time():
    table = frame(["A", "B", "C", "C"], gas="", level="low flow", kind="fault")
    table.loc[2, "level"] = "water trap"
    found = points_with_faults(table, np.array([0.0, 1.0, 2.0, 30.0]), hours=6.0)
    assert found.tolist() == [2.0, 2.0, 2.0, 1.0]
