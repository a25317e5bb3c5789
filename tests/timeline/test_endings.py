import numpy as np
import pytest

from alarmsift.timeline.endings import ended_by
from alarmsift.timeline.episodes import build_episodes
from alarmsift.timeline.operations import read_operations
from alarmsift.timeline.setpoints import setpoints_in_force
from alarmsift.timeline.visits import build_visits
from tests.simulated import diagnosed
from tests.ten_rows import SETPOINTS, history, logs_of, quiet

OPS = "time action point gas level value\n"
ALARM = """
time point gas event level state value
2:00 A     HC  alarm low   raised 15
"""


def ending(events, *, high, operations=None, flow_share=None):
    """Return how the alarms of a ship ended whose point A is at 15 in some rounds of 20 min."""
    values = quiet(("A", "B"), 60)
    values["A", "HC"][high[0] : high[1]] = 15.0
    logs = logs_of(
        {
            "readings": history(values),
            "events": events,
            "setpoints": SETPOINTS,
            "operations": None if operations is None else OPS + operations,
        }
    )
    visits = build_visits(logs)
    setpoints = setpoints_in_force(logs, visits)
    table = build_episodes(logs, visits, setpoints).table
    share = np.full(len(visits), np.nan) if flow_share is None else flow_share(visits)
    return ended_by(table, visits, read_operations(logs, visits), setpoints, share).tolist()


def test_clean_reading_at_the_clear():
    events = ALARM + "5:00 A HC alarm low cleared 1"
    assert ending(events, high=(6, 15)) == ["clean_reading"]


def test_reset_is_named_even_where_the_reading_is_clean():
    events = ALARM + "5:00 A HC alarm low reset -"
    assert ending(events, high=(6, 15)) == ["reset"]


def test_disconnecting_a_point_that_still_reads_high():
    events = ALARM + "5:00 A HC alarm low cleared 15"
    assert ending(events, high=(6, 20), operations="5:00 disconnect A - - -") == ["disconnect"]


def test_disconnecting_another_point_ended_nothing_here():
    events = ALARM + "5:00 A HC alarm low cleared 15"
    assert ending(events, high=(6, 20), operations="5:00 disconnect B - - -") == ["unknown"]


def test_raising_the_setpoint_over_a_high_reading():
    events = ALARM + "5:00 A HC alarm low cleared 15"
    ops = "5:00 setpoint A HC low 20"
    assert ending(events, high=(6, 20), operations=ops) == ["setpoint"]


def test_lowering_the_setpoint_ended_nothing():
    events = ALARM + "5:00 A HC alarm low cleared 15"
    ops = "5:00 setpoint A HC low 5"
    assert ending(events, high=(6, 20), operations=ops) == ["unknown"]


def test_restart_of_the_analyser():
    events = ALARM + "5:00 A HC alarm low cleared -"
    assert ending(events, high=(6, 20), operations="5:00 restart - - - -") == ["restart"]


def test_calibration_of_the_analyser():
    events = ALARM + "5:00 A HC alarm low cleared -"
    assert ending(events, high=(6, 20), operations="5:00 zero_adjust - HC - 0") == ["test"]


def test_open_at_the_end_of_the_log():
    assert ending(ALARM, high=(6, 60)) == ["log_end"]


def test_clear_over_a_high_reading_with_nothing_logged_is_unknown():
    events = ALARM + "5:00 A HC alarm low cleared 15"
    assert ending(events, high=(6, 20)) == ["unknown"]


@pytest.mark.parametrize(("share", "how"), [(0.95, "clean_reading"), (0.4, "unknown")])
def test_flow_fault_ends_clean_only_with_its_flow_back(share, how):
    events = """
    time point gas event level      state
    2:00 A     -   fault "low flow" raised
    5:00 A     -   fault "low flow" cleared
    """
    assert ending(events, high=(0, 0), flow_share=lambda v: np.full(len(v), share)) == [how]


def test_every_ending_is_a_word_of_the_contract():
    allowed = {
        "clean_reading", "reset", "disconnect", "restart", "setpoint", "test", "log_end", "unknown",
    }  # fmt: skip
    for seed in (1, 2, 3):
        episodes = diagnosed(seed).episodes
        assert set(episodes["ended_by"]) <= allowed
        still_open = episodes["cleared"].isna()
        assert (still_open == (episodes["ended_by"] == "log_end")).all()
